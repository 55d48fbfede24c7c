"""What known pressures tell of a display's unit and of a sensor, in answers."""

from api.serializers.fields import Answer, number, one_of, text, whole

UNIT_BY_PAIRS = ("decided", "cannot be told")
UNIT_BY_PHYSICS = ("one remains", "several remain", "none remains")
WITHIN_TOLERANCE = ("within", "outside", "cannot be told")


class CandidateAnswer(Answer):
    """A unit with its probability."""

    unit = text("The unit, or none of these.")
    probability = number("Its probability; those of all candidates add up to 1.")


class FitAnswer(Answer):
    """The line shown = offset + slope x applied, with 95 % limits."""

    slope_per_pa = number("Shown per Pa applied.")
    slope_lower_per_pa = number("Lower limit of the slope.")
    slope_upper_per_pa = number("Upper limit of the slope.")
    offset_shown = number("Shown with nothing applied.")
    offset_lower_shown = number("Lower limit of the offset.")
    offset_upper_shown = number("Upper limit of the offset.")


class UnitByPairsAnswer(Answer):
    """What the slope of the pairs tells of the unit."""

    status = one_of(UNIT_BY_PAIRS, "Whether one unit is decided.")
    reason = text("Why, or why not.")
    n = whole("Pairs it is from.")
    unit = text("The unit that is decided; null where none is.", null=True)
    candidates = CandidateAnswer(many=True, help_text="Every unit, the likeliest first.")
    fit = FitAnswer(
        allow_null=True, help_text="The line through the pairs; null with one pressure alone."
    )
    next_applied_pa = number(
        "Pressure of the pair that tells most, Pa; null where a unit is decided, or the display "
        "falls while the pressure rises.",
        null=True,
    )


class RemainingAnswer(Answer):
    """A unit that is left."""

    unit = text("The unit.")
    condition = text("What must then be so; empty for nothing.")


class ExcludedAnswer(Answer):
    """A unit that is excluded."""

    unit = text("The unit.")
    reason = text("Why it cannot be.")


class UnitByPhysicsAnswer(Answer):
    """Which units bare numbers leave."""

    status = one_of(UNIT_BY_PHYSICS, "How many units are left.")
    reason = text("The same in words, with what to do.")
    remaining = RemainingAnswer(many=True, help_text="Units that are left.")
    excluded = ExcludedAnswer(many=True, help_text="Units that are excluded.")
    settling_applied_pa = number(
        "Pressure that settles it beside a zero, Pa; null where one unit remains.", null=True
    )


class UnitAnswer(Answer):
    """Which unit a display shows."""

    by_pairs = UnitByPairsAnswer(allow_null=True, help_text="Null where no pair was sent.")
    by_physics = UnitByPhysicsAnswer(
        allow_null=True, help_text="Null where no bare number was sent."
    )


class MeasureAnswer(Answer):
    """A measure of the sensor with its 95 % limits."""

    value = number("The measure; null where it is not known.", null=True)
    lower = number("Lower limit; null where it is not known.", null=True)
    upper = number("Upper limit; null where it is not known.", null=True)
    verdict = one_of(WITHIN_TOLERANCE, "Against its tolerance, by its limits.")
    reason = text("How it was come by, or why it is not known.")


class SensorAnswer(Answer):
    """Whether a sensor reads true, and whether its zero lets readings be graded."""

    verdict = one_of(WITHIN_TOLERANCE, "All measures together.")
    reason = text("Why.")
    n = whole("Known pressures it is from.")
    n_at_rest = whole("Readings at rest that the zero is from; 0: it is drawn from the line.")
    zero = MeasureAnswer(help_text="Indicated with nothing applied, Pa.")
    gain = MeasureAnswer(help_text="Indicated per applied, a ratio.")
    linearity = MeasureAnswer(help_text="Largest departure from the line, Pa.")
    hysteresis = MeasureAnswer(help_text="Largest falling less rising, Pa.")
    grading = one_of(
        ("grade", "raised speed only", "hold"), "What the zero lets be graded by pressure."
    )
    grading_reason = text("Why.")
    finding = text("State of the finding sensor_check; null where none can be told.", null=True)
