"""Which unit a display shows, from pairs taken at several jobs."""

from collections.abc import Sequence

from garage.evidence.gauges.limits import DEFAULTS
from garage.evidence.gauges.unit_inference import Candidate, Pair, UnitInference, unit_inferred
from garage.evidence.thresholds import Thresholds


def unit_over_jobs(
    earlier: Sequence[Sequence[Pair]],
    here: Sequence[Pair],
    sensor_range_pa: float | None = None,
    limits: Thresholds = DEFAULTS,
) -> UnitInference:
    """Answer which unit a display shows, where other jobs have pairs of it too.

    Each job's sensor has an offset and a gain of its own, so its pairs are weighed apart, and what
    they leave is the prior of the next, with a small chance that the display was set to another
    unit in between (a threshold). Pressures in Pa; raises ValueError as `unit_inferred` does.

    Examples
    --------
    >>> elsewhere = [Pair(0, 3, 1), Pair(10_000, 103, 1)]
    >>> unit_over_jobs([elsewhere], []).unit
    'hPa (= mbar)'
    """
    # One pressure alone tells no slope, so such a job changes nothing; what tells comes last.
    telling = [pairs for pairs in (*earlier, here) if len({p.applied_pa for p in pairs}) > 1]
    if not telling:
        return unit_inferred(here, sensor_range_pa, limits=limits)
    prior: dict[str, float] | None = None
    for pairs in telling[:-1]:
        told = unit_inferred(pairs, sensor_range_pa, prior, limits)
        prior = _softened(told.candidates, limits["unit_changed_probability"])
    return unit_inferred(telling[-1], sensor_range_pa, prior, limits)


def _softened(candidates: Sequence[Candidate], changed: float) -> dict[str, float]:
    even = changed / len(candidates)
    return {each.unit: (1 - changed) * each.probability + even for each in candidates}
