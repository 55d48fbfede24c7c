"""The log-likelihood of a law of log life, with its slopes, over rows of lives."""

from dataclasses import dataclass
from typing import Self

import numpy as np

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.laws.likelihood_rows import LikelihoodRows
from garage.lifetimes.laws.standard import StandardLaw

NARROW = 1e-4
"""No unit; an interval narrower than this, measured by how far the density changes within it,
is taken as density times width with its first correction. Differences of survival would lose
their digits there; the part left out is below 1e-9 of the term."""


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
        finite = np.isfinite(self.value) and np.all(np.isfinite(self.gradient))
        return bool(finite and np.all(np.isfinite(self.bend)))


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

    def _add_wide(self, whole: "_Sums", wide: FloatArray, alpha: float, beta: float) -> None:
        low, high = self.low[wide], self.high[wide]
        weight = self.rows.between_weight[wide]
        started = np.isfinite(low)
        low = np.where(started, low, 0.0)
        z_low, z_high = alpha * low + beta, alpha * high + beta
        log_share = self.standard.log_failed(z_high)
        log_share[started] = self.standard.log_between(z_low[started], z_high[started])
        at_low = np.where(started, np.exp(self.standard.log_density(z_low) - log_share), 0.0)
        at_high = np.exp(self.standard.log_density(z_high) - log_share)
        # A density so small that it is 0 in float64 may be multiplied by an infinite slope.
        low_slope = np.where(at_low > 0, self.standard.density_pull(z_low)[0], 0.0)
        high_slope = np.where(at_high > 0, self.standard.density_pull(z_high)[0], 0.0)
        whole.value += float(weight @ log_share)
        whole.add(low, -weight * at_low, -weight * at_low * (low_slope + at_low))
        whole.add(high, weight * at_high, weight * at_high * (high_slope - at_high))
        both = weight * at_low * at_high
        whole.add_product(low, high, both)


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
