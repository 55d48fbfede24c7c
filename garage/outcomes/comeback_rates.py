"""How often vehicles come back after each operation, within days and within km."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from garage.lifetimes.resampling.vehicles import (
    ClusteredLives,
    ResamplingOptions,
    resample_incidence,
)
from garage.lifetimes.status import Status
from garage.outcomes.capture import Captures
from garage.outcomes.comebacks import COMEBACK, OTHER_END, IndexJob
from garage.outcomes.figures import CONFIDENCE_LEVEL, Figure, FigureAt, figure_of
from garage.records.index_jobs import STRENGTH

WITHIN_DAYS = (7, 30, 90, 365)
WITHIN_KM = (500, 2_000, 10_000, 20_000)
ALL_FAMILIES = "(all)"
SOURCE = "this register, cumulative incidence with competing ends, divided by the capture share"
_NO_KM = Figure(
    value=None,
    lower=None,
    upper=None,
    n=0,
    failed=0,
    status=Status.NO_LIVES.value,
    reason="none of these jobs has an odometer that stands",
    source=SOURCE,
)


RngOf = Callable[[str, str], np.random.Generator]


@dataclass(frozen=True)
class ComebackRates:
    """Comebacks after one operation in one engine family, or in all together."""

    engine_family: str
    operation: str
    jobs: int
    comebacks: int
    other_ends: int
    vehicles: int
    without_km: int
    """Index jobs without an odometer that stands: absent from the figures by km."""
    within_days: tuple[FigureAt, ...]
    within_km: tuple[FigureAt, ...]


def comeback_rates(
    index_jobs: Iterable[IndexJob], captures: Captures, rng_of: RngOf
) -> list[ComebackRates]:
    """Rates of every operation, for all families together first and then for each.

    `rng_of` hands out the random generator of a family and operation.
    """
    groups: dict[tuple[str, str], list[IndexJob]] = defaultdict(list)
    for index in index_jobs:
        groups[ALL_FAMILIES, index.operation].append(index)
        groups[index.family, index.operation].append(index)
    order = [kind.value for kind in STRENGTH]
    ordered = sorted(groups, key=lambda key: (key[0] != ALL_FAMILIES, key[0], order.index(key[1])))
    return [_rates(key, groups[key], captures, rng_of(*key)) for key in ordered]


def _rates(
    key: tuple[str, str],
    jobs: Sequence[IndexJob],
    captures: Captures,
    rng: np.random.Generator,
) -> ComebackRates:
    with_km = [job for job in jobs if job.after_km is not None]
    return ComebackRates(
        engine_family=key[0],
        operation=key[1],
        jobs=len(jobs),
        comebacks=sum(job.outcome == COMEBACK for job in jobs),
        other_ends=sum(job.outcome == OTHER_END for job in jobs),
        vehicles=len({job.vehicle_id for job in jobs}),
        without_km=len(jobs) - len(with_km),
        within_days=_incidence(_Clock("days", WITHIN_DAYS), jobs, captures, rng),
        within_km=_incidence(_Clock("km", WITHIN_KM), with_km, captures, rng),
    )


@dataclass(frozen=True)
class _Clock:
    unit: str
    windows: tuple[int, ...]

    def after(self, job: IndexJob) -> int:
        return job.after_days if self.unit == "days" else job.after_km or 0


def _incidence(
    clock: _Clock, jobs: Sequence[IndexJob], captures: Captures, rng: np.random.Generator
) -> tuple[FigureAt, ...]:
    organisations = sorted({job.organisation_id for job in jobs})
    groups = {organisation: group for group, organisation in enumerate(organisations)}
    if not jobs:
        return tuple(FigureAt(window, _NO_KM) for window in clock.windows)
    resampled = resample_incidence(
        ClusteredLives(
            entry=[0] * len(jobs),
            exit=[clock.after(job) for job in jobs],
            failed=[job.outcome == COMEBACK for job in jobs],
            cluster=[job.vehicle_id for job in jobs],
            capture_group=[groups[job.organisation_id] for job in jobs],
            other_end=[job.outcome == OTHER_END for job in jobs],
            unit=clock.unit,
        ),
        captures.draws(organisations),
        clock.windows,
        rng=rng,
        options=ResamplingOptions(level=CONFIDENCE_LEVEL),
    )
    return tuple(
        FigureAt(window, figure_of(point, SOURCE))
        for window, point in zip(clock.windows, resampled.points, strict=True)
    )
