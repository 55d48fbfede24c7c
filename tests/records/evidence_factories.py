"""Rows of what was measured and found, for tests: each the least that the constraints allow."""

from datetime import UTC, datetime
from decimal import Decimal

import factory
from factory.django import DjangoModelFactory

from garage.evidence.quantities.catalogue import quantities
from garage.evidence.quantities.units import converted, unit_of
from garage.records.choices import (
    CodeScheme,
    CodeState,
    EngineCondition,
    EvidenceList,
    JobPhase,
    SensorLayout,
)
from garage.records.models import (
    CautionConfirmed,
    DriveLogged,
    FindingSeen,
    GaugePair,
    Instrument,
    OutcomeConfirmed,
    OwnCodeWording,
    OwnThreshold,
    Reading,
    TroubleCodeRead,
    UnitConfirmed,
)
from tests.records.factories import JobFactory, OrganisationFactory

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

    @factory.lazy_attribute
    def standard_value(self) -> float | None:
        known = quantities().get(self.quantity)
        unit = None if known is None else unit_of(self.unit, known.dimension)
        if known is None or unit is None:
            return None
        return float(converted(Decimal(self.value), unit, known.unit))


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


class InstrumentFactory(DjangoModelFactory):
    class Meta:
        model = Instrument

    organisation = factory.SubFactory(OrganisationFactory)
    name = factory.Sequence(lambda n: f"display {1000 + n}")


class GaugePairFactory(DjangoModelFactory):
    class Meta:
        model = GaugePair

    job = factory.SubFactory(JobFactory)
    instrument = factory.SubFactory(
        InstrumentFactory, organisation=factory.SelfAttribute("..job.organisation")
    )
    applied_pa = 5_000.0
    applied_typed = "50 mbar"
    applied_error_pa = 50.0
    shown = Decimal("5.0")
    shown_resolution = Decimal("0.1")
    taken_at = AT


class UnitConfirmedFactory(DjangoModelFactory):
    class Meta:
        model = UnitConfirmed

    instrument = factory.SubFactory(InstrumentFactory)
    quantity = "pressure_across_filter"
    unit = "kPa"
    confirmed_at = AT


class TroubleCodeReadFactory(DjangoModelFactory):
    class Meta:
        model = TroubleCodeRead

    job = factory.SubFactory(JobFactory)
    scheme = CodeScheme.FIVE_CHARACTERS
    code = "P2463"
    state = CodeState.CONFIRMED
    phase = JobPhase.ARRIVAL
    read_at = AT


class OwnCodeWordingFactory(DjangoModelFactory):
    class Meta:
        model = OwnCodeWording

    organisation = factory.SubFactory(OrganisationFactory)
    code = "P244C"
    words = "burn too long"
    group = "burn"
    source = "invented for a test"


class OwnThresholdFactory(DjangoModelFactory):
    class Meta:
        model = OwnThreshold

    organisation = factory.SubFactory(OrganisationFactory)
    key = "zero_good_mbar"
    value = 1.5
    source = "invented for a test"


class DriveLoggedFactory(DjangoModelFactory):
    class Meta:
        model = DriveLogged

    job = factory.SubFactory(JobFactory)
    title = "drive home"
    phase = JobPhase.AFTER_WORK
    text = "time [s],soot_mass [g]\n0,4\n"
    added_at = AT
