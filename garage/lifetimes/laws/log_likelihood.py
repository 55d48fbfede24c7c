"""The log-likelihood of a law of log life, with its slopes, over rows of lives."""

from dataclasses import dataclass
from typing import Self

import numpy as np

from garage.lifetimes.arrays import BoolArray, FloatArray
from garage.lifetimes.laws.likelihood_rows import LikelihoodRows
from garage.lifetimes.laws.standard import StandardLaw

NARROW = 1e-4
"""No unit; an interval narrower than this, measured by how far the density changes within it,
is taken as density times width with its first correction. Differences of survival would lose
their digits there; the part left out is below 1e-9 of the term."""

LARGEST = 1e150
"""Of a height or its slopes; what is larger could not be multiplied, and lies far from any fit."""


@dataclass(frozen=True, slots=True, eq=False)
class Height:
    """The log-likelihood at one point, with its gradient and second derivatives by
    (alpha, beta); minus infinity, without them, where it has no value."""

    value: float
    gradient: FloatArray
    bend: FloatArray

    @property
    def known(self) -> bool:
        """Whether the likelihood has a value and slopes here."""
        slopes = np.append(self.gradient, self.bend)
        return abs(self.value) < LARGEST and bool(np.all(np.abs(slopes) < LARGEST))


NOWHERE = Height(-np.inf, np.full(2, np.nan), np.full((2, 2), np.nan))


@dataclass(frozen=True, slots=True, eq=False)
class LogLikelihood:
    """log L of z = alpha * (log clock - reference) + beta, z following a standard law.

    alpha = 1 / sigma and beta = (reference - mu) / sigma. In these the log-likelihood is
    concave where no entry is delayed, for the standard laws have log-concave densities
    (Burridge, Journal of the Royal Statistical Society B 43, 1981, 41-45, from memory).

    Attributes
    ----------
    reference : float
        Logarithm of a clock value in the midst of the failures: no power over- or underflows
        near the fit, whatever the clock's unit.
    exact, alive, low, high : arrays
        Logarithms of the clock values of `rows`, less the reference; `low` is minus infinity
        where the interval begins at the start of the clock.
    span : array
        high - low, taken from the clock values: the logarithms of near ones agree in most digits.
    """

    standard: StandardLaw
    rows: LikelihoodRows
    reference: float
    exact: FloatArray
    alive: FloatArray
    low: FloatArray
    high: FloatArray
    span: FloatArray
    constant: float

    @classmethod
    def of(cls, standard: StandardLaw, rows: LikelihoodRows) -> Self:
        """Take the logarithms once."""
        middle, weight = _middles(rows)
        reference = float(weight @ middle / weight.sum()) if weight.sum() > 0 else 0.0
        with np.errstate(divide="ignore"):
            exact, alive, low, high = (
                np.log(each) - reference for each in (rows.exact, rows.alive, rows.low, rows.high)
            )
            span = np.log1p((rows.high - rows.low) / rows.low)
        constant = -float(rows.exact_weight @ (exact + reference))
        return cls(standard, rows, reference, exact, alive, low, high, span, constant)

    def at(self, alpha: float, beta: float) -> Height:
        """The height at this point; unknown where a number runs over."""
        with np.errstate(all="ignore"):
            whole = _Sums(self.constant, np.zeros(2), np.zeros((2, 2)))
            self._add_exact(whole, alpha, beta)
            self._add_alive(whole, alpha, beta)
            if len(self.low):
                self._add_between(whole, alpha, beta)
        height = Height(whole.value, whole.gradient, whole.bend)
        return height if height.known else NOWHERE

    def _add_exact(self, whole: "_Sums", alpha: float, beta: float) -> None:
        weight = self.rows.exact_weight
        z = alpha * self.exact + beta
        slope, bend = self.standard.density_pull(z)
        whole.value += float(weight @ self.standard.log_density(z))
        whole.add(self.exact, weight * slope, weight * bend)
        whole.add_stretch(float(weight.sum()), alpha)

    def _add_alive(self, whole: "_Sums", alpha: float, beta: float) -> None:
        weight = self.rows.alive_weight
        z = alpha * self.alive + beta
        rate, rate_slope = self.standard.hazard(z)
        whole.value += float(weight @ self.standard.log_survival(z))
        whole.add(self.alive, -weight * rate, -weight * rate_slope)

    def _add_between(self, whole: "_Sums", alpha: float, beta: float) -> None:
        weight = self.rows.between_weight
        middle = (self.low + self.high) / 2
        z, width = alpha * middle + beta, alpha * self.span
        slope, bend = self.standard.density_pull(z)
        narrow = width * (1 + np.abs(slope)) < NARROW
        if np.any(narrow):
            x, w, z = middle[narrow], weight[narrow], z[narrow]
            slope, bend, width = slope[narrow], bend[narrow], width[narrow]
            curve = width**2 / 24 * (slope**2 + bend)
            whole.value += float(w @ (self.standard.log_density(z) + np.log(width) + curve))
            whole.add(x, w * slope, w * bend)
            # log width goes as log alpha; its constant part stands in the value above.
            whole.add_stretch(float(w.sum()), alpha, counted=False)
        self._add_wide(whole, ~narrow, alpha, beta)

    def _add_wide(self, whole: "_Sums", wide: BoolArray, alpha: float, beta: float) -> None:
        started, falling = np.isfinite(self.low), alpha * self.high + beta > 0
        self._add_early(whole, wide & ~started, alpha, beta)
        for part, way in ((falling, _from_survival), (~falling, _from_density)):
            taken = np.flatnonzero(wide & started & part)
            if not len(taken):
                continue
            low, high = self.low.take(taken), self.high.take(taken)
            weight = self.rows.between_weight.take(taken)
            terms = way(self.standard, alpha * low + beta, alpha * high + beta)
            whole.value += float(weight @ terms.log_share)
            whole.add(low, weight * terms.low_slope, weight * terms.low_bend)
            whole.add(high, weight * terms.high_slope, weight * terms.high_bend)
            whole.add_product(low, high, weight * terms.both)

    def _add_early(self, whole: "_Sums", taken: BoolArray, alpha: float, beta: float) -> None:
        """Failures in intervals that begin with the clock: the share failed."""
        high, weight = self.high[taken], self.rows.between_weight[taken]
        z = alpha * high + beta
        log_share = self.standard.log_failed(z)
        rate = np.exp(self.standard.log_density(z) - log_share)
        # A density so small that it is 0 in float64 may be multiplied by an infinite slope.
        pull = np.where(rate > 0, self.standard.density_pull(z)[0], 0.0)
        whole.value += float(weight @ log_share)
        whole.add(high, weight * rate, weight * rate * (pull - rate))


@dataclass(frozen=True, slots=True, eq=False)
class _Between:
    """The log share between two values of z and its derivatives by them."""

    log_share: FloatArray
    low_slope: FloatArray
    low_bend: FloatArray
    high_slope: FloatArray
    high_bend: FloatArray
    both: FloatArray


def _from_density(standard: StandardLaw, low: FloatArray, high: FloatArray) -> _Between:
    """Where few have failed: through densities, which do not run out there."""
    log_share = standard.log_between(low, high)
    at_low = np.exp(standard.log_density(low) - log_share)
    at_high = np.exp(standard.log_density(high) - log_share)
    return _Between(
        log_share,
        -at_low,
        -at_low * (standard.density_pull(low)[0] + at_low),
        at_high,
        at_high * (standard.density_pull(high)[0] - at_high),
        at_low * at_high,
    )


def _from_survival(standard: StandardLaw, low: FloatArray, high: FloatArray) -> _Between:
    """Where many have: log S(low) + log(1 - exp(-gap)), whose terms do not cancel there."""
    gap = standard.survival_gap(low, high)
    (rate, rate_slope), (late, late_slope) = standard.hazard(low), standard.hazard(high)
    odds = 1 / np.expm1(gap)
    at_low, at_high = rate * (1 + odds), np.where(odds > 0, late * odds, 0.0)
    late_bend = np.where(odds > 0, late_slope * odds, 0.0)
    return _Between(
        standard.log_survival(low) + np.log(-np.expm1(-gap)),
        -at_low,
        -rate_slope * (1 + odds) - at_low * rate * odds,
        at_high,
        late_bend - at_high * late * (1 + odds) * (odds > 0),
        at_low * at_high,
    )


@dataclass(slots=True)
class _Sums:
    """A log-likelihood while it is added up."""

    value: float
    gradient: FloatArray
    bend: FloatArray

    def add(self, x: FloatArray, slope: FloatArray, bend: FloatArray) -> None:
        """Terms of z = alpha * x + beta with these derivatives by z."""
        self.gradient += (slope @ x, slope.sum())
        lean = bend @ x
        self.bend += ((bend @ x**2, lean), (lean, bend.sum()))

    def add_product(self, x: FloatArray, y: FloatArray, bend: FloatArray) -> None:
        """Mixed derivatives of terms that hang on two values of z."""
        lean = bend @ (x + y)
        self.bend += ((2 * bend @ (x * y), lean), (lean, 2 * bend.sum()))

    def add_stretch(self, weight: float, alpha: float, *, counted: bool = True) -> None:
        """Terms log alpha, counted in the value unless it holds them."""
        self.value += weight * float(np.log(alpha)) if counted else 0.0
        self.gradient[0] += weight / alpha
        self.bend[0, 0] -= weight / alpha / alpha


def _middles(rows: LikelihoodRows) -> tuple[FloatArray, FloatArray]:
    """Log clock values about which failures lie, with their weights."""
    began = rows.low > 0
    between = np.where(began, np.sqrt(np.where(began, rows.low, 1.0) * rows.high), rows.high)
    if not len(rows.exact) and not len(between):
        return np.log(rows.alive), np.abs(rows.alive_weight)
    return (
        np.log(np.concatenate([rows.exact, between])),
        np.concatenate([rows.exact_weight, rows.between_weight]),
    )


def middles(likelihood: LogLikelihood) -> tuple[FloatArray, FloatArray]:
    """Where failures lie, as logarithms less the reference, with their weights."""
    where, weight = _middles(likelihood.rows)
    return where - likelihood.reference, weight
