"""Questions of the page on resistance: the engine's displacement, and what fills the filter."""

from typing import Any

from django import forms

from garage.evidence.jobs.deposits import DepositsKnown
from garage.evidence.resistance.ash import OilCategory, oil_ash_range
from garage.evidence.resistance.deposits import (
    FARTHEST_KM,
    LEAST_L,
    MOST_ENGINE_L,
    MOST_FILTER_L,
    MOST_OIL_L_PER_1000_KM,
    DepositsSaid,
)
from garage.evidence.resistance.soot import DUTY_SOOT_G_PER_KM, Duty
from garage.pages.forms.fields import FloatTyped
from garage.records.choices import JobPhase

#: What is asked, so that an address says which form was sent.
ASKED = "deposits"

_DUTIES = {
    Duty.STEADY_MOTORWAY: "steady motorway",
    Duty.MIXED: "mixed",
    Duty.COLD_URBAN: "cold, in town",
    Duty.WITH_A_FAULT: "with a fault that makes soot",
}


def _categories() -> list[tuple[str, str]]:
    said = [("", "not known")]
    for each in OilCategory:
        ash = oil_ash_range(each)
        said.append((each.value, f"{each.value}, ash {ash.least:.1f} to {ash.most:.1f} %"))
    return said


def _duties() -> list[tuple[str, str]]:
    said = [("", "not known")]
    for each, words in _DUTIES.items():
        soot = DUTY_SOOT_G_PER_KM[each]
        said.append((each.value, f"{words}, {soot.least:g} to {soot.most:g} g/km"))
    return said


class EngineForm(forms.Form):
    """The one thing by which flow is reckoned where the vehicle gives none."""

    phase = forms.ChoiceField(choices=JobPhase.choices, widget=forms.HiddenInput, required=False)
    displacement_l = FloatTyped(
        label="Engine's displacement, L",
        required=False,
        min_value=LEAST_L,
        max_value=MOST_ENGINE_L,
        help_text="Stands in where neither exhaust flow nor air flow was read: wide.",
    )


class DepositsForm(forms.Form):
    """What fills the filter; empty is not known."""

    asked = forms.CharField(widget=forms.HiddenInput, initial=ASKED)
    phase = forms.ChoiceField(choices=JobPhase.choices, widget=forms.HiddenInput, required=False)
    displacement_l = forms.CharField(widget=forms.HiddenInput, required=False, max_length=20)
    oil_l_per_1000_km = FloatTyped(
        label="Oil topped up, L/1000 km",
        required=False,
        min_value=0,
        max_value=MOST_OIL_L_PER_1000_KM,
    )
    category = forms.ChoiceField(label="Oil category", choices=_categories, required=False)
    volume_l = FloatTyped(
        label="Volume of the filter, L", required=False, min_value=LEAST_L, max_value=MOST_FILTER_L
    )
    on_filter_km = FloatTyped(
        label="Driven on this filter, km", required=False, min_value=0, max_value=FARTHEST_KM
    )
    duty = forms.ChoiceField(label="How it is driven", choices=_duties, required=False)
    burn_interval_km = FloatTyped(
        label="Between burns, km", required=False, min_value=0, max_value=FARTHEST_KM
    )


def deposits_said(cleaned: dict[str, Any]) -> DepositsSaid:
    """What a form that holds says."""
    return DepositsSaid(
        oil_l_per_1000_km=cleaned["oil_l_per_1000_km"],
        category=OilCategory(cleaned["category"]) if cleaned["category"] else None,
        volume_l=cleaned["volume_l"],
        on_filter_km=cleaned["on_filter_km"],
        duty=Duty(cleaned["duty"]) if cleaned["duty"] else None,
        burn_interval_km=cleaned["burn_interval_km"],
    )


def deposits_on_record(known: DepositsKnown) -> DepositsSaid:
    """What the records say, before anything was typed."""
    return DepositsSaid(
        oil_l_per_1000_km=known.oil_l_per_1000_km,
        volume_l=known.volume_l,
        on_filter_km=None if known.on_filter_km is None else float(known.on_filter_km),
        duty=known.duty,
        burn_interval_km=known.burn_interval_km,
    )


def deposits_initial(known: DepositsKnown) -> dict[str, Any]:
    """The form as it is first shown: filled with what is on record."""
    return {
        "asked": ASKED,
        "oil_l_per_1000_km": known.oil_l_per_1000_km,
        "volume_l": known.volume_l,
        "on_filter_km": known.on_filter_km,
        "duty": "" if known.duty is None else known.duty.value,
        "burn_interval_km": known.burn_interval_km,
    }
