"""The stay-away share: of those repaired elsewhere, the part that never comes back to be seen."""

from dataclasses import dataclass

import numpy as np
from scipy.special import betaincinv, gammaincinv, xlogy

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.capture.answers import Returned, SilentAnswers
from garage.lifetimes.capture.share import PART_PRIOR, CaptureShare
from garage.lifetimes.confidence import LEVEL, check_level
from garage.lifetimes.status import Status


@dataclass(frozen=True, slots=True)
class StayAwayPrior:
    """What is held of a stay-away share before anybody is asked: a Beta law.

    Parameters
    ----------
    mean : float
        In (0, 1).
    weight : float
        Above 0: number of repairs elsewhere that the expectation is worth.
    """

    mean: float
    weight: float

    def __post_init__(self) -> None:
        if not 0 < self.mean < 1:
            raise ValueError(f"a prior mean lies between 0 and 1; got {self.mean}")
        if not self.weight > 0:
            raise ValueError(f"a prior weight is above 0 repairs; got {self.weight}")


STAY_AWAY_PRIOR = StayAwayPrior(mean=PART_PRIOR.stay_away, weight=1 / PART_PRIOR.stay_away)
"""Mean: judgement, no source. Weight: a belief without a source must yield to the first few
answers (decision 0009), and this is the lightest whose law has no peak at 0; a lighter one would
hold it likeliest that nobody stays away, whatever its mean."""


@dataclass(frozen=True, slots=True)
class StayAwayShare:
    """A stay-away share with its limits.

    `n` is of repairs elsewhere that are known of, the prior's not counted. Under a status other
    than ok the figures are what was held beforehand.
    """

    value: float
    lower: float
    upper: float
    n: int
    level: float
    status: Status
    reason: str

    @property
    def is_measured(self) -> bool:
        return self.status is Status.OK


def stay_away_share(
    silent: SilentAnswers,
    returned: Returned,
    looks: CaptureShare,
    *,
    prior: StayAwayPrior = STAY_AWAY_PRIOR,
    level: float = LEVEL,
) -> StayAwayShare:
    """Estimate which share of those repaired elsewhere never comes back.

    Parameters
    ----------
    silent : SilentAnswers
    returned : Returned
        Of the same repairs: those after a last job as long ago as the silence asked about.
    looks : CaptureShare
        Of the same organisation: what looks found of where failures were repaired.
    prior : StayAwayPrior
    level : float
        Of the two-sided limits.

    Returns
    -------
    StayAwayShare
        The mean of the law of g, and limits with equal tails; the lower one is 0 where 0 is
        among the likeliest shares.

    Notes
    -----
    Let M customers' repairs be made elsewhere: g M stay away for that; of the others w M (1 - g)
    have not been back yet and (1 - w) M (1 - g) have. Besides, L customers have left for other
    reasons, and of the parts of those the share m has failed since, elsewhere for want of a
    customer: they too say "repaired elsewhere, and I will not come again". With s asked and c
    looked at, counts are of Poisson laws with the means

    - s (g M + m L) and s (1 - m) L: gone, repaired elsewhere and not;
    - s w M (1 - g): repaired elsewhere and coming again;
    - c (1 - w) M (1 - g): found out at a look.

    m = 1 - exp(-H / q), each keeper's own, with H what would have come here and q the capture
    share that the looks and g give. Beta laws for g and for the share that came here of those
    looked at, a gamma one for the error of the hazard, a uniform one for w, Jeffreys' for the
    rates M and L; all but g are integrated out, on a grid. Source: our own.

    Examples
    --------
    >>> from garage.lifetimes.capture.share import capture_share
    >>> silent = SilentAnswers([0.1] * 8, [0.1] * 20, 3, asked_share=0.25, failures=60)
    >>> share = stay_away_share(silent, Returned(14, looked_share=0.5), capture_share(40, 14))
    >>> round(share.value, 2), round(share.lower, 2), round(share.upper, 2), share.n
    (0.28, 0.05, 0.52, 25)
    """
    check_level(level)
    known = silent.gone_elsewhere.size + silent.returning_elsewhere + returned.found
    if silent.asked_share == 0:
        return _held(prior, level, Status.NO_LIVES, "no silent keeper has told")
    if returned.looked_share == 0:
        reason = "nobody who came back was looked at, so that repairs elsewhere of those who come "
        return _held(prior, level, Status.CANNOT_TELL_APART, reason + "back are not known")
    if known == 0:
        return _held(prior, level, Status.NO_FAILURES, "no repair elsewhere is known of")
    mass, edges = _law(silent, returned, looks, prior), _edges()
    value = float(mass @ (edges[:-1] + edges[1:])) / 2
    lower, upper = _limits(mass, edges, level)
    return StayAwayShare(value, lower, upper, known, level, Status.OK, "")


def _held(prior: StayAwayPrior, level: float, status: Status, reason: str) -> StayAwayShare:
    tail = (1 - level) / 2
    alpha = prior.weight * prior.mean
    lower, upper = betaincinv(alpha, prior.weight - alpha, [tail, 1 - tail])
    return StayAwayShare(prior.mean, float(lower), float(upper), 0, level, status, reason)


_SHARES, _RATIOS, _WAITING, _PAIRS = 300, 60, 30, 16
"""Points of the grid: of g, of L / M, of w, and of p with the hazard's error. Doubled, figures
move in the third digit."""
_STEP = 7
"""Errors are paired with shares in steps: each sixteenth of one meets all of the other's range."""


def _law(
    silent: SilentAnswers, returned: Returned, looks: CaptureShare, prior: StayAwayPrior
) -> FloatArray:
    """The mass of g between the edges of the grid.

    By angles, the grid is fine where densities are steep, at the ends.
    """
    share = np.sin((np.arange(_SHARES) + 0.5) * (np.pi / 2 / _SHARES)) ** 2
    log_law = _log_likelihood(silent, returned, looks, share)
    log_law += xlogy(prior.weight * prior.mean - 0.5, share)
    log_law += xlogy(prior.weight * (1 - prior.mean) - 0.5, 1 - share)
    mass = np.exp(log_law - log_law.max())
    return np.asarray(mass / mass.sum(), np.float64)


def _limits(mass: FloatArray, edges: FloatArray, level: float) -> tuple[float, float]:
    """Equal tails; from 0 where 0 is among the likeliest shares: else it were never held."""
    tail = (1 - level) / 2
    below = np.concatenate([[0.0], np.cumsum(mass)])
    lower, upper = np.interp([tail, 1 - tail], below, edges)
    density = mass / np.diff(edges)
    likelier = float(mass[density > density[0]].sum())
    return (0.0 if likelier < level else float(lower)), float(upper)


def _edges() -> FloatArray:
    return np.asarray(np.sin(np.arange(_SHARES + 1) * (np.pi / 2 / _SHARES)) ** 2, np.float64)


def _log_likelihood(
    silent: SilentAnswers, returned: Returned, looks: CaptureShare, share: FloatArray
) -> FloatArray:
    """Of each g, but for a constant; M, L / M, w and p integrated out."""
    turn = (np.arange(_RATIOS) + 0.5) * (np.pi / 2 / _RATIOS)
    left = np.tan(turn) ** 2  # L / M
    # Jeffreys' law of L / M, by the angle.
    of_counts = _log_counts(silent, returned, share, left) - 2 * np.log(np.cos(turn))
    each = [
        of_counts + _log_meanwhile(silent.times(error), share, left, came_here)
        for came_here, error in _not_known(silent, looks)
    ]
    highest = max(float(part.max()) for part in each)
    summed = sum(np.exp(part - highest).sum(axis=1) for part in each)
    return np.asarray(np.log(np.maximum(summed, np.finfo(np.float64).tiny)), np.float64)


def _not_known(silent: SilentAnswers, looks: CaptureShare) -> list[tuple[float, float]]:
    """Shares that came here, and errors of the hazard, each pair as likely as the others."""
    place = np.arange(_PAIRS)
    middles = (place + 0.5) / _PAIRS
    came_here = np.ones(_PAIRS)
    if looks.beta > 0:
        came_here = betaincinv(looks.alpha, looks.beta, middles)
    error = gammaincinv(silent.failures, middles[place * _STEP % _PAIRS]) / silent.failures
    return list(zip(came_here.tolist(), error.tolist(), strict=True))


def _log_counts(
    silent: SilentAnswers, returned: Returned, share: FloatArray, left: FloatArray
) -> FloatArray:
    """Of g and L / M: who comes back, who does not and who left for another reason."""
    waiting = (np.arange(_WAITING) + 0.5) / _WAITING
    g, ratio, w = share[:, None, None], left[:, None], waiting
    asked, looked = silent.asked_share, returned.looked_share
    coming, found = silent.returning_elsewhere, returned.found
    seen = (1 - g) * (looked * (1 - w) + asked * w) + asked * (g + ratio)
    counts = silent.gone_elsewhere.size + silent.gone_without.size + coming + found
    log_chance = (
        xlogy(found, (1 - g) * (1 - w))
        + xlogy(coming, (1 - g) * w)
        + xlogy(silent.gone_without.size, ratio)
        - (counts + 1) * np.log(seen)
    )
    highest = log_chance.max(axis=2)
    chance = np.exp(log_chance - highest[:, :, None]).sum(axis=2)
    return np.asarray(highest + np.log(chance), np.float64)


def _log_meanwhile(
    silent: SilentAnswers, share: FloatArray, left: FloatArray, came_here: float
) -> FloatArray:
    """Of g and L / M: whose part failed, given how long each has been away."""
    # Of each failure that comes here 1 / q are made.
    of_all = (1 - share * came_here) / (came_here * (1 - share))
    log_chance = np.zeros((share.size, left.size))
    for hazard in silent.gone_elsewhere:
        failed_since = -np.expm1(-hazard * of_all)
        log_chance += np.log(share[:, None] + failed_since[:, None] * left)
    return np.asarray(log_chance - silent.gone_without.sum() * of_all[:, None], np.float64)
