"""Proportional hazards: by what factor does each covariate raise the rate of failing?"""

from dataclasses import dataclass, field, replace

import numpy as np

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.comparison.contrast import ChiSquare, score_statistic
from garage.lifetimes.comparison.exact_ties import likelihood_of, refuse_exact
from garage.lifetimes.comparison.hazard_lives import FailureGrid, HazardLives
from garage.lifetimes.comparison.partial_likelihood import TIES_KINDS, LikelihoodPoint, TiesKind
from garage.lifetimes.comparison.partial_likelihood_search import AnyPoint, SearchEnd, highest
from garage.lifetimes.comparison.score_residuals import robust_covariance
from garage.lifetimes.comparison.two_groups import two_sided_p_value
from garage.lifetimes.confidence import LARGEST_EXPONENT, LEVEL, normal_deviate
from garage.lifetimes.status import Status
from garage.lifetimes.wording import spoken

FAILURES_A_COVARIATE = 10
"""Failures; with fewer for each covariate limits miss more often than they say, and estimates
lie too far out. Peduzzi, Concato, Feinstein and Holford, Journal of Clinical Epidemiology 48,
1995 (from memory)."""

LEAST_CLUSTERS = 2
"""Clusters; one cannot tell how they differ."""

FEWEST_CLUSTERS = 20
"""Clusters; with fewer the robust standard error is mostly too small. Judgement, no source."""


@dataclass(frozen=True, slots=True)
class HazardRatio:
    """By what factor one unit more of a covariate multiplies the rate of failing.

    `coefficient` and `standard_error` are on the log scale; all figures are None where
    `reason` says so. `p_value` is that of a ratio of 1.
    """

    name: str
    coefficient: float | None
    standard_error: float | None
    value: float | None
    lower: float | None
    upper: float | None
    p_value: float | None
    n: int
    failed: int
    status: Status
    reason: str


@dataclass(frozen=True, slots=True, eq=False)
class ProportionalHazards:
    """A fitted model; made by `proportional_hazards`.

    Attributes
    ----------
    ratios : tuple of HazardRatio
        In the order of the covariates.
    covariance : array, shape (p, p), or None
        Of the coefficients; robust where clusters were given.
    model_covariance : array, shape (p, p), or None
        The inverse of the information, which takes lives as independent.
    log_likelihood_null, log_likelihood : float or None
        With all coefficients 0, and at the estimate.
    score_test, wald_test, likelihood_ratio_test : ChiSquare
        Of all coefficients being 0. Wald's uses `covariance`; the other two take lives as
        independent. Under ``RUNS_OFF`` the score test is still there.
    n, failed : int
        Rows watched and rows failed.
    clusters : int or None
        Clusters ever at risk; None where none were given.
    steps : int
        Of the search.
    """

    names: tuple[str, ...]
    ratios: tuple[HazardRatio, ...]
    covariance: FloatArray | None
    model_covariance: FloatArray | None
    log_likelihood_null: float | None
    log_likelihood: float | None
    score_test: ChiSquare
    wald_test: ChiSquare
    likelihood_ratio_test: ChiSquare
    n: int
    failed: int
    clusters: int | None
    level: float
    ties: TiesKind
    steps: int
    status: Status
    reason: str
    _point: AnyPoint | None = field(repr=False)

    def ratio_of(self, name: str) -> HazardRatio:
        """The hazard ratio of one covariate."""
        if name not in self.names:
            raise ValueError(f"the covariates are {list(self.names)}; got {name!r}")
        return self.ratios[self.names.index(name)]


def proportional_hazards(
    lives: HazardLives, *, ties: TiesKind = "efron", level: float = LEVEL
) -> ProportionalHazards:
    """Estimate by what factor each covariate multiplies the rate of failing, the others equal.

    Parameters
    ----------
    lives : HazardLives
        With delayed entry, and strata, clusters and weights if given.
    ties : {"efron", "breslow", "exact"}
        How failures at one clock value are treated; exact where the clock itself is discrete.
    level : float
        Of the two-sided limits, which are symmetric on the log scale.

    Returns
    -------
    ProportionalHazards
        All figures are None, with a status, where there are no lives (``NO_LIVES``), no
        failures (``NO_FAILURES``), covariates that do not differ or follow from each other
        among lives at risk together (``CANNOT_TELL_APART``), a likelihood that rises without
        end (``RUNS_OFF``) or a search that fails (``NOT_CONVERGED``). ``FEW_FAILURES`` and
        ``FEW_CLUSTERS`` come with figures that are not to be leant on.

    Raises
    ------
    ValueError
        For lives that break a rule of `HazardLives`; the first is named. With exact ties also
        for weights other than 1, for clusters, and for more than ``exact_ties.MOST_SUMS`` sums.

    Notes
    -----
    The rate of failing at clock t is h_s(t) exp(x b), the baseline h_s of each stratum being
    left open. At each failure the covariates of the one that failed are compared with those
    of all at risk then: the log partial likelihood is the sum of
    x b - log(sum of exp(x b) over those at risk). Of d tied failures Efron's form takes away
    0, 1/d, ... (d - 1)/d of them from those at risk, Breslow's none. The exact form compares
    the d with every choice of d lives of those at risk; exp(b) is then a ratio of odds of
    failing at one clock value, and its score test of groups is the log-rank test. It costs as
    many sums as there are lives at risk times tied failures, added over clock values. The
    maximum is found by Newton's steps, halved where they lead down.

    With clusters the standard errors are Lin and Wei's. Weights of whole numbers are
    repetitions under Breslow's form; under Efron's they are not, for repeated failures are
    ties.

    Sources: Cox, Journal of the Royal Statistical Society B 34, 1972 (the exact form as well);
    Efron, Journal of the American Statistical Association 72, 1977; Breslow, Biometrics 30,
    1974; Gail, Lubin and Rubinstein, Biometrika 68, 1981; Lin and Wei, Journal of the American
    Statistical Association 84, 1989 (all from memory; values checked, see the check values).

    Examples
    --------
    >>> lives = HazardLives(entry=[0] * 6, exit=[1, 1, 6, 6, 8, 9], failed=[1, 0, 1, 1, 0, 1],
    ...                     covariates=[[1], [1], [1], [0], [0], [0]], names=["cleaned"])
    >>> fit = proportional_hazards(lives)
    >>> round(fit.ratios[0].coefficient, 6), round(fit.log_likelihood, 6)
    (1.676857, -3.358975)
    """
    if ties not in TIES_KINDS:
        raise ValueError(f"ties are treated by one of {', '.join(TIES_KINDS)}; got {ties!r}")
    reach = normal_deviate(level)
    grid = FailureGrid.of(lives)
    if ties == "exact":
        refuse_exact(lives)
    if grid.n == 0 or not len(grid.failed):
        reason = (
            f"none of {spoken(grid.n)} lives failed while watched"
            if grid.n
            else "no life was watched"
        )
        status = Status.NO_FAILURES if grid.n else Status.NO_LIVES
        end = SearchEnd(None, None, 0, status, reason)
    else:
        end = highest(likelihood_of(grid, ties))
        if end.status is Status.OK and grid.cluster is not None:
            end = _with_clusters(end, grid.clusters)
    found = _figures(grid, end, reach) if end.status is Status.OK else _Figures.none(grid)
    status, reason = (end.status, end.reason)
    if status is Status.OK:
        status, reason = _doubtful(grid)
    return ProportionalHazards(
        names=grid.names,
        ratios=tuple(
            HazardRatio(name, *figures, grid.n, len(grid.failed), *_said(figures, status, reason))
            for name, figures in zip(grid.names, found.ratios, strict=True)
        ),
        covariance=found.covariance,
        model_covariance=found.model_covariance,
        log_likelihood_null=None if end.null is None else end.null.value,
        log_likelihood=end.point.value if end.point and end.status is Status.OK else None,
        score_test=_score_test(end.null, grid.p, end.status),
        wald_test=ChiSquare(found.wald, grid.p),
        likelihood_ratio_test=ChiSquare(found.likelihood_ratio, grid.p),
        n=grid.n,
        failed=len(grid.failed),
        clusters=None if grid.cluster is None else grid.clusters,
        level=level,
        ties=ties,
        steps=end.steps,
        status=status,
        reason=reason,
        _point=end.point if end.status is Status.OK else None,
    )


_Ratio = tuple[float | None, float | None, float | None, float | None, float | None, float | None]


@dataclass(frozen=True, slots=True, eq=False)
class _Figures:
    ratios: tuple[_Ratio, ...]
    covariance: FloatArray | None
    model_covariance: FloatArray | None
    wald: float | None
    likelihood_ratio: float | None

    @classmethod
    def none(cls, grid: FailureGrid) -> "_Figures":
        return cls(((None,) * 6,) * grid.p, None, None, None, None)


def _figures(grid: FailureGrid, end: SearchEnd, reach: float) -> _Figures:
    assert end.point is not None
    assert end.null is not None
    model = np.asarray(np.linalg.inv(end.point.information), np.float64)
    scaled = model
    if grid.cluster is not None and isinstance(end.point, LikelihoodPoint):
        scaled = robust_covariance(end.point, model)
    unscale = np.outer(grid.scale, grid.scale)
    covariance, coefficients = scaled / unscale, end.point.coefficients / grid.scale
    errors = np.sqrt(np.diag(covariance))
    return _Figures(
        ratios=tuple(
            _ratio(float(each), float(error), reach)
            for each, error in zip(coefficients, errors, strict=True)
        ),
        covariance=covariance,
        model_covariance=model / unscale,
        wald=_wald(end.point.coefficients, scaled, grid),
        likelihood_ratio=max(2 * (end.point.value - end.null.value), 0.0),
    )


def _ratio(coefficient: float, error: float, reach: float) -> _Ratio:
    logs = (coefficient, coefficient - reach * error, coefficient + reach * error)
    value, lower, upper = (
        float(np.exp(each)) if abs(each) < LARGEST_EXPONENT else None for each in logs
    )
    p_value = two_sided_p_value(coefficient, error) if error > 0 else None
    return coefficient, error, value, lower, upper, p_value


def _wald(coefficients: FloatArray, covariance: FloatArray, grid: FailureGrid) -> float | None:
    """Wald's chi-square; None where too few clusters for the covariates leave it undefined."""
    # Residuals sum to 0, so c clusters span c - 1 directions at most.
    if grid.cluster is not None and grid.clusters <= grid.p:
        return None
    return score_statistic(coefficients, covariance)


def _with_clusters(end: SearchEnd, clusters: int) -> SearchEnd:
    if clusters >= LEAST_CLUSTERS:
        return end
    reason = "all lives at risk belong to one cluster, which cannot tell how clusters differ"
    return replace(end, status=Status.FEW_CLUSTERS, reason=reason)


def _said(figures: _Ratio, status: Status, reason: str) -> tuple[Status, str]:
    if figures[0] is not None and None in figures:
        return Status.NOT_REACHED, (
            "one unit of it multiplies the rate by more than any number holds, or its error is "
            "0; give it in larger units"
        )
    return status, reason


def _score_test(null: AnyPoint | None, p: int, status: Status) -> ChiSquare:
    if null is None or status is Status.CANNOT_TELL_APART:
        return ChiSquare(None, p)
    return ChiSquare(float(null.score @ np.linalg.solve(null.information, null.score)), p)


def _doubtful(grid: FailureGrid) -> tuple[Status, str]:
    if len(grid.failed) < FAILURES_A_COVARIATE * grid.p:
        return Status.FEW_FAILURES, (
            f"{spoken(len(grid.failed))} failures for {spoken(grid.p)} covariates; below "
            f"{FAILURES_A_COVARIATE} for each, limits are too narrow"
        )
    if grid.cluster is not None and grid.clusters < FEWEST_CLUSTERS:
        return Status.FEW_CLUSTERS, (
            f"{spoken(grid.clusters)} clusters, such as vehicles; below {FEWEST_CLUSTERS} the "
            "standard errors are mostly too small"
        )
    return Status.OK, ""
