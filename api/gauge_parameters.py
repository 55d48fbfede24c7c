"""What a question about gauges says: known pressures, and what a display showed for them."""

from fractions import Fraction
from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.number_fields import NumberField
from api.parameters import SHOWN_LENGTH
from garage.evidence.gauges.limits import DEFAULTS
from garage.evidence.gauges.typed import Typed, number_typed
from garage.evidence.gauges.units import PA_PER_UNIT, pa_per_unit, symbol_of

#: More are no longer taken by hand, and each costs time. Judgement, no source.
MOST_PAIRS = 50
_SEVERAL: dict[str, Any] = {"many": True, "max_length": MOST_PAIRS}
#: Beyond this a gauge's error was sent wrongly, in whatever unit. Judgement, no source.
_MOST_ERROR = 1_000_000
#: Digits, sign and point of a display. Judgement, no source.
_MOST_SIGNS = 20
_TOLERANCE = DEFAULTS.told("reading_tolerance_share")


@extend_schema_field(OpenApiTypes.STR)
class TypedNumberField(serializers.Field[Typed, Any, str, Any]):
    """A number as text, so that its digits are kept: 5.0 is not 5."""

    def to_internal_value(self, data: Any) -> Typed:
        came = str(data)[:SHOWN_LENGTH]
        if not isinstance(data, str) or len(data) > _MOST_SIGNS:
            raise serializers.ValidationError(
                f"{self.field_name} must be a text of at most {_MOST_SIGNS} signs, so that its "
                f"digits are kept; got {came!r}. Send it as shown, such as '5.0'.",
                "invalid",
            )
        try:
            return number_typed(data)
        except ValueError as refused:
            raise serializers.ValidationError(
                f"{self.field_name} must be a plain number, a comma only for decimals; "
                f"got {came!r}. Send the digits shown, thousands without a comma.",
                "invalid",
            ) from refused


@extend_schema_field(OpenApiTypes.STR)
class PressureUnitField(serializers.Field[Fraction, Any, str, Any]):
    """A unit of pressure, read as how many pascals it is."""

    def to_internal_value(self, data: Any) -> Fraction:
        factor = pa_per_unit(data) if isinstance(data, str) else None
        if factor is None:
            known = ", ".join(map(symbol_of, PA_PER_UNIT))
            raise serializers.ValidationError(
                f"{self.field_name} must be a unit of pressure, such as {known}; "
                f"got {str(data)[:SHOWN_LENGTH]!r}.",
                "invalid",
            )
        return factor


def _typed(meaning: str, **options: Any) -> TypedNumberField:
    return TypedNumberField(help_text=f"{meaning} Text, digits as shown.", **options)


def _unit(meaning: str) -> PressureUnitField:
    return PressureUnitField(help_text=meaning)


def _size(meaning: str, **options: Any) -> NumberField:
    return NumberField(help_text=meaning, **options)


class PairBody(serializers.Serializer[Any]):
    """A known pressure, and the bare number that a display showed for it."""

    applied = _typed("Pressure that the known gauge showed.")
    applied_unit = _unit("Unit of the known gauge.")
    applied_error = _size(
        "Largest error of the known gauge there, in its unit.", min_value=0, max_value=_MOST_ERROR
    )
    shown = _typed("What the display showed.")


class BareBody(serializers.Serializer[Any]):
    """Bare numbers of one display with no known pressure applied."""

    zero = _typed("Key on, engine off.", required=False)
    idle = _typed("Warm, at idle.", required=False)
    raised = _typed("At raised speed without load.", required=False)


class UnitQuestionBody(serializers.Serializer[Any]):
    """What a display showed, beside known pressures or bare."""

    pairs = PairBody(
        **_SEVERAL,
        required=False,
        default=list,
        help_text=f"Known pressures with what was shown, at most {MOST_PAIRS}.",
    )
    bare = BareBody(required=False, help_text="Bare numbers at zero, idle and raised speed.")
    sensor_range_pa = _size(
        "Most that the sensor is made for, Pa; left out: not known.",
        required=False,
        min_value=1,
        max_value=10_000_000,
    )

    def validate(self, said: dict[str, Any]) -> dict[str, Any]:
        if not said["pairs"] and not said.get("bare"):
            raise serializers.ValidationError(
                {"pairs": "pairs or bare must be given; got neither. Send one pair at least."},
                "invalid",
            )
        return said


class PointBody(serializers.Serializer[Any]):
    """A known pressure, and what the sensor indicated in the same unit."""

    applied = _typed("Pressure that the known gauge showed.")
    indicated = _typed("What the sensor indicated.")
    unit = _unit("Unit of both.")
    rising = serializers.BooleanField(
        default=True, help_text="False where the pressure was let down to it."
    )


class RestBody(serializers.Serializer[Any]):
    """What the sensor indicated with no pressure applied."""

    indicated = _typed("What the sensor indicated.")
    unit = _unit("Its unit.")


class SensorQuestionBody(serializers.Serializer[Any]):
    """A sensor held against a known gauge."""

    points = PointBody(
        **_SEVERAL,
        allow_empty=False,
        help_text=f"Known pressures, at most {MOST_PAIRS}.",
    )
    at_rest = RestBody(
        **_SEVERAL,
        required=False,
        default=list,
        help_text="Readings with no pressure applied; the zero is theirs.",
    )
    gauge_error_pa = _size(
        "Largest error of the known gauge, Pa.", min_value=0, max_value=_MOST_ERROR
    )
    sound_idle_pa = _size(
        "What a sound filter of the engine family reads at idle, Pa; left out: not known.",
        required=False,
        min_value=0,
        max_value=1_000_000,
    )
    tolerance_share = _size(
        "Departure of a true sensor as a share of the reading; left out: as shipped.",
        required=False,
        min_value=_TOLERANCE.least,
        max_value=_TOLERANCE.most,
    )
