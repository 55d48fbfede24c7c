"""Found figures and written truth side by side, and the naive estimates beside both."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from fixtures.demo.answers import TESTED_KM
from fixtures.demo.truth import DEMO_TRUTH
from garage.lifetimes.curves.product_limit import product_limit
from garage.lifetimes.risk_table import LivesArrays, RiskTable
from garage.outcomes.capture import capture_of_failures
from garage.outcomes.choices import Curve
from garage.outcomes.curve_lives import GroupLives
from garage.outcomes.figures import Figure
from garage.outcomes.lives import Life
from garage.outcomes.part_life import GroupKey, GroupLife, group_life
from garage.outcomes.usage import Odometers
from garage.outcomes.visits import visits_follow
from tests.demo.world import Found

SOUND = tuple(each.name for each in DEMO_TRUTH.families if not each.weak_by_design)
WEAK = tuple(each.name for each in DEMO_TRUTH.families if each.weak_by_design)
FOUND_IN_PLACE = frozenset({"factory", "unknown"})


@dataclass(frozen=True)
class Group:
    """Families and origins pooled, and the group of the same name in the written truth."""

    name: str
    families: tuple[str, ...]
    origins: frozenset[str]
    told_origin: str
    told_stratum: str


def _groups(name: str, families: tuple[str, ...]) -> tuple[Group, ...]:
    later = frozenset({"new_original", "new_aftermarket", "reconditioned", "used", "unknown"})
    return (
        Group(f"{name}, factory", families, frozenset({"factory"}), "factory", "ordinary"),
        Group(f"{name}, fitted later", families, later, "replacement", "all"),
        Group(f"{name}, cleaned", families, frozenset({"cleaned"}), "cleaned", "all"),
    )


SOUND_GROUPS = _groups("sound families", SOUND)
WEAK_GROUPS = _groups("weak family", WEAK)
GROUPS = SOUND_GROUPS + WEAK_GROUPS


def told_survival(found: Found, group: Group) -> dict[int, float]:
    """Written truth, families weighted by their number of lives."""
    told = [
        each
        for each in found.told["survival"]
        if each["engine_family"] in group.families
        and (each["origin"], each["stratum"]) == (group.told_origin, group.told_stratum)
    ]
    n = sum(each["n"] for each in told)
    return {km: sum(each["law"][str(km)] * each["n"] for each in told) / n for km in TESTED_KM}


def lives_in(found: Found, group: Group) -> list[Life]:
    """The used lives of a group."""
    return [
        life
        for life in found.lives
        if life.used and life.family in group.families and life.origin in group.origins
    ]


def part_life_of(found: Found, group: Group) -> GroupLife:
    """What the register says of these lives together."""
    return group_life(
        GroupKey(group.name, group.told_origin, "together"),
        GroupLives(
            lives_in(found, group),
            capture_of_failures(found.facts, found.lives),
            visits_follow(found.facts, found.lives),
            Odometers(found.facts).since_read,
        ),
        np.random.default_rng(20_261_125),
    )


def survival_by_km(life: GroupLife, curve: Curve) -> dict[int, Figure]:
    """Figures of one curve by distance."""
    (summary,) = [each for each in life.curves if each.curve == curve]
    return {each.at: each.figure for each in summary.survival}


@dataclass(frozen=True)
class NaiveLives:
    """Filters found in place, each taken to have been there from 0 km: no rules 2 and 3."""

    exit_km: list[int]
    failed: list[bool]

    def plain_average(self) -> dict[int, float]:
        """Share of the failed filters that had lasted longer: what a list of jobs shows."""
        failed_km = [km for km, failed in zip(self.exit_km, self.failed, strict=True) if failed]
        return {at: sum(km > at for km in failed_km) / len(failed_km) for at in TESTED_KM}

    def product_limit(self) -> dict[int, float]:
        """With the unfailed counted to the vehicle's last job."""
        table = RiskTable.from_lives(
            LivesArrays(
                entry=[0] * len(self.exit_km),
                exit=self.exit_km,
                cause=np.array(self.failed, dtype=np.int64),
            ),
            unit="km",
        )
        curve = product_limit(table)
        values = {at: curve.at(at).value for at in TESTED_KM}
        return {at: value for at, value in values.items() if value is not None}


def naive_lives(found: Found, families: Iterable[str]) -> NaiveLives:
    """Every filter found in place on a vehicle, arrived failed or not, whatever is known of it."""
    chosen = frozenset(families)
    fitments = {each.fitment_id: each for car in found.facts.vehicles for each in car.fitments}
    last_km = {
        car.vehicle_id: max((job.km for job in car.jobs if job.km is not None), default=0)
        for car in found.facts.vehicles
    }
    naive = NaiveLives([], [])
    for life in found.lives:
        if life.family in chosen and life.origin in FOUND_IN_PLACE and not life.fitted_here:
            removed_km = fitments[life.fitment_id].removed_km
            end_km = last_km[life.vehicle_id] if removed_km is None else removed_km
            if end_km > 0:
                naive.exit_km.append(end_km)
                naive.failed.append(life.failed)
    return naive
