"""The limits that signs of a reset fault memory are held against."""

from garage.evidence.thresholds import Basis, Threshold, Thresholds

#: Where the counter of kilometres since a clear stops (SAE J1979, from memory).
HOLDS_AT_KM = 65_535

DEFAULTS = Thresholds(
    [
        Threshold(
            "recent_clear_km", 200.0, "km", "distance since a clear that is short", Basis.PRACTICE
        ),
        Threshold(
            "recent_warm_ups", 20.0, "", "warm-ups since a clear that are few", Basis.PRACTICE
        ),
        Threshold(
            "reset_slack_km", 5.0, "km", "odometer beyond the counter, by rounding", Basis.PRACTICE
        ),
        Threshold(
            "reset_slack_share",
            0.015,
            "",
            "odometer beyond the counter, by tyres, as a share of the distance driven",
            Basis.PRACTICE,
            most=0.2,
        ),
        Threshold(
            "lamp_time_long_min",
            60.0,
            "min",
            "engine time with the fault lamp on that is more than a start or two",
            Basis.JUDGEMENT,
        ),
        Threshold(
            "mean_speed_low_km_h",
            25.0,
            "km/h",
            "mean speed of a life below which it was town and idling",
            Basis.PRACTICE,
        ),
        Threshold(
            "mean_speed_high_km_h",
            60.0,
            "km/h",
            "mean speed of a life above which it was long roads",
            Basis.PRACTICE,
        ),
        Threshold(
            "mean_speed_most_km_h",
            130.0,
            "km/h",
            "mean speed of a life that no vehicle reaches: hours and odometer are not one life's",
            Basis.JUDGEMENT,
        ),
        Threshold(
            "burn_interval_fall_share",
            0.2,
            "",
            "fall of the mean distance between burns that is more than other roads would do",
            Basis.JUDGEMENT,
            most=0.9,
        ),
        Threshold(
            "odometers_differ_km",
            100.0,
            "km",
            "difference between two odometers of one vehicle",
            Basis.PRACTICE,
        ),
        Threshold(
            "odometers_differ_share",
            0.01,
            "",
            "difference between two odometers of one vehicle, as a share of the larger",
            Basis.PRACTICE,
            most=0.2,
        ),
    ]
)
