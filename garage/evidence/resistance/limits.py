"""Thresholds of this package: the figures that judgement or practice has set."""

from garage.evidence.findings.limits import limits_shared
from garage.evidence.resistance.deposit_limits import ASH, SOOT
from garage.evidence.resistance.reading_limits import READING
from garage.evidence.thresholds import Basis, Threshold, Thresholds

_FIELD = "field values of cars and light vans, two-hose sensor, engine hot"

_FLOW = (
    Threshold(
        "exhaust_per_air_least",
        1.02,
        "",
        "exhaust mass per air mass, least",
        Basis.MEMORY,
        "fuel added to the air of a diesel engine at light load",
        1.0,
        1.1,
    ),
    Threshold(
        "exhaust_per_air_most",
        1.05,
        "",
        "exhaust mass per air mass, most",
        Basis.MEMORY,
        "fuel added to the air of a diesel engine at load",
        1.0,
        1.1,
    ),
    Threshold(
        "unmeasured_barometer_mbar",
        990.0,
        "mbar",
        "air pressure taken where none was read",
        Basis.JUDGEMENT,
        "",
        500.0,
        1100.0,
    ),
    Threshold(
        "unmeasured_barometer_uncertainty_mbar",
        35.0,
        "mbar",
        "standard uncertainty of an air pressure that was not read (sea level to about 700 m)",
        Basis.JUDGEMENT,
        "",
        1.0,
        200.0,
    ),
    Threshold(
        "filling_share",
        0.85,
        "",
        "cylinder filling of a diesel engine without load",
        Basis.MEMORY,
        "internal combustion engine textbooks, 0.80 to 0.90 at light load",
        0.3,
        3.0,
    ),
    Threshold(
        "filling_uncertainty_share",
        0.08,
        "",
        "standard uncertainty of the cylinder filling",
        Basis.JUDGEMENT,
        "",
        0.005,
        0.5,
    ),
    Threshold(
        "recirculation_most_share",
        0.4,
        "",
        "largest share of the filling that recirculated gas takes where it is not known",
        Basis.JUDGEMENT,
        "",
        0.0,
        0.9,
    ),
    Threshold(
        "flow_error_correlation",
        0.5,
        "",
        "how far the flows of one visit err together (same meter, same fuel factor)",
        Basis.JUDGEMENT,
        "",
        0.0,
        0.99,
    ),
)

_INDEX = (
    Threshold(
        "flow_spread_fewest_times",
        1.5,
        "",
        "how many times the least flow the greatest must be, to part the two terms",
        Basis.JUDGEMENT,
        "",
        1.05,
        10.0,
    ),
    Threshold(
        "index_confidence_share",
        0.95,
        "",
        "confidence of the printed interval",
        Basis.JUDGEMENT,
        "",
        0.5,
        0.999,
    ),
    Threshold(
        "scatter_chance_share",
        0.05,
        "",
        "chance below which the points are said not to lie on one curve",
        Basis.JUDGEMENT,
        "",
        0.0001,
        0.5,
    ),
)

_STATES = (
    Threshold(
        "worked_model_spread_share",
        0.5,
        "",
        "how far the worked model may be off, each way",
        Basis.MEMORY,
        "permeabilities of the order found in papers on wall-flow filters",
        0.0,
        0.95,
    ),
    Threshold(
        "loaded_from_g_per_l",
        4.0,
        "g/L",
        "soot from which a filter counts as loaded",
        Basis.MEMORY,
        "usual burn trigger of silicon-carbide car filters, 4 to 8 g/L",
        0.1,
        20.0,
    ),
    Threshold(
        "edge_share",
        0.2,
        "",
        "how near a limit a value is at its edge (2500 and 3000 rpm differ by a fifth in flow)",
        Basis.PRACTICE,
        _FIELD,
        0.0,
        0.5,
    ),
    Threshold(
        "family_vehicles_fewest",
        10.0,
        "",
        "vehicles below which a family has no range of its own",
        Basis.JUDGEMENT,
        "",
        3.0,
        1000.0,
    ),
)

LIMITS: tuple[Threshold, ...] = (*_FLOW, *READING, *_INDEX, *_STATES, *ASH, *SOOT)

DEFAULTS = Thresholds(
    (
        *LIMITS,
        *limits_shared(
            "zero_good_mbar",
            "zero_most_mbar",
            "idle_usual_most_mbar",
            "raised_least_rpm",
            "raised_most_rpm",
            "raised_sound_least_mbar",
            "raised_usual_most_mbar",
            "raised_very_low_mbar",
            "plain_low_most_l",
            "clean_share_least",
            "slope_idle_least_mbar",
            "post_burn_most_km",
            "post_burn_most_min",
        ),
    )
)
