"""What looks that nobody took would have been worth: how much narrower the limits would be."""

from dataclasses import dataclass

from garage.lifetimes.capture.share import CapturePrior, CaptureShare, capture_share

#: Of parts of which so many are found to survive, the doubt is told. Judgement: about where a
#: workshop decides; it is told of a share, so that no curve is needed.
SURVIVING = 0.8


@dataclass(frozen=True, slots=True)
class LooksWorth:
    """A capture share as it is, and as it would be had every failure been looked at.

    `survival` and `survival_with_all` are the limits of a share of survivors of `SURVIVING` that
    doubt about the capture share alone leaves; None where a share has none.
    """

    now: CaptureShare
    with_all: CaptureShare
    survival: tuple[float, float] | None
    survival_with_all: tuple[float, float] | None


def looks_worth(now: CaptureShare, missed: int, *, prior: CapturePrior) -> LooksWorth:
    """How the limits would narrow, had failures repaired here all been looked at again.

    Parameters
    ----------
    now : CaptureShare
        From the looks that were taken.
    missed : int
        0 or more: failures repaired here whose vehicle came again, and nobody looked.
    prior : CapturePrior
        What `now` was estimated with.

    Returns
    -------
    LooksWorth

    Notes
    -----
    With h repaired here among the looked at, of which m more could have been, as many more would
    have been found repaired elsewhere as the share p of those looked at says: m (1 - p) / p, with
    p = alpha / (alpha + beta) of its Beta law. The share of survivors S comes from failures
    divided by q; with another q' it is S ** (q / q'). Where next to nothing was
    looked at, today's share is what was held beforehand, and the gain is a rough guess. Source:
    our own.

    Examples
    --------
    >>> from garage.lifetimes.capture.share import PART_PRIOR
    >>> worth = looks_worth(capture_share(6, 2), 30, prior=PART_PRIOR)
    >>> [round(each, 2) for each in (worth.now.lower, worth.now.upper)]
    [0.39, 0.94]
    >>> [round(each, 2) for each in (worth.with_all.lower, worth.with_all.upper)]
    [0.56, 0.83]
    """
    if missed < 0:
        raise ValueError(f"`missed` counts failures and is never below 0; got {missed}")
    if now.beta == 0:  # known to be 1: no look could tell more
        return LooksWorth(now, now, _survival(now, now), _survival(now, now))
    found = now.alpha / (now.alpha + now.beta)
    more_elsewhere = missed * (1 - found) / found if found > 0 else 0.0
    with_all = capture_share(
        now.here + missed, now.elsewhere + more_elsewhere, prior=prior, level=now.level
    )
    return LooksWorth(now, with_all, _survival(now, now), _survival(now, with_all))


def _survival(now: CaptureShare, share: CaptureShare) -> tuple[float, float] | None:
    if not now.value or not share.lower or not share.upper:
        return None
    return SURVIVING ** (now.value / share.lower), SURVIVING ** (now.value / share.upper)
