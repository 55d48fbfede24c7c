"""Write what was read at a job, and keep a vehicle's own reference values."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from garage.records.choices import (
    AuditVerb,
    BaselineBecause,
    EngineCondition,
    JobPhase,
    OperationKind,
    ReadingKind,
    SensorLayout,
)
from garage.records.errors import RuleBroken
from garage.records.models import Baseline, Job, Reading, Vehicle
from garage.records.services.audit import Change, audit_record
from garage.records.texts import refuse_long

#: What can be read so far, each with how it is said.
QUANTITIES = {
    "pressure_across_filter": "pressure across the filter",
    "soot_mass": "soot, as the vehicle reckons it",
    "ash_mass": "ash, as the vehicle reckons it",
    "soot_limit": "soot limit for a burn, as the vehicle's maker publishes it",
    "filter_volume": "volume of the filter",
    "exhaust_temperature_before": "exhaust temperature before the filter",
    "exhaust_temperature_after": "exhaust temperature after the filter",
    "engine_speed": "engine speed",
    "coolant_temperature": "coolant temperature",
    "distance_since_burn": "distance since the last burn",
    "distance_since_clear": "distance since codes were cleared",
    "particle_count": "particle count",
    "opacity": "smoke opacity",
    "oil_level": "oil level",
}
#: Of these, what the vehicle reckons and nobody measures.
MODELLED = frozenset({"soot_mass", "ash_mass"})
_BURNS = (OperationKind.REGENERATE_DRIVING, OperationKind.REGENERATE_STATIONARY)
_FRESH_PARTS = (OperationKind.REPLACE, OperationKind.CLEAN_OFF_VEHICLE)
_WHOLE_DIGITS = 10
#: Beyond these the figure was typed wrongly. Judgement, no source.
FASTEST_RPM, FARTHEST_KM = 10_000, 100_000


@dataclass(frozen=True)
class NewReading:
    """A value as it was shown; an empty unit says that the display shows none."""

    quantity: str
    value: Decimal
    phase: str
    unit: str = ""
    condition: str = ""
    note: str = ""
    speed_rpm: int | None = None
    layout: str = ""
    km_since_burn: int | None = None


def reading_add(
    *, job: Job, new: NewReading, at: datetime, by: AbstractBaseUser | None = None
) -> Reading:
    """Add a reading to a job; the first of its kind after a burn or with a new part is kept as
    the vehicle's own reference."""
    _check(new)
    with transaction.atomic():
        reading = Reading.objects.create(job=job, kind=_kind_of(new), **vars(new))
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
    kinds = set(reading.job.operations.values_list("kind", flat=True))
    if kinds & set(_FRESH_PARTS):
        return BaselineBecause.NEW_PART
    if kinds & set(_BURNS):
        return BaselineBecause.COMPLETED_BURN
    return None


def _kind_of(new: NewReading) -> str:
    return ReadingKind.MODELLED if new.quantity in MODELLED else ReadingKind.MEASURED


def _check(new: NewReading) -> None:
    if new.quantity not in QUANTITIES:
        raise RuleBroken(
            f"a reading is of one of {', '.join(QUANTITIES)}",
            got=new.quantity,
            do="Choose from the list.",
            column="quantity",
        )
    if not new.value.is_finite() or abs(new.value) >= 10**_WHOLE_DIGITS:
        raise RuleBroken(
            f"a reading is a number of at most {_WHOLE_DIGITS} digits before the point",
            got=new.value,
            do="Type the digits shown.",
            column="value",
        )
    if new.phase not in JobPhase.values:
        raise RuleBroken(
            f"a reading is taken at one of {', '.join(JobPhase.values)}",
            got=new.phase,
            do="Say when.",
            column="phase",
        )
    for column, known in (("condition", EngineCondition.values), ("layout", SensorLayout.values)):
        said = getattr(new, column)
        if said and said not in known:
            raise RuleBroken(
                f"{column} of a reading is one of {', '.join(known)}, or not said",
                got=said,
                do="Choose from the list.",
                column=column,
            )
    for column, most in (("speed_rpm", FASTEST_RPM), ("km_since_burn", FARTHEST_KM)):
        number = getattr(new, column)
        if number is not None and not 0 <= number <= most:
            raise RuleBroken(
                f"{column} of a reading is 0 to {most}",
                got=number,
                do="Type what was shown, or leave it empty.",
                column=column,
            )
    for name, most in (("unit", 16), ("note", 200)):
        refuse_long(name, getattr(new, name), most)
