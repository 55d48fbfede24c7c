"""Find where a log-likelihood is greatest: in the plane, and along a line of it."""

from dataclasses import dataclass

import numpy as np

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.laws.log_likelihood import Height, LogLikelihood, middles
from garage.lifetimes.laws.weibull_profile import SHAPE_LARGEST, SHAPE_SMALLEST

FURTHEST = 100.0
"""Powers of e by which a scale may lie from the failures before it counts as run away.
Judgement, no source."""

MOST_STEPS = 200
STEP_TOLERANCE = 1e-9
LEAST_CLIMB = 1e-4
"""Share of the climb promised by the slope that a step must make (Armijo's rule)."""
SMALLEST_CUT = 1e-9
SOFTEST = 1e-9
"""Share of the larger bend; a smaller one is raised to it, so that no step runs off a ridge."""

FLATTEST = 1e-9
"""Second derivative by beta for each failure; at a top it is of the size of 1, and below this
the likelihood only levels out."""

START_SHAPES = np.geomspace(0.05, 80.0, 16)
"""Where the plane is first looked at when entries are delayed: it may then have two tops."""

LOOKS = np.array([-6.0, -3.0, 0.0, 3.0, 6.0, 20.0])
"""How far from a first guess of beta a known shape is looked at for another top."""


@dataclass(frozen=True, slots=True, eq=False)
class Top:
    """Where a search ended; `settled` if it is a maximum and not where the data ran away."""

    alpha: float
    beta: float
    height: Height
    settled: bool


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """Points origin + along * direction of the plane, from `low` to `high`."""

    origin: FloatArray
    direction: FloatArray
    low: float
    high: float

    def at(self, along: float) -> tuple[float, float]:
        """(alpha, beta) there."""
        alpha, beta = self.origin + along * self.direction
        return float(alpha), float(beta)


def shape_line(slope: float, offset: float) -> Line:
    """All shapes in range, with beta = offset + slope * alpha."""
    return Line(np.array([0.0, offset]), np.array([1.0, slope]), SHAPE_SMALLEST, SHAPE_LARGEST)


def place_line(alpha: float, furthest: float = FURTHEST) -> Line:
    """One shape, with all places that lie in reach of the failures."""
    reach = furthest * max(alpha, 1.0)
    return Line(np.array([alpha, 0.0]), np.array([0.0, 1.0]), -reach, reach)


def best_on_line(
    likelihood: LogLikelihood, line: Line, start: float, tolerance: float = STEP_TOLERANCE
) -> tuple[float, Height]:
    """The top of the likelihood on a line nearest to a start, or the end it rises to.

    Newton's steps while they stay in the bracket that the signs of the slope draw and grow
    shorter; halving (or stretching, where one side is still open) otherwise.
    """
    low, high = line.low, line.high
    at = min(max(start, low), high)
    known, height = at, likelihood.at(*line.at(at))
    low_open, high_open, last_step = True, True, np.inf
    for _ in range(MOST_STEPS):
        if not height.known:
            # Too far from where numbers still have a value: half the way back, or inwards.
            if at > known:
                high = at
            elif at < known:
                low = at
            target = known if known != at else _inwards(line)
            at = (at + target) / 2
            height = likelihood.at(*line.at(at))
            continue
        slope = float(line.direction @ height.gradient)
        bend = float(line.direction @ height.bend @ line.direction)
        if slope > 0:
            low, low_open = at, False
        elif slope < 0:
            high, high_open = at, False
        else:
            break
        if (slope > 0 and at == line.high) or (slope < 0 and at == line.low):
            break
        step = at - slope / bend if bend < 0 else np.nan
        # Far out an exponential lets Newton's steps down by ever the same length.
        if not (low < step < high and abs(step - at) <= last_step / 2):
            step = _between(line, (low, high), (low_open, high_open), at)
        known, last_step = at, abs(step - at)
        at = step
        height = likelihood.at(*line.at(at))
        if last_step <= tolerance * (abs(at) + (line.low <= 0)):
            break
    return at, height


def _between(
    line: Line, bracket: tuple[float, float], is_open: tuple[bool, bool], at: float
) -> float:
    """A point of the bracket: its middle, or a stride outwards on a side still open."""
    low, high = bracket
    if line.low > 0:
        if is_open[1] and at == low:
            return min(4 * at, high)
        if is_open[0] and at == high:
            return max(at / 4, low)
        return float(np.sqrt(low * high))
    stride = 4 * (1 + abs(at))
    if is_open[1] and at == low:
        return min(at + stride, high)
    if is_open[0] and at == high:
        return max(at - stride, low)
    return (low + high) / 2


def _inwards(line: Line) -> float:
    """A point of the line where numbers are tame: small alpha, or the midst of the lives."""
    return line.low if line.low > 0 else 0.0


def climb(likelihood: LogLikelihood, alpha: float, beta: float) -> Top:
    """Climb from a point to a top of the plane by Newton's steps, each made to rise."""
    at = np.array([alpha, beta])
    height = likelihood.at(*at)
    for _ in range(MOST_STEPS):
        if not height.known or _ran_away(at):
            return Top(float(at[0]), float(at[1]), height, settled=False)
        step = _rising_step(height)
        # One step may at most treble the shape or cut it to a third.
        longest = 2.0 if step[0] > 0 else 2 / 3
        step *= min(1.0, longest * at[0] / max(abs(step[0]), 1e-300))
        small = np.abs(step) <= STEP_TOLERANCE * (np.abs(at) + np.array([0.0, 1.0]))
        cut, promised = 1.0, float(height.gradient @ step)
        rounding = 1e-13 * (1 + abs(height.value))
        while True:
            there = at + cut * step
            found = likelihood.at(*there)
            if found.value >= height.value + LEAST_CLIMB * cut * promised - rounding:
                break
            cut /= 2
            if cut < SMALLEST_CUT:
                return Top(float(at[0]), float(at[1]), height, settled=promised < 1e-6)
        at, height = there, found
        if bool(np.all(small)):
            return Top(float(at[0]), float(at[1]), height, settled=not _ran_away(at))
    return Top(float(at[0]), float(at[1]), height, settled=False)


def _ran_away(at: FloatArray) -> bool:
    alpha, beta = float(at[0]), float(at[1])
    return not SHAPE_SMALLEST < alpha < SHAPE_LARGEST or abs(beta) > FURTHEST * max(alpha, 1.0)


def _rising_step(height: Height) -> FloatArray:
    """Newton's step, with bends of the wrong sign turned and flat ones raised."""
    bends, axes = np.linalg.eigh(-height.bend)
    sizes = np.maximum(np.abs(bends), SOFTEST * float(np.max(np.abs(bends))))
    return np.asarray(axes @ ((axes.T @ height.gradient) / np.maximum(sizes, 1e-300)), np.float64)


def highest_top(likelihood: LogLikelihood) -> Top:
    """The highest top of the plane; not settled where the likelihood runs away.

    Without delayed entry the log-likelihood is concave and one climb finds it. With it there
    may be several tops, so shapes all over the range are looked at first.
    """
    alpha = _first_shape(likelihood)
    starts = np.append(START_SHAPES, alpha) if likelihood.rows.delayed else np.array([alpha])
    found = [best_place(likelihood, float(each)) for each in starts]
    best = max(found, key=lambda top: top.height.value)
    return climb(likelihood, best.alpha, best.beta)


def best_place(likelihood: LogLikelihood, alpha: float, *, thorough: bool = False) -> Top:
    """The best beta for one shape; not settled where it runs away.

    With delayed entry there may be two tops, or a level that lies higher than any: `thorough`
    looks about first.
    """
    where, weight = middles(likelihood)
    share = min(max(likelihood.rows.failed / max(likelihood.rows.n, 1e-300), 0.01), 0.9)
    begin = float(likelihood.standard.deviate(np.array([share]))[0])
    begin -= alpha * float(weight @ where) / float(weight.sum())
    line = place_line(alpha)
    if thorough and likelihood.rows.delayed:
        looks = [likelihood.at(alpha, begin + each).value for each in LOOKS]
        begin += float(LOOKS[int(np.argmax(looks))])
    beta, height = best_on_line(likelihood, line, begin)
    inside = line.low < beta < line.high and height.known
    curved = height.known and height.bend[1, 1] < -FLATTEST * likelihood.rows.counted
    return Top(alpha, beta, height, settled=bool(inside and curved))


def _first_shape(likelihood: LogLikelihood) -> float:
    where, weight = middles(likelihood)
    mean = float(weight @ where) / float(weight.sum())
    spread = float(np.sqrt(weight @ (where - mean) ** 2 / weight.sum()))
    return float(np.clip(1 / max(spread, 1e-3), 0.2, 20.0))
