"""One survival curve of a group of lives: its figures, its law, and the points to draw."""

from dataclasses import dataclass

import numpy as np

from garage.lifetimes.curves.product_limit import product_limit
from garage.lifetimes.laws.weibull_fit import ParameterEstimate, WeibullFit, weibull_fit
from garage.lifetimes.resampling.vehicles import ResamplingOptions
from garage.lifetimes.risk_table import RiskTable
from garage.outcomes.choices import Curve
from garage.outcomes.curve_lives import GroupLives
from garage.outcomes.figures import CONFIDENCE_LEVEL, Figure, FigureAt, figure_of
from garage.outcomes.visits import NoLaw

#: Where survival is reported, km.
REPORTED_AT_KM = (10_000, 20_000, 50_000, 100_000, 150_000, 200_000, 250_000, 300_000)
#: Step of the drawn curve, km.
GRID_STEP_KM = 10_000
GRID_KM = range(GRID_STEP_KM, 400_001, GRID_STEP_KM)
SOURCE = "this register, product-limit with delayed entry"
EXPECTED_SOURCE = f"{SOURCE}, silent vehicles by their chance to be still customers"
LAW_SOURCE = (
    "this register, Weibull law by maximum likelihood with delayed entry; limits take lives as "
    "independent and the capture share as known"
)


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


def curve_summary(curve: Curve, group: GroupLives, rng: np.random.Generator) -> CurveSummary:
    """One curve of a group; without figures, but with the reason, where none can be had."""
    unknown = group.visits.without_law(group.lives) if curve is Curve.EXPECTED else None
    if unknown is not None:
        return _not_known(curve, group, unknown)
    source = EXPECTED_SOURCE if curve is Curve.EXPECTED else SOURCE
    table = group.table(curve)
    start_km = starts_at_km(table)
    resampled = group.resampled(
        curve,
        GRID_KM,
        rng=rng,
        options=ResamplingOptions(level=CONFIDENCE_LEVEL, given_survival_to=start_km),
    )
    at = {int(point.clock): figure_of(point, source) for point in resampled.points}
    median = resampled.median
    if median is None:
        raise LookupError("a survival curve has a median, or a reason why not")
    return CurveSummary(
        curve=curve.value,
        given_survival_to_km=start_km,
        survival=tuple(FigureAt(km, at[km]) for km in REPORTED_AT_KM),
        median_km=figure_of(median, source),
        weibull=_law(weibull_fit(table, level=CONFIDENCE_LEVEL)),
        drawn=(
            CurvePoint(start_km or 0, 1.0, 1.0, 1.0),
            *(
                CurvePoint(km, f.value, f.lower, f.upper)
                for km, f in at.items()
                if km > (start_km or 0)
            ),
        ),
    )


def _not_known(curve: Curve, group: GroupLives, why: NoLaw) -> CurveSummary:
    """No made-up curve: every figure says why it is not there."""
    figure = Figure(
        value=None,
        lower=None,
        upper=None,
        n=len(group.lives),
        failed=sum(life.failed for life in group.lives),
        status=why.status.value,
        reason=why.reason,
        source=EXPECTED_SOURCE,
    )
    return CurveSummary(
        curve=curve.value,
        given_survival_to_km=None,
        survival=tuple(FigureAt(km, figure) for km in REPORTED_AT_KM),
        median_km=figure,
        weibull=LawSummary(figure, figure, figure),
        drawn=(),
    )


def _law(fit: WeibullFit) -> LawSummary:
    def figure(estimate: ParameterEstimate | None) -> Figure:
        return Figure(
            value=None if estimate is None else estimate.value,
            lower=None if estimate is None else estimate.lower,
            upper=None if estimate is None else estimate.upper,
            n=fit.n,
            failed=fit.failed,
            status=fit.status.value,
            reason=fit.reason,
            source=LAW_SOURCE,
        )

    return LawSummary(figure(fit.shape), figure(fit.scale), figure(fit.quantile(0.1)))
