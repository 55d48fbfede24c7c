"""Write which unit a display shows, as a person confirmed it, and tell its bare readings in it."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from garage.evidence.display_units import PRESSURE, standard_value_shown, unit_of_display
from garage.evidence.quantities.catalogue import Quantity, quantities
from garage.evidence.quantities.units import unit_of
from garage.records.choices import AuditVerb
from garage.records.errors import RuleBroken
from garage.records.models import EngineFamily, Instrument, Job, Reading, UnitConfirmed
from garage.records.services.audit import Change, audit_record

#: Rows written at once.
_BATCH = 500


@dataclass(frozen=True)
class UnitSaid:
    """A unit of a quantity, for one engine family, or for all where `engine_family` is None."""

    unit: str
    engine_family: EngineFamily | None = None
    quantity: str = PRESSURE


def unit_confirm(
    *,
    instrument: Instrument,
    said: UnitSaid,
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> UnitConfirmed:
    """Keep which unit a display shows; a later answer for the same vehicles takes its place.

    The bare numbers read off it are told in that unit from then on.
    """
    known = _known(said.quantity)
    symbol = _symbol(said, known)
    with transaction.atomic():
        locked = Instrument.objects.select_for_update().get(pk=instrument.pk)
        if unit_of(locked.unit, known.dimension) is not None:
            raise RuleBroken(
                "a unit is confirmed for a display that names none",
                got=f"{locked.name}, which shows {locked.unit}",
                do="Change the instrument if it shows no unit.",
                column="unit",
            )
        same: dict[str, Any] = {"quantity": said.quantity, "engine_family": said.engine_family}
        before = locked.units.filter(**same).first()
        kept, _ = UnitConfirmed.objects.update_or_create(
            instrument=locked,
            **same,
            defaults={
                "unit": symbol,
                "confirmed_at": at,
                "confirmed_by_id": None if by is None else by.pk,
            },
        )
        changed = readings_restate(instrument=locked)
        was = None if before is None else before.unit
        changes = {said.quantity: [was, symbol], "readings_told": [None, changed]}
        _audit(kept, Change(AuditVerb.SIGN, kept, changes), at, by)
    return kept


def unit_unconfirm(
    *, confirmed: UnitConfirmed, at: datetime, by: AbstractBaseUser | None = None
) -> int:
    """Take a confirmed unit back: readings told in it go to what holds then, or to not known.

    Answers how many readings changed.
    """
    with transaction.atomic():
        locked = Instrument.objects.select_for_update().get(pk=confirmed.instrument_id)
        change = Change(
            AuditVerb.REMOVE,
            UnitConfirmed(pk=confirmed.pk, instrument=locked),
            {confirmed.quantity: [confirmed.unit, None]},
        )
        UnitConfirmed.objects.filter(pk=confirmed.pk).delete()
        changed = readings_restate(instrument=locked)
        _audit(confirmed, change, at, by)
    return changed


def readings_shown_by(
    *, job: Job, instrument: Instrument, at: datetime, by: AbstractBaseUser | None = None
) -> int:
    """Say which instrument showed the bare pressures of a job that name none; how many they were.

    The instrument is one of the job's own organisation.
    """
    if instrument.organisation_id != job.organisation_id:
        raise RuleBroken(
            "a display is one of the workshop that did the job",
            got="an instrument of another",
            do="Choose from the list.",
            column="instrument",
        )
    with transaction.atomic():
        bare = job.technical_readings.filter(quantity=PRESSURE, unit="", instrument=None)
        count = bare.update(instrument=instrument)
        if count:
            readings_restate(instrument=instrument)
            audit_record(
                organisation=job.organisation,
                change=Change(AuditVerb.CHANGE, job, {"readings_shown_by": [None, instrument.pk]}),
                by=by,
                at=at,
            )
    return count


def readings_restate(*, instrument: Instrument) -> int:
    """Tell the bare numbers of an instrument in what is known of its units; how many changed.

    Call it inside the transaction that changes what is known.
    """
    fresh = Instrument.objects.prefetch_related("units").get(pk=instrument.pk)
    bare = (
        Reading.objects.filter(instrument=fresh, unit="")
        .select_related("job__vehicle")
        .only("quantity", "value", "standard_value", "job__vehicle__engine_family_id")
    )
    changed = []
    for each in bare.iterator(chunk_size=_BATCH):
        told = _standard_value(fresh, each)
        if told != each.standard_value:
            each.standard_value = told
            changed.append(each)
    Reading.objects.bulk_update(changed, ["standard_value"], batch_size=_BATCH)
    return len(changed)


def vehicle_readings_restate(*, vehicle_ids: Collection[int]) -> None:
    """Tell the bare numbers read at these vehicles' jobs anew: their engine family may be another.

    Called inside the transaction that changes the vehicles.
    """
    read = Reading.objects.filter(
        instrument__units__engine_family__isnull=False, job__vehicle__in=vehicle_ids, unit=""
    )
    for instrument in Instrument.objects.filter(pk__in=read.values("instrument")):
        readings_restate(instrument=instrument)


def _standard_value(instrument: Instrument, reading: Reading) -> float | None:
    shown_in = unit_of_display(
        instrument=instrument,
        engine_family_id=reading.job.vehicle.engine_family_id,
        quantity=reading.quantity,
    )
    return standard_value_shown(quantity=reading.quantity, value=reading.value, shown_in=shown_in)


def _known(key: str) -> Quantity:
    found = quantities().get(key)
    if found is None:
        raise RuleBroken(
            "a unit is confirmed of a quantity that is known here",
            got=key,
            do=f"Name one of {', '.join(quantities())}.",
            column="quantity",
        )
    return found


def _symbol(said: UnitSaid, known: Quantity) -> str:
    unit = unit_of(said.unit, known.dimension)
    if unit is None:
        raise RuleBroken(
            f"the unit of {known.title} is one of {known.dimension}",
            got=said.unit,
            do="Choose from the list.",
            column="unit",
        )
    return unit.symbol


def _audit(
    confirmed: UnitConfirmed, change: Change, at: datetime, by: AbstractBaseUser | None
) -> None:
    audit_record(organisation=confirmed.instrument.organisation, change=change, by=by, at=at)
