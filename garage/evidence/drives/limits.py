"""Thresholds of this package: what judgement or practice says of soot, heat and burns."""

from garage.evidence.findings.limits import limits_shared
from garage.evidence.resistance.limits import DEFAULTS as RESISTANCE
from garage.evidence.thresholds import Basis, Threshold, Thresholds


def _judged(key: str, value: float, unit: str, title: str, source: str = "") -> Threshold:
    return Threshold(key, value, unit, title, Basis.JUDGEMENT, source)


def _remembered(key: str, value: float, unit: str, title: str, source: str) -> Threshold:
    return Threshold(key, value, unit, title, Basis.MEMORY, source)


_OF_CAR = "4 to 8 g/L in filters of 2.5 to 3.5 L"
_ENGINE = "cars of Euro 5 and 6, before the filter"

LIMITS: tuple[Threshold, ...] = (
    _judged(
        "soot_fall_least_g",
        3.0,
        "g",
        "least fall of reckoned soot that is looked at as a burn",
        "above the steps of a display, well below the 15 to 25 g that start a burn",
    ),
    _judged(
        "soot_block_least_km",
        5.0,
        "km",
        "shortest stretch whose rise of soot counts as one observation",
        "town and open road alternate over some kilometres",
    ),
    _judged(
        "soot_block_steps",
        3.0,
        "",
        "least rise over such a stretch, in steps of the display",
    ),
    _judged(
        "reach_most_km",
        3000.0,
        "km",
        "distance beyond which soot is not said to reach a mass",
        "beyond what is called a long interval more than twice over",
    ),
    _judged(
        "oxidation_fastest_g_per_min",
        5.0,
        "g/min",
        "fastest fall of soot that burning explains",
        "40 g, the most that a burn is begun with, in 10 min, the shortest usual, is 4 g/min",
    ),
    _judged(
        "passive_fastest_g_per_min",
        0.3,
        "g/min",
        "fastest fall of soot that burning without a burn's heat explains",
        "a usual filter's 18 g in an hour",
    ),
    Threshold(
        "passive_least_c",
        250.0,
        "°C",
        "inlet temperature below which soot does not burn away on the road",
        Basis.MEMORY,
        "nitrogen dioxide burns soot at 250 to 400 °C",
    ),
    Threshold(
        "additive_burn_c",
        450.0,
        "°C",
        "inlet temperature from which soot with a fuel additive burns",
        Basis.MEMORY,
        "ignition with a fuel-borne catalyst at 450 to 500 °C",
    ),
    _judged(
        "burn_least_min",
        5.0,
        "min",
        "least time hot of a completed burn",
        "half of the shortest usual, 10 min, as a log may begin late",
    ),
    _judged("burn_left_share", 0.35, "", "most soot left by a completed burn, share of the start"),
    _judged("heat_before_fall_min", 30.0, "min", "how long before a fall heat still belongs to it"),
    _judged("temperature_gap_s", 60.0, "s", "longest gap between temperatures that hides no burn"),
    _judged("interval_steady_share", 0.3, "", "change up to which burn intervals are steady"),
    _remembered(
        "burn_trigger_least_g", 15.0, "g", "soot at which a car's burn starts, least", _OF_CAR
    ),
    _remembered(
        "burn_trigger_most_g", 25.0, "g", "soot at which a car's burn starts, most", _OF_CAR
    ),
    _remembered("rate_usual_most_g_per_km", 0.06, "g/km", "soot of mixed driving, most", _ENGINE),
    _remembered("rate_town_most_g_per_km", 0.1, "g/km", "soot of cold town driving, most", _ENGINE),
    _remembered("rate_fault_g_per_km", 0.2, "g/km", "soot from which a fault is likely", _ENGINE),
)
DEFAULTS = Thresholds(
    (
        *LIMITS,
        *limits_shared(
            "burn_proven_c",
            "interval_short_km",
            "interval_long_km",
            "soot_unknown_g_per_l",
            "soot_silicon_carbide_g_per_l",
        ),
        *(RESISTANCE.told(f"burn_trigger_{end}_g_per_l") for end in ("least", "most")),
    )
)
