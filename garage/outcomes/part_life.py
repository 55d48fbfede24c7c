"""How long parts last: for each engine family, part kind and origin, two curves with their bands.

*Seen* is mostly too low, *presumed* too high (design: rule 3); both are shown, and the share of
the watching time that was really covered stands beside them.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from garage.lifetimes.curves.product_limit import product_limit
from garage.lifetimes.laws.weibull_fit import ParameterEstimate, WeibullFit, weibull_fit
from garage.lifetimes.resampling.vehicles import (
    ALL_CAPTURED,
    ClusteredLives,
    ResamplingOptions,
    resample_survival,
)
from garage.lifetimes.risk_table import LivesArrays, RiskTable
from garage.outcomes.capture import Captures
from garage.outcomes.choices import Curve, Stratum
from garage.outcomes.figures import CONFIDENCE_LEVEL, Figure, FigureAt, figure_of
from garage.outcomes.intervals import IntervalCount, interval_table
from garage.outcomes.lives import Life

#: Where survival is reported, km.
REPORTED_AT_KM = (10_000, 20_000, 50_000, 100_000, 150_000, 200_000, 250_000, 300_000)
#: Step of the drawn curve, km.
GRID_STEP_KM = 10_000
GRID_KM = range(GRID_STEP_KM, 400_001, GRID_STEP_KM)
SOURCE = "this register, product-limit with delayed entry"


@dataclass(frozen=True)
class GroupKey:
    engine_family: str
    origin: str
    stratum: str


@dataclass(frozen=True)
class CurvePoint:
    """The drawn curve: None where too few were at risk to draw it."""

    km: int
    survival: float | None
    lower: float | None
    upper: float | None


@dataclass(frozen=True)
class LawSummary:
    """A Weibull law fitted to the same table."""

    shape: Figure
    scale_km: Figure
    tenth_failed_km: Figure


@dataclass(frozen=True)
class CurveSummary:
    """One curve; where the first failures fell among too few lives, of those that got past them.

    `given_survival_to_km` is then where it starts, else None.
    """

    curve: str
    given_survival_to_km: int | None
    survival: tuple[FigureAt, ...]
    median_km: Figure
    weibull: LawSummary
    drawn: tuple[CurvePoint, ...]


@dataclass(frozen=True)
class GroupLife:
    """Part life of one engine family, origin and stratum."""

    key: GroupKey
    lives: int
    failed: int
    vehicles: int
    watched_km: int
    covered_share: float | None
    """Watching time at jobs, of the watching time if every silent vehicle still drove."""
    curves: tuple[CurveSummary, ...]
    intervals: tuple[IntervalCount, ...]
    """Failures known only to lie within a gap: beside the curves, which count them as found."""


def lives_by_group(lives: Iterable[Life]) -> dict[GroupKey, list[Life]]:
    """The used lives of each family and origin: by stratum, and together where both occur."""
    groups: dict[GroupKey, list[Life]] = defaultdict(list)
    for life in lives:
        if life.used:
            groups[GroupKey(life.family, life.origin, life.stratum)].append(life)
            groups[GroupKey(life.family, life.origin, Stratum.TOGETHER)].append(life)
    kept = {}
    for key in sorted(groups, key=_reading_order):
        other = GroupKey(key.engine_family, key.origin, Stratum.ON_ARRIVALS)
        if key.stratum == Stratum.SEEN_BEFORE_TROUBLE and other not in groups:
            continue  # it is the group together, once more
        kept[key] = groups[key]
    return kept


def _reading_order(key: GroupKey) -> tuple[str, str, int]:
    return key.engine_family, key.origin, list(Stratum).index(Stratum(key.stratum))


def group_life(
    key: GroupKey, lives: Sequence[Life], captures: Captures, rng: np.random.Generator
) -> GroupLife:
    """Both curves of one group."""
    covered = sum(life.seen_km - life.entry_km for life in lives)
    presumed = sum(life.presumed_km - life.entry_km for life in lives)
    return GroupLife(
        key=key,
        lives=len(lives),
        failed=sum(life.failed for life in lives),
        vehicles=len({life.vehicle_id for life in lives}),
        watched_km=covered,
        covered_share=covered / presumed if presumed else None,
        curves=tuple(_curve(curve, lives, captures, rng) for curve in Curve),
        intervals=interval_table(lives),
    )


def table_of(lives: Sequence[Life], curve: Curve, captures: Captures) -> RiskTable:
    """The risk table of these lives; *presumed* is not corrected, for it has no end to correct."""
    capture = None
    if curve is Curve.SEEN:
        capture = np.array([captures.value(life.organisation_id) for life in lives])
    return RiskTable.from_lives(
        LivesArrays(
            entry=[life.entry_km for life in lives],
            exit=[_exit_km(life, curve) for life in lives],
            cause=np.array([life.failed for life in lives], dtype=np.int64),
            capture=capture,
        ),
        unit="km",
    )


def _exit_km(life: Life, curve: Curve) -> int:
    return life.seen_km if curve is Curve.SEEN else life.presumed_km


def _clustered(lives: Sequence[Life], curve: Curve, organisations: Sequence[int]) -> ClusteredLives:
    """Lives by vehicle; under *seen* each organisation is a capture group of its own."""
    groups = {organisation: group for group, organisation in enumerate(organisations)}
    return ClusteredLives(
        entry=[life.entry_km for life in lives],
        exit=[_exit_km(life, curve) for life in lives],
        failed=[life.failed for life in lives],
        cluster=[life.vehicle_id for life in lives],
        capture_group=[groups[life.organisation_id] for life in lives]
        if curve is Curve.SEEN
        else None,
    )


def starts_at_km(table: RiskTable) -> int | None:
    """Where to start the curve: past the thin places before most lives came under watch.

    A thin place after that, such as one old vehicle entering late, leaves the curve before it be.
    """
    if len(table.clock) == 0:
        return None
    widest_km = int(table.clock[int(np.argmax(table.at_risk))])
    start_km, curve = None, product_limit(table)
    while curve.reliable_to is not None and curve.reliable_to < widest_km:
        start_km = curve.reliable_to
        curve = product_limit(table, given_survival_to=start_km)
    return start_km


def _curve(
    curve: Curve, lives: Sequence[Life], captures: Captures, rng: np.random.Generator
) -> CurveSummary:
    organisations = sorted({life.organisation_id for life in lives})
    table = table_of(lives, curve, captures)
    start_km = starts_at_km(table)
    resampled = resample_survival(
        _clustered(lives, curve, organisations),
        captures.draws(organisations) if curve is Curve.SEEN else ALL_CAPTURED,
        GRID_KM,
        rng=rng,
        options=ResamplingOptions(level=CONFIDENCE_LEVEL, given_survival_to=start_km),
    )
    at = {int(point.clock): figure_of(point, SOURCE) for point in resampled.points}
    fit = weibull_fit(table, level=CONFIDENCE_LEVEL)
    median = resampled.median
    if median is None:
        raise LookupError("a survival curve has a median, or a reason why not")
    return CurveSummary(
        curve=curve.value,
        given_survival_to_km=start_km,
        survival=tuple(FigureAt(km, at[km]) for km in REPORTED_AT_KM),
        median_km=figure_of(median, SOURCE),
        weibull=_law(fit),
        drawn=(
            CurvePoint(start_km or 0, 1.0, 1.0, 1.0),
            *(
                CurvePoint(km, f.value, f.lower, f.upper)
                for km, f in at.items()
                if km > (start_km or 0)
            ),
        ),
    )


def _law(fit: WeibullFit) -> LawSummary:
    source = (
        "this register, Weibull law by maximum likelihood with delayed entry; limits take lives as "
        "independent and the capture share as known"
    )

    def figure(estimate: ParameterEstimate | None) -> Figure:
        return Figure(
            value=None if estimate is None else estimate.value,
            lower=None if estimate is None else estimate.lower,
            upper=None if estimate is None else estimate.upper,
            n=fit.n,
            failed=fit.failed,
            status=fit.status.value,
            reason=fit.reason,
            source=source,
        )

    return LawSummary(figure(fit.shape), figure(fit.scale), figure(fit.quantile(0.1)))
