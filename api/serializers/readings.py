"""Technical readings of a job in answers."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.serializers.fields import Answer, given_code, given_text, number, one_of, text, whole
from garage.evidence.quantities.catalogue import KINDS, quantities
from garage.evidence.quantities.units import units_of
from garage.evidence.thresholds import Basis
from garage.records.choices import EngineCondition, JobPhase, SensorLayout
from garage.records.models import Reading


class TechnicalReadingAnswer(Answer):
    """One value as it was shown, and in the quantity's standard unit."""

    id = whole("Its number.")
    quantity = text("What was read: a key of /quantities/.")
    value = serializers.DecimalField(
        max_digits=14, decimal_places=4, read_only=True, help_text="As it was shown."
    )
    unit = given_text("As it was shown; null where the display shows none.")
    standard_value = number(
        "The value in the quantity's standard unit; null where its unit is not known.", null=True
    )
    standard_unit = serializers.SerializerMethodField(
        help_text="The quantity's standard unit; null for a quantity that is not known here."
    )
    kind = one_of(KINDS, "How the value came about.")
    phase = one_of(JobPhase, "When it was read.")
    condition = given_code(EngineCondition, "What the engine was doing; null: not said.")
    speed_rpm = whole("Engine speed.", null=True)
    layout = given_code(SensorLayout, "How the pressure sensor is plumbed; null: not said.")
    km_since_burn = whole("Distance since the last burn.", null=True)
    minutes_since_burn = whole("Time since the last burn.", null=True)
    instrument = serializers.SerializerMethodField(
        help_text="Name of the instrument that showed it; null: not said."
    )
    note = given_text("What was added in words.")

    @extend_schema_field(serializers.CharField(allow_null=True))
    def get_standard_unit(self, reading: Reading) -> str | None:
        known = quantities().get(reading.quantity)
        return None if known is None else known.unit.symbol

    @extend_schema_field(serializers.CharField(allow_null=True))
    def get_instrument(self, reading: Reading) -> str | None:
        return None if reading.instrument is None else reading.instrument.name


class QuantityAnswer(Answer):
    """A thing that can be read."""

    key = text("Its name in data.")
    title = text("Its name in the trade's words.")
    unit = text("The standard unit that it is kept in.", source="unit.symbol")
    units = serializers.SerializerMethodField(help_text="Units that it may be given in.")
    least = serializers.SerializerMethodField(help_text="Least that is plausible, in `unit`.")
    most = serializers.SerializerMethodField(help_text="Most that is plausible, in `unit`.")
    basis = one_of(Basis, "How far this range can be trusted.")
    why = text("What the range rests on.")
    kinds = serializers.ListField(
        child=serializers.ChoiceField(choices=[(each, each) for each in KINDS]),
        read_only=True,
        help_text="Ways in which a value may come about, the usual one in front.",
    )

    @extend_schema_field(serializers.ListField(child=serializers.CharField()))
    def get_units(self, quantity: Any) -> list[str]:
        return [each.symbol for each in units_of(quantity.dimension)]

    @extend_schema_field(serializers.FloatField())
    def get_least(self, quantity: Any) -> float:
        return float(quantity.least)

    @extend_schema_field(serializers.FloatField())
    def get_most(self, quantity: Any) -> float:
        return float(quantity.most)


class QuantitiesAnswer(Answer):
    """Everything that can be read."""

    quantities = QuantityAnswer(many=True, help_text="Each once, in the order of the forms.")
