"""The capture share: of all failures, the part that is repaired where the records are kept."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import betaincinv

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.confidence import LEVEL, check_level
from garage.lifetimes.status import Status


@dataclass(frozen=True, slots=True)
class CapturePrior:
    """What is held of a capture share before looking, and of those who never come back.

    Parameters
    ----------
    stay_away : float
        In [0, 1): of the vehicles whose failure was repaired elsewhere, the share that is
        never seen here again and so leaves no trace.
    mean : float
        In [0, 1]: expected capture share.
    weight : float
        0 or more: number of failures, looked at again, that the expectation is worth.
    """

    stay_away: float
    mean: float
    weight: float

    def __post_init__(self) -> None:
        if not 0 <= self.stay_away < 1:
            raise ValueError(
                f"a stay-away share lies from 0 to below 1; got {self.stay_away}. With 1 nobody "
                "would return to be seen."
            )
        if not 0 <= self.mean <= 1:
            raise ValueError(f"a prior mean lies in [0, 1]; got {self.mean}")
        if self.weight < 0:
            raise ValueError(f"a prior weight is 0 or more failures; got {self.weight}")

    @property
    def here(self) -> float:
        """Of the failures that the prior is worth, those that came here."""
        return self.weight * float(looked_at_share(self.mean, self.stay_away))

    @property
    def elsewhere(self) -> float:
        """Of the failures that the prior is worth, those found out to have been elsewhere."""
        return self.weight - self.here


YIELDING_WEIGHT = 2.0
"""Failures that a belief about the capture share is worth. Judgement on measurement: of the
weights 10, 6, 4, 3 and 2, and of mixtures, the one with which limits hold the truth as often as
they should for shares from 0.5 to 1 (decision 0009)."""

PART_PRIOR = CapturePrior(stay_away=0.3, mean=0.8, weight=YIELDING_WEIGHT)
"""Failures of parts. Mean and stay_away are judgement, no source. A call list, a random sample
of silent keepers, measures stay_away."""

COMEBACK_PRIOR = CapturePrior(stay_away=0.3, mean=0.75, weight=YIELDING_WEIGHT)
"""Comebacks: lower, for an unhappy customer goes elsewhere. Judgement, no source."""


@dataclass(frozen=True, slots=True)
class CaptureShare:
    """A capture share with its limits, and the law it stands for.

    The share that came here *of the failures looked at again* has the Beta law (`alpha`,
    `beta`); `captured_share` makes the capture share of it, with `stay_away`.
    `value` is None, with a reason, where failures were only ever found repaired elsewhere and
    nothing was held beforehand: hazards cannot be divided by 0. `beta` 0 means known to be 1.
    """

    value: float | None
    lower: float | None
    upper: float | None
    here: float
    elsewhere: float
    alpha: float
    beta: float
    stay_away: float
    level: float
    status: Status
    reason: str

    @property
    def n(self) -> float:
        """Failures that the share rests on, prior not counted."""
        return self.here + self.elsewhere


def capture_share(
    here: float,
    elsewhere: float,
    *,
    prior: CapturePrior = PART_PRIOR,
    level: float = LEVEL,
) -> CaptureShare:
    """Estimate which share of failures comes here, from what later looks found.

    Parameters
    ----------
    here : float
        Failures repaired here, among vehicles looked at again later; 0 or more.
    elsewhere : float
        Failures found at a later look to have been repaired elsewhere; 0 or more.
    prior : CapturePrior
    level : float
        Of the two-sided limits.

    Returns
    -------
    CaptureShare

    Notes
    -----
    Of those repaired elsewhere only the part 1 - g is ever seen again, so that of the failures
    looked at again the share p = q / (1 - g (1 - q)) came here. They are counts of a binomial
    law in p. The prior is worth `weight` such counts, divided as its mean q says; with them, h
    and e, p has a Beta law, exactly, and q = h / (h + e / (1 - g)). Limits are those of that law
    taken over to q. They take g as known. Where all came here, the value stays a little below 1.

    Examples
    --------
    >>> share = capture_share(40, 7)
    >>> round(share.value, 3), round(share.lower, 3), round(share.upper, 3)
    (0.8, 0.666, 0.91)
    """
    for name, count in (("here", here), ("elsewhere", elsewhere)):
        if not count >= 0:
            raise ValueError(f"`{name}` counts failures and is never below 0; got {count}")
    check_level(level)
    away = prior.stay_away
    alpha, beta = here + prior.here, elsewhere + prior.elsewhere
    value = lower = upper = None
    status, reason = Status.OK, ""
    if alpha > 0:
        value = float(captured_share(alpha / (alpha + beta), away))
        lower, upper = _limits(alpha, beta, away, level)
    else:
        status = Status.NO_FAILURES
        reason = "no failure was repaired here" if elsewhere else "no failure was looked at again"
    return CaptureShare(
        value, lower, upper, here, elsewhere, alpha, beta, away, level, status, reason
    )


def _limits(alpha: float, beta: float, stay_away: float, level: float) -> tuple[float, float]:
    if beta <= 0:
        return 1.0, 1.0
    tail = (1 - level) / 2
    lower, upper = captured_share(betaincinv(alpha, beta, [tail, 1 - tail]), stay_away)
    return float(lower), float(upper)


def captured_share(looked_at: ArrayLike, stay_away: ArrayLike) -> FloatArray:
    """The share of all failures that comes here, from that of those looked at again.

    Of the failures repaired elsewhere `stay_away`, in [0, 1), are never looked at again.

    Examples
    --------
    >>> round(float(captured_share(40 / 47, 0.3)), 3)
    0.8
    """
    share, away = np.asarray(looked_at, np.float64), np.asarray(stay_away, np.float64)
    return np.asarray(share * (1 - away) / (1 - away * share), np.float64)


def looked_at_share(captured: ArrayLike, stay_away: ArrayLike) -> FloatArray:
    """The share that came here of the failures looked at again: `captured_share` turned round.

    Examples
    --------
    >>> round(float(looked_at_share(0.8, 0.3)), 3)
    0.851
    """
    share, away = np.asarray(captured, np.float64), np.asarray(stay_away, np.float64)
    return np.asarray(share / (1 - away * (1 - share)), np.float64)


def all_captured(*, level: float = LEVEL) -> CaptureShare:
    """The share of an organisation that sees all repairs of its vehicles: 1, known.

    Examples
    --------
    >>> all_captured().value
    1.0
    """
    return CaptureShare(1.0, 1.0, 1.0, 0, 0, 1.0, 0.0, 0.0, level, Status.OK, "")
