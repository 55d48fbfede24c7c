"""Which of many units lie outside what chance makes of a common target."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

import numpy as np
import numpy.typing as npt

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.life_rows import refuse_first
from garage.lifetimes.rates.columns import columns_of, no_count
from garage.lifetimes.rates.funnel_limits import (
    FunnelKind,
    FunnelLaw,
    FunnelLimits,
    funnel_limits,
)
from garage.lifetimes.rates.over_dispersion import (
    WINSORISED,
    OverDispersion,
    over_dispersion,
    z_scores,
)
from garage.lifetimes.status import Status

LEVELS = (0.95, 0.998)
"""Two and three standard errors, the custom of funnel plots (Spiegelhalter 2005)."""

Allowance = Literal["none", "multiplicative", "additive"]


class Place(StrEnum):
    """Where a unit lies."""

    ABOVE = "above"
    INSIDE = "inside"
    BELOW = "below"
    NOT_WATCHED = "not_watched"


@dataclass(frozen=True, slots=True)
class FunnelForm:
    """What a funnel is to show.

    Parameters
    ----------
    kind : FunnelKind
    levels : tuple of float
        Of the limits, ascending.
    allowance : {"none", "multiplicative", "additive"}
        How over-dispersion widens the funnel: not at all; by a common factor; or as units whose
        true figures differ about the target, which widens it most for large units.
    winsorised : float
        Share of the units at either end that do not count in full towards over-dispersion.
    """

    kind: FunnelKind
    levels: tuple[float, ...] = LEVELS
    allowance: Allowance = "none"
    winsorised: float = WINSORISED

    def __post_init__(self) -> None:
        if not self.levels or any(
            low >= high for low, high in zip(self.levels[:-1], self.levels[1:], strict=True)
        ):
            raise ValueError(
                f"a funnel has levels that ascend, such as {LEVELS}; got {self.levels}"
            )
        if self.allowance not in ("none", "multiplicative", "additive"):
            raise ValueError(
                f"an allowance is none, multiplicative or additive; got {self.allowance!r}"
            )


@dataclass(frozen=True, slots=True)
class FunnelUnit:
    """One unit: its figure, its z-score by chance alone, and its place at each level."""

    failed: int
    size: float
    value: float | None
    z: float | None
    places: tuple[Place, ...]
    status: Status
    reason: str


@dataclass(frozen=True, slots=True, eq=False)
class Funnel:
    """A funnel about a target; draw its lines with `limits`.

    Attributes
    ----------
    units : tuple of FunnelUnit
        In the order given.
    target : float or None
    target_given : bool
        False where the target is the figure of all units together.
    spread : OverDispersion or None
        What was found, also where the funnel makes no allowance for it.
    n, failed : int
        Units watched, and events in them.
    status, reason
        ``FEW_CLUSTERS`` where an allowance was asked for and could not be told: the funnel is
        that of chance alone.
    """

    units: tuple[FunnelUnit, ...]
    form: FunnelForm
    target: float | None
    target_given: bool
    law: FunnelLaw | None
    spread: OverDispersion | None
    n: int
    failed: int
    status: Status
    reason: str

    def limits(self, size: npt.ArrayLike) -> tuple[FunnelLimits, ...]:
        """Limits at any sizes, one a level, for the lines of the picture."""
        if self.law is None:
            raise ValueError(f"this funnel has no limits: {self.reason}")
        return tuple(funnel_limits(size, self.law, level=each) for each in self.form.levels)


def funnel(
    failed: npt.ArrayLike,
    size: npt.ArrayLike,
    form: FunnelForm,
    *,
    target: float | None = None,
) -> Funnel:
    """Say which units lie above, inside or below what chance makes of one target.

    Parameters
    ----------
    failed : array of int, shape (n,)
        Events of each unit.
    size : array, shape (n,)
        Events expected of it, or exposure, or (for shares) chances; 0 for a unit not watched.
    form : FunnelForm
    target : float, optional
        The figure that units are held against; that of all units together where left out.

    Returns
    -------
    Funnel
        A unit is above where its events have at most half of what the level leaves out as their
        chance, or more do, in a unit like the target; below likewise. That is judged on the
        count itself, so no more than the level leaves out lies outside by chance alone (mostly
        less, for counts are whole). Of many units some always lie outside 95 %.

    Raises
    ------
    ValueError
        Unequal lengths, broken counts or sizes, more cases than chances, a target that is none.

    Notes
    -----
    Spiegelhalter, Statistics in Medicine 24, 2005, pages 1185-1202 (from memory); see
    `funnel_limits` and `over_dispersion` for the formulas.

    Examples
    --------
    >>> found = funnel([2, 30, 11], [40, 100, 0 + 110], FunnelForm(FunnelKind.SHARE), target=0.1)
    >>> [[place.value for place in unit.places] for unit in found.units]
    [['inside', 'inside'], ['above', 'above'], ['inside', 'inside']]
    """
    counts, sizes = _units(failed, size, form.kind)
    watched = sizes > 0
    n, events = int(watched.sum()), int(counts[watched].sum())
    pooled = events / float(sizes.sum()) if n else None
    reached = pooled if target is None else target
    given = target is not None
    unfit = _why_no_target(reached, n, form.kind, given)
    if unfit is not None or reached is None:
        status, reason = unfit or (Status.NO_LIVES, "no unit was watched")
        units = tuple(
            FunnelUnit(int(count), float(each), None, None, (), status, reason)
            for count, each in zip(counts, sizes, strict=True)
        )
        return Funnel(units, form, reached, given, None, None, n, events, status, reason)
    plain = FunnelLaw(form.kind, reached)
    spread = over_dispersion(counts[watched], sizes[watched], plain, winsorised=form.winsorised)
    law = _allowed(plain, spread, form.allowance)
    lines = [funnel_limits(sizes[watched], law, level=each) for each in form.levels]
    z = z_scores(counts[watched], sizes[watched], plain)
    place_of = np.cumsum(watched) - 1
    units = tuple(
        _unit(int(count), float(each), z, lines, int(place) if seen else None)
        for count, each, place, seen in zip(counts, sizes, place_of, watched, strict=True)
    )
    untold = form.allowance != "none" and spread.ratio is None
    status, reason = (spread.status, spread.reason) if untold else (Status.OK, "")
    return Funnel(units, form, reached, given, law, spread, n, events, status, reason)


def _allowed(plain: FunnelLaw, spread: OverDispersion, allowance: Allowance) -> FunnelLaw:
    if spread.ratio is None or spread.between_variance is None or allowance == "none":
        return plain
    if allowance == "multiplicative":
        return FunnelLaw(plain.kind, plain.target, inflation=max(1.0, spread.ratio) ** 0.5)
    most = plain.target * (1 - plain.target) * 0.999 if plain.kind is FunnelKind.SHARE else np.inf
    between = min(spread.between_variance, float(most))
    return FunnelLaw(plain.kind, plain.target, between_variance=between)


def _unit(
    count: int, size: float, z: FloatArray, lines: list[FunnelLimits], place: int | None
) -> FunnelUnit:
    if place is None:
        places = (Place.NOT_WATCHED,) * len(lines)
        return FunnelUnit(count, size, None, None, places, Status.NO_LIVES, "nothing was watched")
    places = tuple(_place(count, int(each.least[place]), int(each.most[place])) for each in lines)
    return FunnelUnit(count, size, count / size, float(z[place]), places, Status.OK, "")


def _place(count: int, least: int, most: int) -> Place:
    if count > most:
        return Place.ABOVE
    return Place.BELOW if count < least else Place.INSIDE


def _why_no_target(
    target: float | None, n: int, kind: FunnelKind, given: bool
) -> tuple[Status, str] | None:
    """Why a target found from the units themselves is none; a given one is checked as it is."""
    if n == 0:
        return Status.NO_LIVES, "no unit was watched"
    if not given and target == 0.0:
        return Status.NO_FAILURES, "no event was seen in any unit; give a target"
    if not given and kind is FunnelKind.SHARE and target == 1.0:
        return Status.ALL_FAILED, "nothing but cases was seen in any unit; give a target"
    return None


def _units(
    failed: npt.ArrayLike, size: npt.ArrayLike, kind: FunnelKind
) -> tuple[FloatArray, FloatArray]:
    counts, sizes = columns_of(failed=failed, size=size)
    wrong = no_count(counts)
    wrong |= ~(np.isfinite(sizes) & (sizes >= 0)) | ((sizes == 0) & (counts > 0))
    if kind is FunnelKind.SHARE:
        wrong |= (sizes != np.floor(sizes)) | (counts > sizes)
    rule = (
        "a unit counts whole events, 0 or more, of a size of 0 or more; none where nothing was "
        "watched, and for shares no more than its whole number of chances"
    )
    refuse_first(wrong, rule, counts, sizes)
    return counts, sizes
