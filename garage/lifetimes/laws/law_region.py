"""Likelihood-ratio limits of a law of log life: how far a figure moves before lives object."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.laws.estimates import Limits
from garage.lifetimes.laws.law_search import Line, best_on_line, place_line, shape_line
from garage.lifetimes.laws.log_likelihood import LogLikelihood
from garage.lifetimes.laws.weibull_profile import SHAPE_LARGEST, SHAPE_SMALLEST

FURTHEST_LOG = 300.0
"""Powers of e by which the limit of a distance may lie from its estimate."""

FURTHEST_DEVIATE = 40.0
"""On the law's own scale; beyond it a survival is 0 or 1 in float64."""

AT_END = 1e-6
"""Relative; a shape this near to an end of its range was held by the range, not by lives."""

LIMIT_TOLERANCE = 1e-9
"""Of a limit, on its logarithm or the law's own scale."""

LOOKS = np.geomspace(0.05, 80.0, 12)
"""Shapes at which a line is looked at for a second top."""

SAME_HEIGHT = 1e-6
"""Of a log-likelihood; far below what any limit could show."""

MOST_CLOSER = 100

LAST_STEP = 1e-5
"""Relative; a search along a line ends with a Newton's step as small as this. What is left is
its square, and the height is flat there."""

Profile = Callable[[float, float], tuple[float, float, bool]]
"""Figure and a start to (height, where on its line, whether lives hold the shape there)."""


@dataclass(frozen=True, slots=True, eq=False)
class LawRegion:
    """All points of the plane whose log-likelihood lies within `drop` of the greatest.

    Every figure of a law fixes a straight line through the plane of (alpha, beta): a shape
    alpha = a, a distance alpha * y + beta = deviate, a survival alpha * x + beta = z. The
    limit of the figure is where the best point of its line has fallen by `drop`.

    Attributes
    ----------
    drop : float
        Half the square of the normal deviate, larger where failures stand for more than
        themselves.
    fixed : bool
        Whether the shape is known, so that the region is a piece of one line.
    covariance : array, shape (2, 2)
        Of log scale and log shape.
    reach : float
        Normal deviate; times an error it says about how far a limit lies off: where to look
        first.
    """

    likelihood: LogLikelihood
    alpha: float
    beta: float
    drop: float
    fixed: bool
    covariance: FloatArray
    reach: float

    def log_clock(self, deviate: float) -> float:
        """Logarithm of the clock value at which z is `deviate`, at the best fit."""
        return self.likelihood.reference + (deviate - self.beta) / self.alpha

    @property
    def _errors(self) -> tuple[float, float]:
        of_scale, of_shape = self.reach * np.sqrt(np.maximum(np.diag(self.covariance), 0.0))
        return float(of_scale), float(of_shape)

    @property
    def _floor(self) -> float:
        return self.likelihood.at(self.alpha, self.beta).value - self.drop

    def log_shape_limits(self) -> Limits:
        """Smallest and largest log shape in the region."""
        if self.fixed:
            return None, None

        def profile(log_shape: float, start: float) -> tuple[float, float, bool]:
            line = place_line(float(np.exp(log_shape)), FURTHEST_LOG)
            along, height = best_on_line(self.likelihood, line, start, LAST_STEP)
            return height.value, along, line.low < along < line.high

        at = float(np.log(self.alpha))
        ends = (float(np.log(SHAPE_SMALLEST)), float(np.log(SHAPE_LARGEST)))
        return self._limits(profile, (at, self.beta), self._errors[1], ends)

    def log_quantile_limits(self, deviate: float) -> Limits:
        """Smallest and largest log clock at which z is `deviate`."""
        if self.fixed:
            low, high = self._beta_limits
            return self._clock_of(high, deviate), self._clock_of(low, deviate)
        at = (deviate - self.beta) / self.alpha
        ends = (at - FURTHEST_LOG, at + FURTHEST_LOG)
        found = self._limits_on(lambda y: shape_line(-y, deviate), at, self._errors[0], ends)
        lower, upper = (
            None if each is None else each + self.likelihood.reference for each in found
        )
        return lower, upper

    def _clock_of(self, beta: float | None, deviate: float) -> float | None:
        return None if beta is None else self.likelihood.reference + (deviate - beta) / self.alpha

    def deviate_limits(self, log_clock: float) -> Limits:
        """Smallest and largest z in the region at a log clock."""
        x = log_clock - self.likelihood.reference
        if self.fixed:
            low, high = self._beta_limits
            lower, upper = (None if each is None else self.alpha * x + each for each in (low, high))
            return lower, upper
        at = self.alpha * x + self.beta
        error = self.alpha * self._errors[0]
        ends = (min(-FURTHEST_DEVIATE, at - 1), max(FURTHEST_DEVIATE, at + 1))
        return self._limits_on(lambda z: shape_line(-x, z), at, error, ends)

    @property
    def _beta_limits(self) -> Limits:
        def profile(beta: float, start: float) -> tuple[float, float, bool]:
            return self.likelihood.at(self.alpha, beta).value, start, True

        reach = FURTHEST_LOG * max(self.alpha, 1.0)
        error = self.alpha * self._errors[0]
        return self._limits(profile, (self.beta, 0.0), error, (-reach, reach))

    def _limits_on(
        self, line_of: Callable[[float], Line], at: float, error: float, ends: tuple[float, float]
    ) -> Limits:
        """Limits of a figure whose lines run through all shapes."""
        start, quick = (at, self.alpha), self._profile_on(line_of, thorough=False)
        found = self._limits(quick, start, error, ends)
        if not self.likelihood.rows.delayed:
            return found
        # A line may then have two tops. Had the walk followed the lower one, the limit found
        # would lie inside the region: walk once more, looking for both.
        thorough = self._profile_on(line_of, thorough=True)
        lower, upper = (
            self._limit(thorough, start, error, end)
            if limit is not None and thorough(limit, self.alpha)[0] > self._floor + SAME_HEIGHT
            else limit
            for limit, end in zip(found, ends, strict=True)
        )
        return lower, upper

    def _profile_on(self, line_of: Callable[[float], Line], *, thorough: bool) -> Profile:
        likelihood = self.likelihood

        def profile(figure: float, start: float) -> tuple[float, float, bool]:
            line = line_of(figure)
            along, height = best_on_line(likelihood, line, start, LAST_STEP)
            if thorough:
                looks = [likelihood.at(*line.at(float(each))).value for each in LOOKS]
                other = float(LOOKS[int(np.argmax(looks))])
                again, second = best_on_line(likelihood, line, other, LAST_STEP)
                if second.value > height.value:
                    along, height = again, second
            held = SHAPE_SMALLEST * (1 + AT_END) < along < SHAPE_LARGEST * (1 - AT_END)
            return height.value, along, held

        return profile

    def _limits(
        self, profile: Profile, start: tuple[float, float], error: float, ends: tuple[float, float]
    ) -> Limits:
        low, high = (self._limit(profile, start, error, end) for end in ends)
        return low, high

    def _limit(
        self, profile: Profile, start: tuple[float, float], error: float, end: float
    ) -> float | None:
        """Walk from the estimate towards an end until the profile has fallen, then close in."""
        (inner, along), top = start, self._floor + self.drop

        def beyond(height: float) -> float:
            # On this scale the profile is nearly straight, so few steps are needed.
            return float(np.sqrt(max(top - height, 0.0)) - np.sqrt(self.drop))

        side = 1.0 if end > inner else -1.0
        stride = side * max(error, 1e-6)
        near = -float(np.sqrt(self.drop))
        while True:
            outer = inner + stride
            outer = min(outer, end) if side > 0 else max(outer, end)
            height, along, held = profile(outer, along)
            far = beyond(height)
            if far > 0:
                break
            if outer == end or not held:
                return None
            inner, near, stride = outer, far, stride * 1.5
        for _ in range(MOST_CLOSER):
            # A height that has no value in float64 says only that the end lies too far out.
            straight = far / (far - near) if np.isfinite(far) else 0.5
            at = outer - straight * (outer - inner)
            height, along, held = profile(at, along)
            here = beyond(height)
            if abs(at - outer) < LIMIT_TOLERANCE or here == 0:
                break
            # The Illinois rule: a straight line through both ends, the old end's height halved
            # where it stays, so that both close in.
            if here * far < 0:
                inner, near = outer, far
            else:
                near /= 2
            outer, far = at, here
        return at if held else None
