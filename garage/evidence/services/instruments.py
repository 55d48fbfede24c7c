"""Write the instruments of a workshop: gauges, and displays that may show bare numbers."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import date, datetime
from decimal import Decimal
from math import isfinite

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from garage.evidence.quantities.units import dimensions_of
from garage.evidence.services.display_units import readings_restate
from garage.records.choices import AuditVerb
from garage.records.errors import RuleBroken, broken_by, refuse_all
from garage.records.models import Instrument, Organisation
from garage.records.services.audit import Change, audit_record, changes_between
from garage.records.texts import text_needed
from garage.records.typed import day_check, fields_broken

_NAME_CHARACTERS = 80


@dataclass(frozen=True)
class InstrumentFacts:
    """What is known of an instrument.

    An empty unit says that its display shows none. `resolution` is its last step, in what it
    shows; `accuracy_share` its largest error as a share of the reading. None where not known.
    """

    name: str
    unit: str = ""
    resolution: Decimal | None = None
    accuracy_share: float | None = None
    calibrated_on: date | None = None


def instrument_add(
    *,
    organisation: Organisation,
    facts: InstrumentFacts,
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> Instrument:
    """Keep an instrument; its name is one of a kind in its organisation."""
    with transaction.atomic():
        Organisation.objects.select_for_update().get(pk=organisation.pk)
        instrument = Instrument(organisation=organisation)
        _take(instrument, facts, at)
        instrument.save()
        audit_record(
            organisation=organisation,
            change=Change(AuditVerb.ADD, instrument, {"unit": [None, instrument.unit]}),
            by=by,
            at=at,
        )
    return instrument


def instrument_change(
    *,
    instrument: Instrument,
    facts: InstrumentFacts,
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> Instrument:
    """Change what is known of an instrument; its bare readings are told anew in its unit."""
    with transaction.atomic():
        organisation = Organisation.objects.select_for_update().get(pk=instrument.organisation_id)
        kept = Instrument.objects.select_for_update().get(pk=instrument.pk)
        before = _told(kept)
        _take(kept, facts, at)
        changes = changes_between(before, _told(kept))
        if not changes:
            return kept
        kept.save()
        if "unit" in changes:
            readings_restate(instrument=kept)
        audit_record(
            organisation=organisation,
            change=Change(AuditVerb.CHANGE, kept, changes),
            by=by,
            at=at,
        )
    return kept


def _told(instrument: Instrument) -> dict[str, object]:
    return {name: getattr(instrument, name) for name in InstrumentFacts.__dataclass_fields__}


def _take(instrument: Instrument, facts: InstrumentFacts, at: datetime) -> None:
    """Put the facts into the row; every fault is refused at once."""
    for name, value in asdict(facts).items():
        setattr(instrument, name, value)
    refuse_all(_broken(instrument, at))


def _broken(instrument: Instrument, at: datetime) -> Iterator[RuleBroken]:
    yield from broken_by(lambda: _name(instrument), lambda: _unit(instrument))
    step, share = instrument.resolution, instrument.accuracy_share
    if step is not None and not (step.is_finite() and step > 0):
        yield RuleBroken(
            "resolution is above 0: the last step that the instrument shows",
            got=step,
            do="Leave it empty if it is not known.",
            column="resolution",
        )
    else:
        yield from fields_broken(instrument, ("unit", "resolution"))
    if share is not None and not (isfinite(share) and 0 <= share < 1):
        yield RuleBroken(
            "the largest error is a share of the reading from 0 to below 1",
            got=share,
            do="Take it from the instrument's sheet, or leave it empty.",
            column="accuracy_share",
        )
    day = instrument.calibrated_on
    if day is not None:
        yield from broken_by(lambda: day_check("calibrated_on", day, at))


def _name(instrument: Instrument) -> None:
    instrument.name = text_needed(
        instrument.name,
        column="name",
        most=_NAME_CHARACTERS,
        rule="an instrument has a name of",
        do="Name it as it is called in the workshop.",
    )
    others = Instrument.objects.filter(
        organisation_id=instrument.organisation_id, name__iexact=instrument.name
    ).exclude(pk=instrument.pk)
    if others.exists():
        raise RuleBroken(
            "each instrument has a name of its own",
            got=instrument.name,
            do="Choose another name, or change the instrument that has it.",
            column="name",
        )


def _unit(instrument: Instrument) -> None:
    instrument.unit = instrument.unit.strip()
    if instrument.unit and not dimensions_of(instrument.unit):
        raise RuleBroken(
            "an instrument's unit is one that is known here, or none",
            got=instrument.unit,
            do="Type it as it is shown, such as mbar; leave it empty where none is shown.",
            column="unit",
        )
