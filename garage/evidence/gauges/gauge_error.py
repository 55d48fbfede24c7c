"""What a known gauge's error and steps leave unsure of the pressure that it shows."""

from math import hypot, isfinite, sqrt


def gauge_uncertainty_pa(largest_error_pa: float, step_pa: float) -> float:
    """Standard uncertainty of one reading of a gauge, in Pa.

    Both are taken as equally likely anywhere within their bounds: a largest error `a` either way
    leaves a / root 3, a last step `d` leaves d / root 12. Source: JCGM 100:2008, 4.3.7, from
    memory. Raises ValueError for a value that is not finite or below 0.

    Examples
    --------
    >>> round(gauge_uncertainty_pa(100.0, 100.0), 1)
    64.5
    """
    for name, each in (("largest_error_pa", largest_error_pa), ("step_pa", step_pa)):
        if not (isfinite(each) and each >= 0):
            raise ValueError(f"`{name}` is 0 or more; got {each}; take it from the gauge's sheet")
    return hypot(largest_error_pa / sqrt(3), step_pa / sqrt(12))
