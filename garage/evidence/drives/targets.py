"""Masses of soot that a distance is asked to: where a burn begins, and the most for one."""

from dataclasses import dataclass

from garage.evidence.drives.limits import DEFAULTS
from garage.evidence.findings.gate_burn import soot_limit_g
from garage.evidence.findings.situation import Situation
from garage.evidence.resistance.gas import number_checked
from garage.evidence.thresholds import Thresholds

#: Most litres, or grams, that are taken: far beyond any filter's, so that no product of them
#: leaves the range of numbers. Judgement, no source.
SIZE_MOST = 10_000.0


@dataclass(frozen=True, slots=True)
class Target:
    """A mass of soot, as a range where it is not known better, and where it is from."""

    least_g: float
    most_g: float
    words: str


@dataclass(frozen=True, slots=True)
class Targets:
    """Where a burn begins, and the most soot for one; `limit` is None where `limit_reason` says
    why it is not known."""

    trigger: Target
    limit: Target | None
    limit_reason: str = ""


@dataclass(frozen=True, slots=True)
class FilterSaid:
    """What is said of a filter and of its vehicle; None is "not known".

    Attributes
    ----------
    litres : float or None
    silicon_carbide : bool or None
    limit_g, trigger_g : float or None
        The vehicle's own published figures.
    """

    litres: float | None = None
    silicon_carbide: bool | None = None
    limit_g: float | None = None
    trigger_g: float | None = None


def targets_of(said: FilterSaid, limits: Thresholds = DEFAULTS) -> Targets:
    """Answer at which soot a burn begins, and beyond which none is allowed.

    The vehicle's own figures beat all; else grams per litre, and for the beginning, without
    litres, what is usual on a car, and never above the limit. Without litres or the vehicle's own
    limit there is no limit to tell: a default that is too high would be a burn too many.

    Parameters
    ----------
    said : FilterSaid
    limits : Thresholds

    Returns
    -------
    Targets
        Grams.

    Raises
    ------
    ValueError
        For a figure that is not above 0 or above 10 000, or an own trigger above the own limit.

    Examples
    --------
    >>> found = targets_of(FilterSaid(litres=3.0))
    >>> found.limit.most_g, (found.trigger.least_g, found.trigger.most_g)
    (15.0, (12.0, 15.0))
    >>> targets_of(FilterSaid()).limit is None
    True
    """
    for name in ("litres", "limit_g", "trigger_g"):
        value = getattr(said, name)
        if value is not None:
            number_checked(name, value, above=0.0)
            if value > SIZE_MOST:
                raise ValueError(
                    f"`{name}` is at most {SIZE_MOST:g}; got {value:g}. Check value and unit."
                )
    known = Situation(
        litres=said.litres,
        own_limit_g=said.limit_g,
        silicon_carbide=said.silicon_carbide,
    )
    limit_g, words = soot_limit_g(known, limits)
    trigger = _trigger(said, limits)
    if limit_g is None:
        return Targets(trigger, None, words)
    if said.trigger_g is None:
        trigger = _not_above(trigger, limit_g)
    elif said.limit_g is not None and said.trigger_g > said.limit_g:
        raise ValueError(
            f"`trigger_g` is no more than the limit of {limit_g:g} g; got {said.trigger_g:g}. "
            "Exchange them if they were swapped"
        )
    return Targets(trigger, Target(limit_g, limit_g, words))


def _trigger(said: FilterSaid, limits: Thresholds) -> Target:
    own = said.trigger_g
    if own is not None:
        return Target(own, own, f"the vehicle's own, {own:g} g")
    if said.litres is None:
        least, most = limits.told("burn_trigger_least_g"), limits.told("burn_trigger_most_g")
        words = (
            f"usual on a car ({most.basis.words}), {least.value:g} to {most.value:g} g; the "
            "filter's litres are not known"
        )
        return Target(least.value, most.value, words)
    least, most = (limits.told(f"burn_trigger_{end}_g_per_l") for end in ("least", "most"))
    low, high = least.value * said.litres, most.value * said.litres
    words = (
        f"{least.value:g} to {most.value:g} g/L ({most.basis.words}) in {said.litres:g} L: "
        f"{low:g} to {high:g} g"
    )
    return Target(low, high, words)


def _not_above(trigger: Target, limit_g: float) -> Target:
    if trigger.most_g <= limit_g:
        return trigger
    words = f"{trigger.words}, and no more than the limit of {limit_g:g} g"
    return Target(min(trigger.least_g, limit_g), limit_g, words)
