"""Difference and ratio of two mean lives within a horizon."""

from dataclasses import dataclass, replace

import numpy as np

from garage.lifetimes.comparison.two_groups import Contrast, Remark, contrast_of, weightiest
from garage.lifetimes.confidence import LEVEL, normal_deviate
from garage.lifetimes.curves.product_limit import MeanEstimate, SurvivalCurve
from garage.lifetimes.status import Status
from garage.lifetimes.wording import spoken


@dataclass(frozen=True, slots=True)
class MeansCompared:
    """Two means within a horizon, and how far they lie apart.

    Attributes
    ----------
    until : float
        The horizon; a life that goes further ends there.
    first, second : MeanEstimate
        The two means, each with its limits.
    difference : Contrast or None
        First less second, in clock units.
    ratio : Contrast or None
        First over second, limits symmetric on the log scale.
    n, failed : int
        Lives watched and failures seen, both groups together.
    """

    until: float
    first: MeanEstimate
    second: MeanEstimate
    difference: Contrast | None
    ratio: Contrast | None
    n: int
    failed: int
    status: Status
    reason: str


def common_horizon(first: SurvivalCurve, second: SurvivalCurve) -> int | None:
    """The furthest horizon at which both curves still have a figure; None where none has.

    Choose a horizon for what it means (a warranty, a service interval), not because it gives
    the largest difference; this is only its upper end.
    """
    ends = [_last_figure(curve) for curve in (first, second)]
    known = [each for each in ends if each is not None]
    if len(known) < len(ends):
        return None
    # A curve that has come down to 0 stays there, so it sets no end.
    if np.isinf(min(known)):
        return max(first.watched_to or 0, second.watched_to or 0)
    return int(min(known))


def restricted_means_compared(
    first: SurvivalCurve, second: SurvivalCurve, *, until: float, level: float = LEVEL
) -> MeansCompared:
    """Say how much longer, on average, one group's lives last within a horizon.

    Parameters
    ----------
    first, second : SurvivalCurve
        Of two groups that share no lives, on one clock, both speaking of lives that have
        reached the same distance.
    until : float
        The horizon, in clock units.
    level : float
        Of the two-sided limits of difference and ratio; the means keep their curves' level.

    Returns
    -------
    MeansCompared
        Difference and ratio are None, with a status and the group named, where the horizon
        lies beyond one of the curves; the ratio also where a mean is 0. Where a group shows no
        spread within the horizon (none failed, or all at one clock value) its error is not
        known: values without limits, ``NO_FAILURES`` or ``ONE_DISTANCE``.

    Raises
    ------
    ValueError
        If the clocks differ, or the distances that lives are to have reached.

    Notes
    -----
    The mean is the area under the survival curve up to the horizon, its variance the sum over
    failures of (area still to come)**2 times Greenwood's term, without an n / (n - 1). The
    variances add for the difference, and relative to their means squared for the log of the
    ratio. Two-sided p-values are normal theory's. No proportional hazards are assumed, so the
    comparison still means something where curves cross.

    Source: Royston and Parmar, BMC Medical Research Methodology 13, 2013, 152; Uno et al.,
    Journal of Clinical Oncology 32, 2014, 2380-2385 (both from memory; values checked).

    Examples
    --------
    >>> from garage.lifetimes.curves.product_limit import product_limit
    >>> from garage.lifetimes.risk_table import LivesArrays, RiskTable
    >>> curves = [product_limit(RiskTable.from_lives(LivesArrays([0] * 6, exits, cause), unit="km"))
    ...           for exits, cause in (([40, 60, 70, 90, 90, 90], [1, 0, 1, 1, 0, 0]),
    ...                                ([10, 20, 50, 50, 80, 90], [1, 1, 0, 1, 1, 0]))]
    >>> compared = restricted_means_compared(*curves, until=80)
    >>> round(compared.difference.value, 2), round(compared.difference.p_value, 3)
    (17.92, 0.18)
    >>> round(compared.ratio.value, 3), round(compared.ratio.lower, 3)
    (1.336, 0.836)
    """
    if (first.unit, first.start) != (second.unit, second.start):
        raise ValueError(
            "means are compared on one clock and from one start; got curves from "
            f"{spoken(first.start, first.unit)} and from {spoken(second.start, second.unit)}"
        )
    means = first.restricted_mean(until), second.restricted_mean(until)
    status, reason = _status_of(means, (first, second))
    difference, ratio = _contrasts(means, level)
    return MeansCompared(
        until=until,
        first=means[0],
        second=means[1],
        difference=difference,
        ratio=ratio,
        n=first.n + second.n,
        failed=first.failed + second.failed,
        status=status,
        reason=reason,
    )


def _last_figure(curve: SurvivalCurve) -> float | None:
    if curve.watched_to is None:
        return None
    if curve.reliable_to is not None:
        last: float = curve.reliable_to - 1
    elif len(curve.survival) and curve.survival[-1] <= 0:
        last = np.inf
    else:
        last = curve.watched_to
    return last if last > curve.start else None


def _status_of(
    means: tuple[MeanEstimate, MeanEstimate], curves: tuple[SurvivalCurve, SurvivalCurve]
) -> tuple[Status, str]:
    """The weightiest remark on either mean: no figure, no error, then a thin tail."""
    remarks: list[Remark] = []
    for name, mean, curve in zip(("first", "second"), means, curves, strict=True):
        group = f"in the {name} group"
        if mean.value is None:
            remarks.append(Remark(0, mean.status, f"{group} {mean.reason}"))
        elif not np.any(curve.clock < mean.until):
            within = f"of {spoken(curve.n)} lives failed within {spoken(mean.until, curve.unit)}"
            remarks.append(Remark(1, Status.NO_FAILURES, f"{group} none {within}"))
        elif mean.standard_error == 0:
            reason = f"{group} all failed at one clock value"
            remarks.append(Remark(1, Status.ONE_DISTANCE, reason))
        elif mean.status is not Status.OK:
            remarks.append(Remark(2, mean.status, f"{group} {mean.reason}"))
    return weightiest(remarks)


def _contrasts(
    means: tuple[MeanEstimate, MeanEstimate], level: float
) -> tuple[Contrast | None, Contrast | None]:
    reach = normal_deviate(level)
    (one, one_error), (two, two_error) = ((each.value, each.standard_error) for each in means)
    if one is None or two is None or one_error is None or two_error is None:
        return None, None
    known = one_error > 0 and two_error > 0
    error = float(np.hypot(one_error, two_error)) if known else None
    difference = contrast_of(one - two, error, reach)
    if one <= 0 or two <= 0:
        return difference, None
    log_ratio = float(np.log(one / two))
    error = float(np.hypot(one_error / one, two_error / two)) if known else None
    ratio = replace(contrast_of(log_ratio, error, reach), value=one / two)
    if ratio.lower is not None and ratio.upper is not None:
        ratio = replace(ratio, lower=float(np.exp(ratio.lower)), upper=float(np.exp(ratio.upper)))
    return difference, ratio
