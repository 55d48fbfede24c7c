"""What may be asked of a filter's resistance, its ash and its soot."""

from typing import Any

from rest_framework import serializers

from api.number_fields import NumberField
from api.parameters import ChosenField, ViewQuery
from garage.evidence.resistance.ash import OilCategory
from garage.evidence.resistance.deposits import (
    FARTHEST_KM,
    LEAST_L,
    MOST_ENGINE_L,
    MOST_FILTER_L,
    MOST_OIL_L_PER_1000_KM,
    DepositsSaid,
)
from garage.evidence.resistance.soot import Duty
from garage.records.choices import JobPhase


def _number(name: str, least: float, most: float, meaning: str) -> NumberField:
    rule = f"{name} must be a number from {least:g} to {most:g}."
    return NumberField(
        min_value=least,
        max_value=most,
        required=False,
        help_text=f"{meaning}; left out: not known.",
        error_messages=dict.fromkeys(
            ("invalid", "min_value", "max_value", "max_string_length"), rule
        ),
    )


class ResistanceQuery(ViewQuery):
    """Which readings of a job, and the engine."""

    phase = ChosenField(
        JobPhase.values,
        required=False,
        default=JobPhase.ARRIVAL.value,
        help_text="When it was read; left out: on arrival.",
    )
    displacement_l = _number(
        "displacement_l",
        LEAST_L,
        MOST_ENGINE_L,
        "Engine's displacement, L, by which flow is reckoned where the vehicle gives none",
    )


class AshBudgetBody(serializers.Serializer[Any]):
    """What fills the filter; what is left out is not known."""

    oil_l_per_1000_km = _number(
        "oil_l_per_1000_km", 0.0, MOST_OIL_L_PER_1000_KM, "Oil topped up, L per 1000 km"
    )
    category = ChosenField(
        OilCategory, required=False, help_text="Category of the oil; left out: any may be."
    )
    volume_l = _number("volume_l", LEAST_L, MOST_FILTER_L, "Volume of the filter, L")
    on_filter_km = _number(
        "on_filter_km", 0.0, FARTHEST_KM, "Driven since the filter was new or cleaned, km"
    )
    duty = ChosenField(Duty, required=False, help_text="How it is driven; left out: not known.")
    burn_interval_km = _number(
        "burn_interval_km", 0.0, FARTHEST_KM, "Mean distance between completed burns, km"
    )


def deposits_asked(said: dict[str, Any]) -> DepositsSaid:
    """What a body that holds says."""
    category, duty = said.get("category"), said.get("duty")
    return DepositsSaid(
        oil_l_per_1000_km=said.get("oil_l_per_1000_km"),
        category=None if category is None else OilCategory(category),
        volume_l=said.get("volume_l"),
        on_filter_km=said.get("on_filter_km"),
        duty=None if duty is None else Duty(duty),
        burn_interval_km=said.get("burn_interval_km"),
    )
