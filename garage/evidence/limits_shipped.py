"""All limits that the evidence holds values against, each in one place, and in which order."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

from garage.evidence.codes.resets import DEFAULTS as RESETS
from garage.evidence.drives.limits import DEFAULTS as DRIVES
from garage.evidence.drives.limits import LIMITS as DRIVE_LIMITS
from garage.evidence.findings.limits import DEFAULTS as FINDINGS
from garage.evidence.findings.limits import LIMITS as FINDING_LIMITS
from garage.evidence.gauges.limits import DEFAULTS as GAUGES
from garage.evidence.gauges.limits import LIMITS as GAUGE_LIMITS
from garage.evidence.quantities.readings_together import DEFAULTS as TOGETHER
from garage.evidence.quantities.readings_together import LIMITS as TOGETHER_LIMITS
from garage.evidence.resistance.limits import DEFAULTS as RESISTANCE
from garage.evidence.resistance.limits import LIMITS as RESISTANCE_LIMITS
from garage.evidence.thresholds import Threshold, Thresholds


@dataclass(frozen=True, slots=True)
class LimitGroup:
    """The limits of one part of the evidence.

    Attributes
    ----------
    key, title : str
    limits : tuple of Threshold
        Those that have their place here.
    asked : Thresholds
        Those that this part asks for: its own, and some that have their place elsewhere.
    """

    key: str
    title: str
    limits: tuple[Threshold, ...]
    asked: Thresholds

    @classmethod
    def of(
        cls, key: str, title: str, limits: Iterable[Threshold], asked: Thresholds
    ) -> "LimitGroup":
        """The group, each limit with the range that an own value lies in."""
        return cls(key, title, tuple(each.bounded for each in limits), asked)


GROUPS: tuple[LimitGroup, ...] = (
    LimitGroup.of("findings", "What readings mean, and what settles", FINDING_LIMITS, FINDINGS),
    LimitGroup.of("gauges", "Gauges, displays and hoses", GAUGE_LIMITS, GAUGES),
    LimitGroup.of(
        "resistance", "Resistance, ash and soot of the filter", RESISTANCE_LIMITS, RESISTANCE
    ),
    LimitGroup.of("drives", "Logged drives and burns", DRIVE_LIMITS, DRIVES),
    LimitGroup.of("together", "Readings held against each other", TOGETHER_LIMITS, TOGETHER),
    LimitGroup.of("resets", "Resets of fault memory", (RESETS.told(key) for key in RESETS), RESETS),
)
#: Each limit once; that none comes twice is checked when this is read.
SHIPPED = Thresholds([each for group in GROUPS for each in group.limits])

#: Limits that part one scale, the lower in front: out of this order they part nothing.
IN_ORDER: tuple[tuple[str, ...], ...] = (
    ("zero_good_mbar", "zero_most_mbar"),
    ("idle_near_zero_mbar", "idle_usual_most_mbar", "idle_high_mbar"),
    ("raised_least_rpm", "raised_most_rpm"),
    (
        "raised_very_low_mbar",
        "raised_sound_least_mbar",
        "raised_usual_most_mbar",
        "raised_upper_most_mbar",
        "raised_severe_mbar",
    ),
    ("slope_filter_most", "slope_hole_least"),
    ("soot_unknown_g_per_l", "soot_silicon_carbide_g_per_l"),
    ("interval_short_km", "interval_long_km"),
    ("particles_limit_per_cm3", "particles_very_high_per_cm3"),
    ("applied_least_pa", "applied_most_pa"),
    ("raised_any_least_pa", "raised_any_most_pa"),
    ("exhaust_per_air_least", "exhaust_per_air_most"),
    ("ash_capture_least_share", "ash_capture_likely_share", "ash_capture_most_share"),
    ("ash_full_least_g_per_l", "ash_full_likely_g_per_l", "ash_full_most_g_per_l"),
    ("burn_trigger_least_g_per_l", "burn_trigger_likely_g_per_l", "burn_trigger_most_g_per_l"),
    ("burn_trigger_least_g", "burn_trigger_most_g"),
    ("rate_usual_most_g_per_km", "rate_town_most_g_per_km", "rate_fault_g_per_km"),
    ("passive_fastest_g_per_min", "oxidation_fastest_g_per_min"),
)


@dataclass(frozen=True, slots=True)
class OutOfOrder:
    """Two limits of one scale of which the lower lies above the higher."""

    lower: Threshold
    higher: Threshold


def out_of_order(limits: Thresholds) -> Iterator[OutOfOrder]:
    """Which limits of one scale do not rise?

    Examples
    --------
    >>> from garage.evidence.thresholds import Override
    >>> own = SHIPPED.overridden([Override("zero_good_mbar", 6.0, "own gauge")])
    >>> [each.higher.key for each in out_of_order(own)]
    ['zero_most_mbar']
    """
    for scale in IN_ORDER:
        for lower, higher in pairwise(scale):
            if limits[lower] > limits[higher]:
                yield OutOfOrder(limits.told(lower), limits.told(higher))


def range_words(limit: Threshold) -> str:
    """In which range does an own value of this limit lie, in words?

    Examples
    --------
    >>> range_words(SHIPPED.told("zero_good_mbar")), range_words(SHIPPED.told("recent_warm_ups"))
    ('lies from 0.1 to 10 mbar', 'lies from 2 to 200')
    """
    return f"lies from {limit.least:g} to {limit.most:g} {limit.unit}".strip()


def with_unit(limit: Threshold) -> str:
    """The value of a limit with its unit, as printed.

    Examples
    --------
    >>> with_unit(SHIPPED.told("zero_good_mbar"))
    '2 mbar'
    """
    return f"{limit.value:.6g} {limit.unit}".strip()
