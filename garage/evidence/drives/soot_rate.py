"""Soot per km between burns, from distance and modelled soot, with its 95 % limits."""

from dataclasses import dataclass
from enum import StrEnum
from math import ceil, sqrt

import numpy as np
import numpy.typing as npt
from scipy.special import stdtrit

from garage.evidence.drives.falls import falls_found
from garage.evidence.drives.limits import DEFAULTS
from garage.evidence.drives.log import Drive
from garage.evidence.thresholds import Thresholds

_Numbers = npt.NDArray[np.float64]
#: Fewest blocks, and how many are aimed at: with five, Student's t is 2.8; more than twelve
#: narrow little, and shorter ones feel the steps of the display. Judgement, no source.
_BLOCKS_LEAST = 5
_BLOCKS_MOST = 12
#: A slope takes at least this many rows in each block. Judgement, no source.
_ROWS_LEAST = 4


class RateStatus(StrEnum):
    """What the sequence tells."""

    TOLD = "told"
    NO_RISE = "no_rise"
    """A rise is not parted from none; the limits hold 0 or less."""
    TOO_SHORT = "too_short"


@dataclass(frozen=True, slots=True)
class SootRate:
    """Soot per km and its 95 % limits; None where too short, which `reason` says.

    Attributes
    ----------
    covered_km : float
        Between burns, without the burns themselves.
    needed_km : float or None
        About what a longer log would have to cover, where it is too short and that can be told.
    burns_inside : int
        Falls at which the sequence was parted.
    blocks : int
    """

    status: RateStatus
    reason: str
    rate_g_per_km: float | None
    low_g_per_km: float | None
    high_g_per_km: float | None
    covered_km: float
    needed_km: float | None
    burns_inside: int
    blocks: int


@dataclass(frozen=True, slots=True)
class _Stretch:
    km: _Numbers
    soot_g: _Numbers

    @property
    def length_km(self) -> float:
        return float(self.km[-1] - self.km[0])


def soot_rate(drive: Drive, limits: Thresholds = DEFAULTS) -> SootRate:
    """Answer how much soot the engine's model adds per km between burns.

    Rows of a modelled sequence follow from those before, so they are not observations of their
    own: each stretch is cut into blocks of equal length, and the least-squares slopes of the
    blocks, at least five, are taken as one mean with Student's t. Blocks never span a burn, and
    are long enough to rise by several steps of the display. It is the model's soot, not weighed.

    Parameters
    ----------
    drive : Drive
        With ``distance_km`` and ``soot_g``.
    limits : Thresholds

    Returns
    -------
    SootRate
        Grams per km.

    Raises
    ------
    ValueError
        For a drive without distance or soot.

    Examples
    --------
    >>> km = tuple(k / 10 for k in range(1001))
    >>> rate = soot_rate(Drive(1001, distance_km=km, soot_g=tuple(2 + 0.04 * k for k in km)))
    >>> rate.status.value, round(rate.rate_g_per_km, 3), rate.blocks
    ('told', 0.04, 12)
    """
    km, soot = drive.together("distance_km", "soot_g")
    stretches, burns = _stretches(km, soot, limits["soot_fall_least_g"])
    covered = sum(each.length_km for each in stretches)
    if covered <= 0:
        return _short("no distance between two readings of soot", covered, None, burns)
    rough = sum(float(each.soot_g[-1] - each.soot_g[0]) for each in stretches) / covered
    least_km = limits["soot_block_least_km"]
    step = _step_g(soot)
    if rough > 0 and step is not None:
        # Where nothing rises no block would be long enough; the shortest tells as much.
        least_km = max(least_km, limits["soot_block_steps"] * step / rough)
    cut = _cut(stretches, least_km)
    if len(cut) < _BLOCKS_LEAST:
        needed = float(ceil(_BLOCKS_LEAST * least_km))
        words = (
            f"{covered:.0f} km between burns; it takes about {needed:.0f} km in one stretch, with "
            f"at least {_ROWS_LEAST * _BLOCKS_LEAST} rows"
        )
        return _short(words, covered, needed, burns)
    return _from_slopes(np.array([_slope(each) for each in cut]), covered, burns)


def _short(reason: str, covered_km: float, needed_km: float | None, burns: int) -> SootRate:
    return SootRate(RateStatus.TOO_SHORT, reason, None, None, None, covered_km, needed_km, burns, 0)


def _from_slopes(slopes: _Numbers, covered_km: float, burns: int) -> SootRate:
    count = len(slopes)
    rate = float(slopes.mean())
    half = float(stdtrit(count - 1, 0.975)) * float(slopes.std(ddof=1)) / sqrt(count)
    low, high = rate - half, rate + half
    said = f"{rate:.3f} g/km, 95 % limits {low:.3f} to {high:.3f}, over {covered_km:.0f} km"
    status = RateStatus.TOLD
    if low <= 0:
        status = RateStatus.NO_RISE
        said += ": a rise is not parted from none"
    return SootRate(status, said, rate, low, high, covered_km, None, burns, count)


def _stretches(km: _Numbers, soot: _Numbers, least_g: float) -> tuple[list[_Stretch], int]:
    falls = falls_found(soot.tolist(), least_g)
    edges = [0, *(row for fall in falls for row in (fall.start, fall.end)), len(soot) - 1]
    pairs = zip(edges[::2], edges[1::2], strict=True)
    found = [_Stretch(km[a : b + 1], soot[a : b + 1]) for a, b in pairs if b > a]
    return [each for each in found if each.length_km > 0], len(falls)


def _step_g(soot: _Numbers) -> float | None:
    """The display's step: the least change between rows that is not a trace of binary rounding."""
    changes = np.abs(np.diff(soot))
    changes = changes[changes > 1e-9]
    return float(changes.min()) if len(changes) else None


def _cut(stretches: list[_Stretch], least_km: float) -> list[_Stretch]:
    """Blocks of about a twelfth of the distance, or of the shortest allowed where burns lie
    too close for that."""
    covered = sum(each.length_km for each in stretches)
    for length in (max(least_km, covered / _BLOCKS_MOST), least_km):
        blocks = [block for each in stretches for block in _blocks(each, length)]
        if len(blocks) >= _BLOCKS_LEAST:
            break
    return blocks


def _blocks(stretch: _Stretch, length_km: float) -> list[_Stretch]:
    # A sum of binary fractions may fall short of a whole number of blocks by a trace.
    count = int(stretch.length_km / length_km + 1e-9)
    if count < 1:
        return []
    km, each_km = stretch.km, stretch.length_km / count
    # Only where rows are: one odometer far off makes millions of blocks without any.
    places = np.unique(((km - km[0]) / each_km).astype(np.int64))
    firsts = np.searchsorted(km, km[0] + each_km * places, side="left")
    ends = np.searchsorted(km, km[0] + each_km * (places + 1), side="right")
    return [
        _Stretch(km[first:end], stretch.soot_g[first:end])
        for first, end in zip(firsts.tolist(), ends.tolist(), strict=True)
        if len(np.unique(km[first:end])) >= _ROWS_LEAST
    ]


def _slope(block: _Stretch) -> float:
    away = block.km - block.km.mean()
    # From the first row on: a soot that stays has a slope of exactly 0.
    return float((away * (block.soot_g - block.soot_g[0])).sum() / (away**2).sum())
