"""How likely a step from one true distance to the next is, at a given pace of the vehicle."""

from dataclasses import dataclass

import numpy as np

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.usage.spans import SHORTEST_YEARS
from garage.records.odometers.trace import (
    BACKWARDS_SLACK_KM,
    HARD_PACE_KM_PER_DAY,
    SOFT_PACE_KM_PER_DAY,
)

DAYS_PER_YEAR = 365.25
#: Annual distance of a vehicle of which nothing is known: median and spread of its logarithm.
#: Half of vehicles then lie between 8 000 and 28 000 km a year, and nine in ten of private, van
#: and taxi use between 3 400 and 66 000. Working priors of the trade, common practice, no source.
USUAL_KM_PER_YEAR = 15_000.0
USUAL_LOG_SD = 0.9
#: Annual distances at which a vehicle's own is sought, and spreads of its years: steady ones and
#: unsteady ones about the judged YEAR_LOG_SD of garage.lifetimes.usage. Judgement, no source.
PACES_KM_PER_YEAR = np.geomspace(1_500, 150_000, 16)
YEAR_LOG_SDS = np.array([0.25, 0.6])
#: What a short stretch may be off by: whole km, a road test, a reading noted later the same day.
#: Common practice, no source.
SHORT_STRETCH_KM = 100.0
#: Share of stretches that have nothing to do with the vehicle's pace: laid up, lent, a long tour.
#: Judgement, no source.
ODD_STRETCH_SHARE = 0.02
#: Of those, the share beyond the pace that is possible but rarely true. Judgement, no source.
RARE_PACE_SHARE = 0.2
#: Share of stretches in which the vehicle stands still. Judgement, no source.
STILL_SHARE = 0.02
#: Where a stretch cannot be. Finite, so that what two people decided can still both hold.
IMPOSSIBLE = -300.0
#: A way that is none, less than any sum of the above; finite, so that sums of it are.
UNREACHED = -1e6


@dataclass(frozen=True)
class PaceGrid:
    """Every pace and spread at which the vehicle is tried; all arrays of shape (g,)."""

    km_per_day: FloatArray
    log_sd: FloatArray
    log_prior: FloatArray


def pace_grid() -> PaceGrid:
    """The paces at which any vehicle is tried, the usual ones with more weight."""
    pace, spread = np.meshgrid(PACES_KM_PER_YEAR, YEAR_LOG_SDS, indexing="ij")
    away = np.log(pace / USUAL_KM_PER_YEAR) / USUAL_LOG_SD
    prior = np.exp(-(away**2) / 2)
    return PaceGrid(
        pace.ravel() / DAYS_PER_YEAR, spread.ravel(), np.log(prior / prior.sum()).ravel()
    )


GRID = pace_grid()


def stretch_log_sd(days: FloatArray, year_log_sd: FloatArray) -> FloatArray:
    """Spread of the logarithm of a stretch's distance; over weeks it grows no further."""
    return np.asarray(year_log_sd / np.sqrt(np.maximum(days / DAYS_PER_YEAR, SHORTEST_YEARS)))


def step_log_density(step_km: FloatArray, days: FloatArray, grid: PaceGrid = GRID) -> FloatArray:
    """Log density per km of going `step_km` in `days`, one more axis at the end for the grid.

    Log-normal about the pace, mixed with stretches of any length that a vehicle can go; a step
    back within the slack counts as next to nothing gone.
    """
    step, gap = step_km[..., None], days[..., None]
    gone = np.maximum(step + BACKWARDS_SLACK_KM + 1, 1e-9)
    log_sd = stretch_log_sd(gap, grid.log_sd)
    away = (np.log(gone) - np.log(grid.km_per_day * gap + SHORT_STRETCH_KM)) / log_sd
    usual = np.exp(-(away**2) / 2) / (log_sd * gone * np.sqrt(2 * np.pi))
    longest, rare = HARD_PACE_KM_PER_DAY * (gap + 1), SOFT_PACE_KM_PER_DAY * (gap + 1)
    odd = np.where(
        step <= rare,
        (1 - RARE_PACE_SHARE) / (rare + BACKWARDS_SLACK_KM),
        RARE_PACE_SHARE / (longest - rare),
    )
    still = STILL_SHARE / (2 * BACKWARDS_SLACK_KM) * (np.abs(step) <= BACKWARDS_SLACK_KM)
    density = (1 - ODD_STRETCH_SHARE - STILL_SHARE) * usual + ODD_STRETCH_SHARE * odd + still
    possible = (step >= -BACKWARDS_SLACK_KM) & (step <= longest)
    return np.where(possible, np.log(np.maximum(density, 1e-120)), IMPOSSIBLE)


def between_log_density(
    gone_km: FloatArray, whole_km: FloatArray, days: tuple[FloatArray, FloatArray]
) -> FloatArray:
    """Log density per km of having gone `gone_km` of `whole_km`, one more axis for the spreads.

    `days` are those before and after. The logarithm of the ratio of the two parts is normal about
    that of their days: two log-normal stretches of a given sum, whatever the vehicle's pace.
    """
    before, after = days[0][..., None], days[1][..., None]
    first = np.maximum(gone_km + BACKWARDS_SLACK_KM + 1, 1e-9)[..., None]
    second = np.maximum(whole_km - gone_km + BACKWARDS_SLACK_KM + 1, 1e-9)[..., None]
    # The days' own share, each stretch with the same small distance for rounding.
    rounding = SHORT_STRETCH_KM * (before + after) / np.maximum((first + second), 1.0)
    centre = np.log((before + rounding + 0.5) / (after + rounding + 0.5))
    variance = stretch_log_sd(before, YEAR_LOG_SDS) ** 2 + stretch_log_sd(after, YEAR_LOG_SDS) ** 2
    away = (np.log(first / second) - centre) ** 2 / variance
    usual = np.exp(-away / 2) / np.sqrt(2 * np.pi * variance) * (first + second) / (first * second)
    density = (1 - ODD_STRETCH_SHARE) * usual + ODD_STRETCH_SHARE / (first + second)
    possible = (gone_km >= -BACKWARDS_SLACK_KM) & (gone_km <= whole_km + BACKWARDS_SLACK_KM)
    return np.where(possible[..., None], np.log(np.maximum(density, 1e-120)), IMPOSSIBLE)
