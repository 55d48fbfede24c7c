"""The three survival curves of a region beside the written truth."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import sqrt

from garage.outcomes.choices import Curve
from garage.outcomes.figures import Figure
from tests.demo.comparisons import GROUPS, part_life_of, survival_by_km, told_survival
from tests.demo.world import Found


@dataclass(frozen=True)
class Compared:
    """One group at one distance: the truth, and the figure of each curve."""

    group: str
    km: int
    true: float
    figures: dict[Curve, Figure]

    def error(self, curve: Curve) -> float | None:
        value = self.figures[curve].value
        return None if value is None else value - self.true

    def holds(self, curve: Curve) -> bool:
        """The truth lies within the curve's limits."""
        figure = self.figures[curve]
        if figure.lower is None or figure.upper is None:
            return False
        return figure.lower <= self.true <= figure.upper


def survival_compared(found: Found) -> list[Compared]:
    """Every group at every tested distance that *expected* reaches."""
    rows = []
    for group in GROUPS:
        life = part_life_of(found, group)
        by_curve = {curve: survival_by_km(life, curve) for curve in Curve}
        rows += [
            Compared(group.name, km, true, {curve: by_curve[curve][km] for curve in Curve})
            for km, true in told_survival(found, group).items()
            if by_curve[Curve.EXPECTED][km].value is not None
        ]
    return rows


def errors_of(compared: Sequence[Compared], curve: Curve) -> list[float]:
    return [error for each in compared if (error := each.error(curve)) is not None]


def reached_by_all(compared: Sequence[Compared]) -> list[Compared]:
    """The places at which the curves can be held against one another."""
    return [each for each in compared if all(each.error(curve) is not None for curve in Curve)]


def spread(errors: Sequence[float]) -> float:
    """Root of the mean square."""
    return sqrt(sum(error**2 for error in errors) / len(errors))


def nearest(compared: Sequence[Compared], curve: Curve) -> int:
    """At how many places this curve comes nearest to the truth."""

    def distance(each: Compared, of: Curve) -> float:
        error = each.error(of)
        return 1.0 if error is None else abs(error)

    return sum(
        distance(each, curve) == min(distance(each, other) for other in Curve) for each in compared
    )


def lines_of(compared: Sequence[Compared]) -> Iterator[str]:
    """By curve, and by group: error on average, its spread, limits that hold, nearest places.

    Errors are those at places that all curves reach.
    """
    for name in ("", *dict.fromkeys(each.group for each in compared)):
        chosen = [each for each in compared if not name or each.group == name]
        for curve in Curve:
            errors = errors_of(reached_by_all(chosen), curve)
            if not errors:
                continue
            held = sum(each.holds(curve) for each in chosen)
            yield (
                f"  {name or 'all':30s} {curve:9s} mean error {sum(errors) / len(errors):+.3f}, "
                f"spread {spread(errors):.3f}, limits hold {held} of {len(chosen)}, "
                f"nearest at {nearest(chosen, curve)}"
            )
