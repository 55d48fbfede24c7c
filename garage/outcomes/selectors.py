"""Reads of the outcomes: the lives of one vehicle."""

from datetime import date

from garage.outcomes.lives import Life, lives_follow
from garage.outcomes.read_facts import facts_read, newest_record_on
from garage.outcomes.usage import Odometers
from garage.records.models import PartKind, Vehicle


def lives_of_vehicle(
    *, vehicle: Vehicle, part_kind: PartKind, as_of: date | None = None
) -> list[Life]:
    """Every life of one part kind on one vehicle, in order of fitting."""
    day = as_of or newest_record_on([vehicle.organisation_id])
    if day is None:
        return []
    facts = facts_read(
        vehicles_in_view=Vehicle.objects.filter(pk=vehicle.pk), part_kind=part_kind, as_of=day
    )
    lives = lives_follow(facts, Odometers(facts))
    return sorted(lives, key=lambda life: (life.position, life.start_km or 0, life.fitment_id))
