"""Vehicles that come and leave by a written law, as facts, without rows in the database."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np

from garage.lifetimes.laws.weibull import WeibullLaw
from garage.outcomes.facts import Facts, FitmentFact, JobFact, VehicleFacts
from garage.outcomes.lives import Life, Silence
from garage.records.choices import FitmentStart, Origin
from garage.records.models import PartKind
from tests.outcomes.worlds import life

BEGIN = date(2018, 1, 1)
AS_OF = date(2026, 1, 1)
RECORDS_DAYS = (AS_OF - BEGIN).days
#: Not kept anywhere: what is asked here has to do with no row of the catalogue.
FILTER = PartKind(code="particulate_filter", system="exhaust_aftertreatment")


def day(days: int) -> date:
    return BEGIN + timedelta(days=days)


def job(number: int, on_day: int, km: int | None = None, *, unplanned: bool = False) -> JobFact:
    return JobFact(
        job_id=number,
        opened_on=day(on_day),
        closed_on=day(on_day),
        unplanned=unplanned,
        system="service",
        km=km,
        km_in_doubt=False,
        repaired_elsewhere=None,
        operations=(),
    )


def vehicle(
    number: int, on_days: Sequence[int], *, organisation: int = 1, ended_on: date | None = None
) -> VehicleFacts:
    """Jobs on these days, numbered in their order from 100 times the vehicle's number."""
    return VehicleFacts(
        vehicle_id=number,
        organisation_id=organisation,
        family="Alder 16",
        first_used_on=None,
        watched_from_new=False,
        ended_on=ended_on,
        ended_because="" if ended_on is None else "sold",
        jobs=[job(100 * number + place, at) for place, at in enumerate(on_days)],
    )


def part(
    number: int, *, fitted_at: int | None = None, removed_at: int | None = None
) -> FitmentFact:
    return FitmentFact(
        fitment_id=number,
        position="",
        origin=Origin.NEW_ORIGINAL,
        start=FitmentStart.FITTED_HERE,
        fitted_on=None,
        fitted_km=0,
        fitted_at_id=None,
        removed_on=None,
        removed_km=None,
        removed_at_id=removed_at,
        removed_because="" if removed_at is None else "failed",
        last_sound_km=None,
    )


def facts_of(*vehicles: VehicleFacts) -> Facts:
    return Facts(AS_OF, FILTER, frozenset(), list(vehicles))


@dataclass
class Customers:
    """Draws the days on which vehicles come: every `gap_days` or so, while they are customers."""

    seed: int = 5
    gap_days: float = 300.0
    leaving_a_year: float = 0.15
    regularity: float = 4.0
    rng: np.random.Generator = field(init=False)

    def __post_init__(self) -> None:
        self.rng = np.random.default_rng(self.seed)

    def days(self) -> tuple[list[int], float]:
        """Days of visits, the first within four years of the beginning, and the day of leaving."""
        at = float(self.rng.integers(0, 1_461))
        left = at + self.rng.exponential(365.25 / self.leaving_a_year)
        pace = self.gap_days * self.rng.gamma(8, 1 / 8)
        found = []
        while at < min(left, RECORDS_DAYS):
            found.append(int(at))
            at += max(1.0, self.rng.gamma(self.regularity, pace / self.regularity))
        return found, left

    def vehicles(self, count: int, *, first: int = 1, organisation: int = 1) -> list[VehicleFacts]:
        numbers = range(first, first + count)
        return [vehicle(each, self.days()[0], organisation=organisation) for each in numbers]

    def with_parts(
        self, count: int, *, law: WeibullLaw, km_a_day: float = 50.0
    ) -> tuple[Facts, list[Life]]:
        """Vehicles whose first visit fits a part, which they bring when it fails if they can."""
        vehicles, lives = [], []
        for number in range(1, count + 1):
            days, left = self.days()
            failed_km = int(law.scale * self.rng.weibull(law.shape)) + 1
            failed_day = days[0] + int(failed_km / km_a_day)
            failed = failed_day < min(left, RECORDS_DAYS)
            came = sorted({*days, *([failed_day] if failed else [])})
            van = vehicle(number, came)
            if failed:
                van.fitments.append(part(number, removed_at=100 * number + came.index(failed_day)))
            vehicles.append(van)
            seen_km = int(km_a_day * (came[-1] - days[0]))
            silent_days = RECORDS_DAYS - came[-1]
            lives.append(
                life(failed_km, failed=True, fitment_id=number, vehicle_id=number)
                if failed
                else life(
                    seen_km,
                    fitment_id=number,
                    vehicle_id=number,
                    presumed_km=int(seen_km + km_a_day * silent_days),
                    silence=Silence(seen_km, silent_days, km_a_day),
                )
            )
        return facts_of(*vehicles), lives
