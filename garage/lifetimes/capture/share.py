"""The capture share: of all failures, the part that is repaired where the records are kept."""

from dataclasses import dataclass

from scipy.special import betaincinv

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
        0 or more: number of failures the expectation is worth.
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


PART_PRIOR = CapturePrior(stay_away=0.3, mean=0.8, weight=10)
"""Failures of parts. Judgement, no source; in simulated workshops the share found with it came
within 0.07 of the truth. A call list, a random sample of silent keepers, measures stay_away."""

COMEBACK_PRIOR = CapturePrior(stay_away=0.3, mean=0.75, weight=10)
"""Comebacks: lower, for an unhappy customer goes elsewhere. Judgement, no source."""


@dataclass(frozen=True, slots=True)
class CaptureShare:
    """A capture share with its limits, and the Beta law (`alpha`, `beta`) it stands for.

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
    q = h / (h + e / (1 - g)), for of those repaired elsewhere only the part 1 - g is ever seen
    again; with prior mean m and weight w, q = (h + m w) / (h + e / (1 - g) + w). Limits are
    those of a Beta law with these counts. They take g as known, and count the raised e as if
    it had been seen, which makes them a little too narrow.

    Examples
    --------
    >>> share = capture_share(40, 7)
    >>> round(share.value, 3), share.alpha, share.beta
    (0.8, 48.0, 12.0)
    """
    for name, count in (("here", here), ("elsewhere", elsewhere)):
        if not count >= 0:
            raise ValueError(f"`{name}` counts failures and is never below 0; got {count}")
    check_level(level)
    alpha = here + prior.mean * prior.weight
    beta = elsewhere / (1 - prior.stay_away) + (1 - prior.mean) * prior.weight
    if alpha <= 0:
        none = "no failure was repaired here" if elsewhere else "no failure was looked at again"
        return CaptureShare(
            None, None, None, here, elsewhere, alpha, beta, level, Status.NO_FAILURES, none
        )
    value = alpha / (alpha + beta)
    if beta <= 0:
        lower = upper = 1.0
    else:
        tail = (1 - level) / 2
        lower = float(betaincinv(alpha, beta, tail))
        upper = float(betaincinv(alpha, beta, 1 - tail))
    return CaptureShare(value, lower, upper, here, elsewhere, alpha, beta, level, Status.OK, "")


def all_captured(*, level: float = LEVEL) -> CaptureShare:
    """The share of an organisation that sees all repairs of its vehicles: 1, known.

    Examples
    --------
    >>> all_captured().value
    1.0
    """
    return CaptureShare(1.0, 1.0, 1.0, 0, 0, 1.0, 0.0, level, Status.OK, "")
