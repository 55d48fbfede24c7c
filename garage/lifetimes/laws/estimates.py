"""A figure of a fitted law with its limits."""

from dataclasses import dataclass

import numpy as np

from garage.lifetimes.confidence import LARGEST_EXPONENT, normal_deviate

Limits = tuple[float | None, float | None]
"""Lower and upper; None where the data set no bound."""


@dataclass(frozen=True, slots=True)
class ParameterEstimate:
    """A figure of a fitted law with its limits.

    `lower` and `upper` are likelihood-ratio limits (None where the data set no bound);
    `wald_lower` and `wald_upper` are symmetric on the log scale, quicker and less good
    (those of a survival are symmetric on the law's own scale, where its line is straight).
    """

    value: float
    standard_error: float
    lower: float | None
    upper: float | None
    wald_lower: float
    wald_upper: float

    def inverted(self) -> "ParameterEstimate":
        """The estimate of 1 / figure, such as sigma for a shape.

        Examples
        --------
        >>> ParameterEstimate(2.0, 0.4, 1.0, None, 1.25, 4.0).inverted()
        ParameterEstimate(value=0.5, standard_error=0.1, lower=None, upper=1.0, \
wald_lower=0.25, wald_upper=0.8)
        """
        return ParameterEstimate(
            1 / self.value,
            self.standard_error / self.value**2,
            None if self.upper is None else 1 / self.upper,
            None if self.lower is None else 1 / self.lower,
            1 / self.wald_upper,
            1 / self.wald_lower,
        )


def log_scale_estimate(
    log_value: float, log_variance: float, log_limits: Limits, level: float
) -> ParameterEstimate:
    """The estimate of a figure above 0 whose logarithm was fitted."""
    value = float(np.exp(log_value))
    log_error = float(np.sqrt(max(log_variance, 0.0)))
    # Cut where float64 would overflow: such a limit says nothing but that there is none.
    longest = max(LARGEST_EXPONENT - abs(log_value), 0.0)
    width = float(np.exp(min(normal_deviate(level) * log_error, longest)))
    lower, upper = (None if each is None else float(np.exp(each)) for each in log_limits)
    return ParameterEstimate(value, value * log_error, lower, upper, value / width, value * width)
