"""The Nelson-Aalen estimate: how much hazard of failing has added up by a given distance."""

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from scipy.special import digamma, polygamma

from garage.lifetimes.arrays import FloatArray, IntArray
from garage.lifetimes.confidence import LEVEL, none_failed_lower, normal_deviate
from garage.lifetimes.counting import over_causes
from garage.lifetimes.curves.steps import CurveSteps
from garage.lifetimes.risk_table import RiskTable
from garage.lifetimes.status import Status
from garage.lifetimes.wording import spoken

TiesKind = Literal["nelson-aalen", "fleming-harrington"]
HazardLimitsKind = Literal["log", "plain"]


@dataclass(frozen=True, slots=True)
class HazardAt:
    """Cumulative hazard at one clock value; `value` is None where `reason` says so."""

    clock: float
    value: float | None
    lower: float | None
    upper: float | None
    at_risk: float
    n: int
    failed: int
    status: Status
    reason: str


@dataclass(frozen=True, slots=True, eq=False)
class HazardCurve:
    """Cumulative hazard at the clock values where failures happened; made by `nelson_aalen`.

    Attributes
    ----------
    clock, at_risk, hazard, variance, lower, upper : arrays, shape (f,)
        The curve just after each failure; failures expected per life, no unit.
    """

    unit: str
    n: int
    failed: int
    status: Status
    reason: str
    level: float
    given_survival_to: int | None
    watched_to: int | None
    clock: IntArray
    at_risk: FloatArray
    hazard: FloatArray
    variance: FloatArray
    lower: FloatArray
    upper: FloatArray
    _table: RiskTable = field(repr=False)

    def at(self, clock: float) -> HazardAt:
        """Hazard added up by `clock`, with its limits and the number still at risk there."""
        at_risk = float(self._table.at_risk_at(clock))
        start = self.given_survival_to or 0
        figures: tuple[float | None, float | None, float | None] = (None, None, None)
        status, reason = Status.OK, ""
        if self.watched_to is None:
            status, reason = Status.NO_LIVES, self.reason
        elif not start <= clock <= self.watched_to:
            status = Status.BEYOND_WATCH
            reason = (
                f"the curve runs from {spoken(start, self.unit)} to "
                f"{spoken(self.watched_to, self.unit)}"
            )
        else:
            step = int(np.searchsorted(self.clock, clock, side="right")) - 1
            if step < 0:
                lowest = none_failed_lower(at_risk, self.level)
                upper = None if lowest is None else -float(np.log(lowest))
                figures = (0.0, 0.0, upper)
            else:
                figures = tuple(float(each[step]) for each in (self.hazard, self.lower, self.upper))  # type: ignore[assignment]
        return HazardAt(clock, *figures, at_risk, self.n, self.failed, status, reason)


def nelson_aalen(
    table: RiskTable,
    *,
    level: float = LEVEL,
    limits: HazardLimitsKind = "log",
    ties: TiesKind = "nelson-aalen",
    given_survival_to: int | None = None,
) -> HazardCurve:
    """Add up the hazard of failing over the clock.

    Parameters
    ----------
    table : RiskTable
        All causes count as failures; choose one with ``table.cause_alone``.
    level : float
        Of the two-sided limits.
    limits : {"log", "plain"}
        Scale on which the limits are symmetric.
    ties : {"nelson-aalen", "fleming-harrington"}
        d failures on one clock value among n count d / n, or as if they had come one after
        another: 1/n + 1/(n-1) + ...
    given_survival_to : int, optional
        Add up from this clock value on.

    Returns
    -------
    HazardCurve

    Notes
    -----
    Unlike the product limit a small early risk set does not ruin what follows: it shifts the
    curve by one wide step. The variance is Aalen's, sum of d / n**2; with a capture share q
    it is that of failures seen with chance q, sum of d / (q n)**2, taking q as known.
    Source: Aalen, Annals of Statistics 6, 1978, 701-726; Fleming and Harrington,
    Communications in Statistics 13, 1984, 2469-2486 (both from memory; values checked).

    Examples
    --------
    >>> from garage.lifetimes.risk_table import LivesArrays
    >>> lives = LivesArrays(entry=[0] * 6, exit=[1, 1, 6, 6, 8, 9], cause=[1, 0, 1, 1, 0, 1])
    >>> nelson_aalen(RiskTable.from_lives(lives, unit="km")).hazard.round(4).tolist()
    [0.1667, 0.6667, 1.6667]
    """
    if limits not in ("log", "plain"):
        raise ValueError(f"limits are log or plain; got {limits!r}")
    steps = CurveSteps.from_table(table, given_survival_to)
    failed, corrected = over_causes(steps.failed), over_causes(steps.corrected)
    rise = corrected / steps.at_risk
    by_cause = steps.inverse_capture
    by_cause *= by_cause
    by_cause *= steps.failed
    spread = over_causes(by_cause) / steps.at_risk**2
    if ties == "fleming-harrington":
        # Sums of 1/k and 1/k**2 over k = n-d+1 .. n, for n that may be fractional.
        above, below = steps.at_risk + 1, steps.at_risk - failed + 1
        inverse_capture = corrected / np.maximum(failed, 1)
        rise = (digamma(above) - digamma(below)) * inverse_capture
        spread = (polygamma(1, below) - polygamma(1, above)) * inverse_capture**2
    elif ties != "nelson-aalen":
        raise ValueError(f"ties are nelson-aalen or fleming-harrington; got {ties!r}")
    hazard, variance = (np.asarray(np.cumsum(each), np.float64) for each in (rise, spread))
    reach = normal_deviate(level) * np.sqrt(variance)
    if limits == "log":
        width = np.divide(reach, hazard, out=reach, where=hazard > 0)
        np.exp(width, out=width)
        lower, upper = hazard / width, hazard * width
    else:
        lower, upper = hazard - reach, hazard + reach
    status, reason = Status.OK, ""
    if steps.n == 0:
        status, reason = Status.NO_LIVES, "no life was watched"
    elif steps.failed_total == 0:
        status = Status.NO_FAILURES
        reason = f"none of {spoken(steps.n)} lives failed while watched"
    return HazardCurve(
        unit=table.unit,
        n=steps.n,
        failed=steps.failed_total,
        status=status,
        reason=reason,
        level=level,
        given_survival_to=given_survival_to,
        watched_to=table.watched_to if steps.n else None,
        clock=steps.clock,
        at_risk=steps.at_risk,
        hazard=hazard,
        variance=variance,
        lower=np.maximum(lower, 0.0, out=lower),
        upper=upper,
        _table=table,
    )
