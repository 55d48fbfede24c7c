"""Rows of what was measured and found, for tests: each the least that the constraints allow."""

from datetime import UTC, datetime
from decimal import Decimal

import factory
from factory.django import DjangoModelFactory

from garage.records.choices import (
    EngineCondition,
    EvidenceList,
    JobPhase,
    SensorLayout,
)
from garage.records.models import (
    CautionConfirmed,
    FindingSeen,
    OutcomeConfirmed,
    Reading,
)
from tests.records.factories import JobFactory

AT = datetime(2024, 5, 6, 9, 0, tzinfo=UTC)


class ReadingFactory(DjangoModelFactory):
    """A technical reading, such as the pressure across the filter at idle."""

    class Meta:
        model = Reading

    job = factory.SubFactory(JobFactory)
    quantity = "pressure_across_filter"
    value = Decimal("4.8")
    unit = "mbar"
    phase = JobPhase.ARRIVAL
    condition = EngineCondition.IDLE
    layout = SensorLayout.TWO_HOSE


class FindingSeenFactory(DjangoModelFactory):
    class Meta:
        model = FindingSeen

    job = factory.SubFactory(JobFactory)
    phase = JobPhase.ARRIVAL
    finding = "tailpipe"
    state = "black"
    seen_at = AT


class OutcomeConfirmedFactory(DjangoModelFactory):
    class Meta:
        model = OutcomeConfirmed

    job = factory.SubFactory(JobFactory)
    list = EvidenceList.FILTER
    state = "soot_loaded"
    confirmed_at = AT


class CautionConfirmedFactory(DjangoModelFactory):
    class Meta:
        model = CautionConfirmed

    job = factory.SubFactory(JobFactory)
    procedure = "burn"
    name = "A. Tester"
    confirmed_at = AT
