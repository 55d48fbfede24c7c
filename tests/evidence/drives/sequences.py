"""Invented sequences of a drive, with known soot per km, and of a burn."""

import numpy as np

from garage.evidence.drives.log import Drive

RATE_G_PER_KM = 0.04


def drive_invented(
    rng: np.random.Generator,
    *,
    length_km: float = 150.0,
    step_g: float = 0.1,
    noise_g: float = 0.1,
    follows: float = 0.95,
    stretch_km: float = 3.0,
) -> Drive:
    """A modelled soot that follows itself from row to row, ten rows a km, shown in steps.

    Town and open road alternate over `stretch_km` on average, at half and at one and a half times
    the mean rate, which is 0.04 g/km.
    """
    km = np.arange(0.0, length_km, 0.1)
    rates = np.empty(len(km))
    row = 0
    while row < len(km):
        rows = max(1, int(rng.exponential(stretch_km) * 10))
        rates[row : row + rows] = RATE_G_PER_KM * rng.choice([0.5, 1.5])
        row += rows
    error = rng.normal(0.0, noise_g, len(km))
    error[1:] *= np.sqrt(1 - follows**2)
    for each in range(1, len(km)):
        error[each] += follows * error[each - 1]
    soot = np.round((3.0 + np.cumsum(rates) * 0.1 + error) / step_g) * step_g
    return Drive(len(km), distance_km=tuple(km.tolist()), soot_g=tuple(soot.tolist()))


def steady(length_km: float, rate_g_per_km: float, start_g: float = 2.0) -> Drive:
    """Soot that rises evenly, ten rows a km, from a distance of 0."""
    km = [row / 10 for row in range(int(length_km * 10) + 1)]
    soot = tuple(start_g + rate_g_per_km * each for each in km)
    return Drive(len(km), distance_km=tuple(km), soot_g=soot)


def joined(first: Drive, second: Drive) -> Drive:
    """One drive after the other, a row of the second following 0.1 km after the first."""
    assert first.distance_km
    assert second.distance_km
    assert first.soot_g
    assert second.soot_g
    offset = (first.distance_km[-1] or 0.0) + 0.1
    further = tuple((km or 0.0) + offset for km in second.distance_km)
    return Drive(
        first.row_count + second.row_count,
        distance_km=first.distance_km + further,
        soot_g=first.soot_g + second.soot_g,
    )
