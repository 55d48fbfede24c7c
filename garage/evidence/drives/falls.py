"""Where modelled soot falls: the rows of each fall from its height to its floor."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Fall:
    """First and last row of a fall: the last at the height, the first at the floor."""

    start: int
    end: int
    drop_g: float


def falls_found(soot_g: Sequence[float], least_g: float) -> tuple[Fall, ...]:
    """Answer where soot falls by `least_g` or more below what it stood at before.

    A fall ends at its lowest row before soot rises by `least_g` again, or at the lowest row left.
    Raises ValueError for a `least_g` that is not above 0.

    Examples
    --------
    >>> falls_found([10.0, 18.0, 18.0, 9.0, 2.0, 2.0, 4.0], 3.0)
    (Fall(start=2, end=4, drop_g=16.0),)
    """
    if not least_g > 0:
        raise ValueError(f"`least_g` is above 0; got {least_g}. Take the step of the display")
    found: list[Fall] = []
    high = low = 0
    for row, soot in enumerate(soot_g):
        fallen = soot_g[high] - soot_g[low] >= least_g
        if fallen and soot - soot_g[low] >= least_g:
            found.append(Fall(high, low, soot_g[high] - soot_g[low]))
            high = low = row
        elif soot >= soot_g[high] and not fallen:
            high = low = row
        elif soot < soot_g[low]:
            low = row
    if soot_g and soot_g[high] - soot_g[low] >= least_g:
        found.append(Fall(high, low, soot_g[high] - soot_g[low]))
    return tuple(found)
