"""What a fitted law says, each figure with its limits."""

from dataclasses import dataclass, field

import numpy as np

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.confidence import normal_deviate
from garage.lifetimes.laws.estimates import ParameterEstimate, log_scale_estimate
from garage.lifetimes.laws.families import FamilyName
from garage.lifetimes.laws.law import Law
from garage.lifetimes.laws.law_region import LawRegion
from garage.lifetimes.laws.weibull_fit import WeibullFit
from garage.lifetimes.status import Status


@dataclass(frozen=True, slots=True, eq=False)
class LawFit:
    """What `law_fit` found.

    Attributes
    ----------
    n, failed : float
        Lives, and those known to have failed; fractions where lives have such weights.
    law : Law or None
        None where `status` and `reason` say why.
    shape, scale : ParameterEstimate or None
        Shape is 1 / sigma, sigma the spread of log life; a fixed one is no estimate and None.
        Scale is exp(mu): by it 63.2 % have failed for an exponential or Weibull law, half for
        the others.
    log_likelihood, aic : float or None
        At the fit. Failures count corrected in the log-likelihood; `aic` is 2 x parameters
        less 2 x log-likelihood, that scaled back to the failures seen.
    covariance : array, shape (2, 2), or None
        Of log scale and log shape, in this order; 0 for a fixed shape.
    rate_upper : float or None
        Where there is no law: the constant failure rate per clock unit that would have shown
        more failures than were seen with the probability `level`.
    scale_lower : float or None
        Where nothing failed and the shape is fixed: the scale that would have shown a failure
        with the probability `level`.
    """

    family: FamilyName
    unit: str
    n: float
    failed: float
    status: Status
    reason: str
    level: float
    law: Law | None = None
    shape: ParameterEstimate | None = None
    scale: ParameterEstimate | None = None
    log_likelihood: float | None = None
    aic: float | None = None
    covariance: FloatArray | None = None
    rate_upper: float | None = None
    scale_lower: float | None = None
    _region: LawRegion | None = field(default=None, repr=False)
    _weibull: WeibullFit | None = field(default=None, repr=False)

    @property
    def sigma(self) -> ParameterEstimate | None:
        """Spread of log life, 1 / shape; None where the shape is."""
        return None if self.shape is None else self.shape.inverted()

    @property
    def log_parameters(self) -> FloatArray | None:
        """Logarithms of shape and scale, shape (2,); None without a law."""
        if self._region is None or self.scale is None:
            return None
        return np.log([self._region.alpha, self.scale.value])

    @property
    def log_covariance(self) -> FloatArray | None:
        """Their covariance in that order, shape (2, 2); that of a fixed shape is 0."""
        return None if self.covariance is None else self.covariance[::-1, ::-1]

    @property
    def median(self) -> ParameterEstimate | None:
        """Clock by which half of the lives fail; None without a law."""
        return self.quantile(0.5)

    def quantile(self, share_failed: float) -> ParameterEstimate | None:
        """Clock by which a share (between 0 and 1) of lives fails; None without a law."""
        if not 0 < share_failed < 1:
            raise ValueError(f"a share lies between 0 and 1; got {share_failed}")
        if self._weibull is not None:
            return self._weibull.quantile(share_failed)
        if self._region is None or self.covariance is None:
            return None
        region = self._region
        deviate = float(region.likelihood.standard.deviate(np.array([share_failed]))[0])
        (of_scale, both), (_, of_shape) = self.covariance
        lean = -deviate / region.alpha
        return log_scale_estimate(
            region.log_clock(deviate),
            float(of_scale + 2 * lean * both + lean**2 * of_shape),
            region.log_quantile_limits(deviate),
            self.level,
        )

    def survival_at(self, clock: float) -> ParameterEstimate | None:
        """Share of lives still sound at a clock value; None without a law."""
        if not np.isfinite(clock):
            raise ValueError(f"survival is asked at a finite clock value; got {clock}")
        if self._region is None:
            return None
        if clock <= 0:
            return ParameterEstimate(1.0, 0.0, 1.0, 1.0, 1.0, 1.0)
        band = self.band(np.array([float(clock)]))
        low, high = self._region.deviate_limits(float(np.log(clock)))
        standard = self._region.likelihood.standard
        with np.errstate(over="ignore"):
            lower, upper = (
                None if z is None else float(np.exp(standard.log_survival(np.array([z]))[0]))
                for z in (high, low)
            )
        return ParameterEstimate(
            float(band.survival[0]),
            float(band.standard_error[0]),
            lower,
            upper,
            float(band.lower[0]),
            float(band.upper[0]),
        )

    def band(self, clock: FloatArray) -> "SurvivalBand":
        """Survival at clock values above 0 with Wald limits, all at once, for drawing."""
        at = np.asarray(clock, np.float64)
        if self._region is None or self.covariance is None:
            raise ValueError(f"there is no law to draw: {self.reason}")
        if np.any(~(at > 0)):
            raise ValueError(f"a line is drawn over clock values above 0; got {float(at.min())}")
        region, standard = self._region, self._region.likelihood.standard
        z = region.alpha * (np.log(at) - region.likelihood.reference) + region.beta
        (of_scale, both), (_, of_shape) = self.covariance
        variance = z**2 * of_shape + region.alpha**2 * of_scale - 2 * region.alpha * z * both
        error = np.sqrt(np.maximum(variance, 0.0))
        reach = normal_deviate(self.level) * error
        with np.errstate(over="ignore"):
            survival, lower, upper = (
                np.exp(standard.log_survival(each)) for each in (z, z + reach, z - reach)
            )
            slope = np.exp(standard.log_density(z))
        return SurvivalBand(at, survival, slope * error, lower, upper, z, reach)


@dataclass(frozen=True, slots=True, eq=False)
class SurvivalBand:
    """Survival of a fitted law at clock values, with pointwise Wald limits, as arrays.

    `deviate` and `reach` are the same on the law's own scale: z, and how far its limits lie off.
    """

    clock: FloatArray
    survival: FloatArray
    standard_error: FloatArray
    lower: FloatArray
    upper: FloatArray
    deviate: FloatArray
    reach: FloatArray
