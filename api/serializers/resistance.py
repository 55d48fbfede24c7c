"""A filter's resistance, what a family's sound filters read, and the ash budget, in answers."""

from rest_framework import serializers

from api.serializers.fields import Answer, number, one_of, text, texts, whole, yes_no
from garage.evidence.resistance.ash import AshStatus
from garage.evidence.resistance.model import IndexStatus
from garage.evidence.resistance.ratio import RatioStatus
from garage.evidence.resistance.reference import ReferenceStatus
from garage.evidence.resistance.soot import IntervalStatus
from garage.evidence.resistance.states import FilterState, Layout, StatesStatus
from garage.evidence.resistance.visit_said import FlowFrom

_INDEX = "mbar per m³/h at 256 m³/h and 250 °C"


class FlowAnswer(Answer):
    """Volume flow at the filter."""

    flow_m3_per_h = number("m³/h at filter temperature; null where not known.", null=True)
    uncertainty_m3_per_h = number("Standard uncertainty, m³/h; null where not known.", null=True)
    reason = text("What of it was taken and not read, or why it is not known.")


class ResistancePointAnswer(Answer):
    """A pressure with the flow at that moment."""

    condition = one_of(("idle", "raised", "load"), "What the engine was doing.")
    speed_rpm = number("Engine speed, rpm; null where it was not noted.", null=True)
    typed = text("Value and unit as they were shown.")
    corrected_mbar = number("With the zero taken off, mbar; null without a zero.", null=True)
    temperature_c = number("Exhaust before the filter, °C; null where not read.", null=True)
    flow_from = one_of(FlowFrom, "What the flow was reckoned from.")
    flow = FlowAnswer(source="point.flow", help_text="Volume flow at the filter.")


class ResistanceIndexAnswer(Answer):
    """Pressure over flow, so that readings at other speeds and temperatures compare."""

    index_status = one_of(IndexStatus, "What the index rests on.", source="status")
    reason = text("The same in words.")
    n = whole("Points used, the zero not among them.")
    resistance_mbar_per_m3_per_h = number(f"{_INDEX}; null where it cannot be told.", null=True)
    low = number(f"Lower 95 % limit, {_INDEX}; null where there is none.", null=True)
    high = number(f"Upper 95 % limit, {_INDEX}; null where there is none.", null=True)
    square_share = number(
        "Share of the term in the square of the flow, 0 to 1; null where not known.", null=True
    )


class RatioAnswer(Answer):
    """How pressure grew from idle to raised speed."""

    ratio_status = one_of(RatioStatus, "What the growth speaks for.", source="status")
    reason = text("The same in words.")
    ratio = number("Raised over idle; null where not known.", null=True)
    as_filter_ratio = number("What a filter's would be; null where not known.", null=True)
    as_hole_ratio = number("What a hole's would be; null where not known.", null=True)


class StateRangeAnswer(Answer):
    """Where the index of one state lies."""

    state = one_of(FilterState, "The state.")
    least = number(f"From, {_INDEX}.")
    most = number(f"To, {_INDEX}; null where it has no top.", null=True)
    rests_on = text("What the range rests on.")


class StatesAllowedAnswer(Answer):
    """States of the filter that the index allows; several may hold."""

    states_status = one_of(StatesStatus, "Whether the index grades.", source="status")
    reason = text("In words, with what tells them apart.")
    allowed = texts("States that the index meets, in no order of chance; empty where none.")
    ranges = StateRangeAnswer(many=True, help_text="The ranges that it was held to.")


class QuantileAnswer(Answer):
    """A share of the vehicles that read no more."""

    share = number("The share, 0 to 1.")
    value = number("In the unit of its reference; null where it cannot be told.", null=True)
    low = number("Lower 95 % limit; null where not reached.", null=True)
    high = number("Upper 95 % limit; null where not reached.", null=True)
    reason = text("Vehicles it is from, or what is not reached.")


class ReferenceAnswer(Answer):
    """What sound filters read, over vehicles."""

    reference_status = one_of(ReferenceStatus, "Whether it is the family's own.", source="status")
    reason = text("What it rests on.")
    basis = text("How far it can be trusted, in words.", source="basis.words")
    n = whole("Vehicles, one value each.")
    readings = whole("Readings it is from.")
    quantiles = QuantileAnswer(many=True, help_text="5, 10, 50, 90 and 95 %.")


class PlainReferenceAnswer(Answer):
    """Pressure of sound filters at one condition and with one sensor layout, mbar."""

    at = one_of(("idle", "raised"), "What the engine was doing.", source="condition")
    sensor_layout = one_of(Layout, "How the sensor is connected.", source="layout")
    reference = ReferenceAnswer(help_text="In mbar, with the zero taken off.")


class LeftOutAnswer(Answer):
    """Jobs whose readings went into no reference."""

    reason = text("Why.")
    jobs = whole("How many.")


class FamilyReferencesAnswer(Answer):
    """What the sound filters of an engine family read."""

    index = ReferenceAnswer(help_text=f"Index, two hoses, {_INDEX}.")
    plain = PlainReferenceAnswer(many=True, help_text="Pressures whatever the flow.")
    left_out = LeftOutAnswer(many=True, help_text="What could not be used, and why.")


class LeftOutReadingAnswer(Answer):
    """A reading that was not used."""

    what = text("The reading.")
    reason = text("Why it was not used.")


class JobResistanceAnswer(Answer):
    """What the pressures of one job at one phase say of the filter."""

    phase = text("When it was read.")
    sensor_layout = one_of(Layout, "How the sensor is connected.", source="visit.layout")
    points = ResistancePointAnswer(
        many=True, source="visit.points", help_text="Pressures with their flows."
    )
    missing = serializers.ListField(
        child=serializers.CharField(),
        source="visit.missing",
        read_only=True,
        help_text="What was not read, by name.",
    )
    left_out = LeftOutReadingAnswer(many=True, help_text="Readings not used, and why.")
    index = ResistanceIndexAnswer(help_text="Pressure over flow.")
    ratio = RatioAnswer(help_text="Growth from idle to raised speed.")
    states = StatesAllowedAnswer(help_text="States of the filter that the index allows.")
    family = ReferenceAnswer(help_text=f"What the states were held to, {_INDEX}.")
    volume_l = number("Volume of the filter, L; null where not known.", null=True)
    after_completed_burn = yes_no("Whether it was read just after a burn proven completed.")
    take_next = texts("What to do next, the first first.")


class RangeAnswer(Answer):
    """A figure known only between limits."""

    least = number("At least.")
    likely = number("Likely.")
    most = number("At most.")


def _range(meaning: str) -> RangeAnswer:
    return RangeAnswer(allow_null=True, help_text=f"{meaning}; null where not known.")


class AshAnswer(Answer):
    """How much ash is in the filter, and how far until it is full."""

    ash_status = one_of(AshStatus, "How far the budget goes.", source="status")
    reason = text("The same in words.")
    ash_percent = RangeAnswer(help_text="Sulphated ash of the oil, % by mass.")
    ash_g_per_1000_km = _range("Ash that the filter keeps, g per 1000 km")
    ash_by_now_g = _range("Ash by now, g")
    full_at_g = _range("Ash of a full filter, g")
    full_after_km = _range("How far a new filter goes, km")
    remaining_km = _range("How far this one still goes, km")


class BurnIntervalAnswer(Answer):
    """Distance between burns beside what the duty leads to expect."""

    interval_status = one_of(IntervalStatus, "How it compares.", source="status")
    reason = text("The same in words.")
    expected_km = _range("Expected, km")


class AshBudgetAnswer(Answer):
    """Ash and soot, reckoned from what was said; nothing is kept."""

    ash = AshAnswer(help_text="The ash budget.")
    interval = BurnIntervalAnswer(help_text="The soot balance.")
