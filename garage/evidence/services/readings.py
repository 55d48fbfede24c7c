"""Write what was read at a job, and keep a vehicle's own reference values."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from garage.evidence.display_units import unit_of_display
from garage.evidence.quantities.reading_check import (
    BESIDE_MOST,
    ReadingChecked,
    ReadingTyped,
    reading_checked,
)
from garage.records.choices import (
    FILTER_PART_KIND,
    AuditVerb,
    BaselineBecause,
    EngineCondition,
    JobPhase,
    OperationKind,
    SensorLayout,
)
from garage.records.errors import RuleBroken, broken_by, refuse_all
from garage.records.models import Baseline, Instrument, Job, Reading, Vehicle
from garage.records.services.audit import Change, audit_record
from garage.records.texts import refuse_long

_BURNS = (OperationKind.REGENERATE_DRIVING, OperationKind.REGENERATE_STATIONARY)
_FRESH_PARTS = (OperationKind.REPLACE, OperationKind.CLEAN_OFF_VEHICLE)
_WHOLE_DIGITS = 10
_UNIT_CHARACTERS, _NOTE_CHARACTERS = 16, 200


@dataclass(frozen=True)
class NewReading:
    """A value as it was shown. An empty unit says that the display shows none; an empty kind is
    the quantity's usual one."""

    quantity: str
    value: Decimal
    phase: str
    unit: str = ""
    condition: str = ""
    note: str = ""
    speed_rpm: int | None = None
    layout: str = ""
    km_since_burn: int | None = None
    minutes_since_burn: int | None = None
    kind: str = ""
    instrument: Instrument | None = None


def reading_add(
    *, job: Job, new: NewReading, at: datetime, by: AbstractBaseUser | None = None
) -> Reading:
    """Add a reading to a job; the first of its kind after a burn, or with a filter replaced or
    cleaned, is kept as the vehicle's own reference. A display without units is read in the unit
    once confirmed for it. RuleBroken names every fault at once."""
    checked = _checked(job, new)
    with transaction.atomic():
        reading = Reading.objects.create(
            job=job,
            **vars(new)
            | {
                # A unit of blanks is none: what is bare is found by its empty unit.
                "unit": new.unit.strip(),
                "kind": checked.kind,
                "standard_value": checked.standard_value,
            },
        )
        because = _baseline_because(reading)
        if because is not None:
            Baseline.objects.create(reading=reading, because=because, kept_at=at)
        audit_record(
            organisation=job.organisation,
            change=Change(AuditVerb.ADD, reading, {"quantity": [None, reading.quantity]}),
            by=by,
            at=at,
        )
    return reading


def baselines_of(*, vehicle: Vehicle) -> list[Baseline]:
    """The vehicle's own reference values, the newest job first."""
    return list(
        Baseline.objects.filter(reading__job__vehicle=vehicle)
        .select_related("reading__job")
        .order_by("-reading__job__opened_on", "-pk")
    )


def _baseline_because(reading: Reading) -> str | None:
    """Why this reading is a reference; None where it is none, or not the first of its kind."""
    if reading.phase != JobPhase.AFTER_WORK:
        return None
    alike = Baseline.objects.filter(
        reading__job=reading.job_id,
        reading__quantity=reading.quantity,
        reading__condition=reading.condition,
    )
    if alike.exists():
        return None
    done = set(reading.job.operations.values_list("kind", "part_kind__code"))
    if done & {(kind, FILTER_PART_KIND) for kind in _FRESH_PARTS}:
        return BaselineBecause.NEW_PART
    if {kind for kind, _ in done} & set(_BURNS):
        return BaselineBecause.COMPLETED_BURN
    return None


def _checked(job: Job, new: NewReading) -> ReadingChecked:
    """The reading in its standard unit, after every rule; a display's own unit where it has one."""
    checked = reading_checked(
        ReadingTyped(
            quantity=new.quantity,
            value=new.value,
            unit=new.unit.strip() or _unit_of_instrument(job, new),
            kind=new.kind,
            condition=new.condition,
            speed_rpm=new.speed_rpm,
        )
    )
    refuse_all(
        (
            *(
                RuleBroken(each.rule, got=each.got, do=each.do, column=each.column)
                for each in checked.faults
            ),
            *_broken(job, new),
        )
    )
    return checked


def _unit_of_instrument(job: Job, new: NewReading) -> str:
    if new.instrument is None:
        return ""
    shown_in = unit_of_display(
        instrument=new.instrument,
        engine_family_id=job.vehicle.engine_family_id,
        quantity=new.quantity,
    )
    return "" if shown_in is None else shown_in.unit.symbol


def _broken(job: Job, new: NewReading) -> Iterator[RuleBroken]:
    if new.value.is_finite() and abs(new.value) >= 10**_WHOLE_DIGITS:
        yield RuleBroken(
            f"a reading is a number of at most {_WHOLE_DIGITS} digits before the point",
            got=new.value,
            do="Type the digits shown, in a unit that needs no more of them.",
            column="value",
        )
    if new.phase not in JobPhase.values:
        yield RuleBroken(
            f"a reading is taken at one of {', '.join(JobPhase.values)}",
            got=new.phase,
            do="Say when.",
            column="phase",
        )
    for column, known in (("condition", EngineCondition.values), ("layout", SensorLayout.values)):
        said = getattr(new, column)
        if said and said not in known:
            yield RuleBroken(
                f"{column} of a reading is one of {', '.join(known)}, or not said",
                got=said,
                do="Choose from the list.",
                column=column,
            )
    for column, most in BESIDE_MOST.items():
        number = getattr(new, column)
        if number is not None and not 0 <= number <= most:
            yield RuleBroken(
                f"{column} of a reading is 0 to {most}",
                got=number,
                do="Type what was shown, or leave it empty.",
                column=column,
            )
    if new.instrument is not None and new.instrument.organisation_id != job.organisation_id:
        yield RuleBroken(
            "an instrument is one of the workshop's own",
            got=new.instrument.pk,
            do="Choose from the list.",
            column="instrument",
        )
    yield from broken_by(
        lambda: refuse_long("unit", new.unit, _UNIT_CHARACTERS),
        lambda: refuse_long("note", new.note, _NOTE_CHARACTERS),
    )
