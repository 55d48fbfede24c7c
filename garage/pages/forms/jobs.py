"""Forms of a job: opened, changed, closed; what was done, advised and read at it."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.db.models import Model

from garage.evidence.quantities.catalogue import quantities
from garage.pages.forms.fields import DayField, DecimalTyped, YesNoField
from garage.pages.forms.of_workshop import InstrumentField, OfWorkshop
from garage.records.choices import (
    Cause,
    ComebackState,
    CustomerAnswer,
    DistanceUnit,
    EngineCondition,
    FoundInPlace,
    JobPhase,
    OperationKind,
    Origin,
    RemovedBecause,
    SensorLayout,
    System,
)
from garage.records.models import Fitment, Instrument, Membership, PartKind
from garage.records.services.looks import NOT_LOOKED

_NOT_SAID = ("", "not said")
_NOTHING_ELSEWHERE = "none"
_LOOKS = [*FoundInPlace.choices, (NOT_LOOKED, "not looked")]
#: What can be said of a part that no record tells of.
_FOUND = [*((code, f"it is {label}") for code, label in Origin.choices), (NOT_LOOKED, "not looked")]
_STATED_REMOVALS = [
    each for each in RemovedBecause.choices if each[0] != RemovedBecause.REPLACED_ELSEWHERE
]


class FactsForm(forms.Form):
    """What is known of a job; the organisation's members may be named as its technician."""

    system = forms.ChoiceField(
        label="What it is about",
        choices=System.choices,
        initial=System.EXHAUST_AFTERTREATMENT,
    )
    planned = YesNoField(label="Was the visit planned?")
    complaint = forms.CharField(label="Complaint", max_length=300, required=False)
    trouble_codes = forms.CharField(
        label="Trouble codes", max_length=300, required=False, help_text="Apart by blanks."
    )
    odometer = DecimalTyped(label="Odometer as shown", min_value=0, max_digits=12, required=False)
    unit = forms.ChoiceField(label="Unit", choices=DistanceUnit.choices)
    elsewhere = forms.MultipleChoiceField(
        label="Repaired elsewhere since the last job here, says the keeper",
        choices=[(_NOTHING_ELSEWHERE, "nothing"), *System.choices],
        widget=forms.CheckboxSelectMultiple,
        required=False,
        help_text="Leave all empty if nobody asked.",
    )
    technician_id = forms.TypedChoiceField(
        label="Technician", coerce=int, empty_value=None, required=False
    )

    def __init__(self, *said: Any, organisation_id: int, **more: Any) -> None:
        super().__init__(*said, **more)
        members = Membership.objects.filter(organisation_id=organisation_id).select_related("user")
        choices = [(each.user_id, each.user.get_username()) for each in members.order_by("pk")]
        field = self.fields["technician_id"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [_NOT_SAID, *choices]

    def clean(self) -> dict[str, Any]:
        """Nothing ticked: not asked. “Nothing” ticked: asked, and none."""
        said: dict[str, Any] = super().clean() or {}
        ticked = said.pop("elsewhere", [])
        named = tuple(each for each in ticked if each != _NOTHING_ELSEWHERE)
        if named and _NOTHING_ELSEWHERE in ticked:
            self.add_error("elsewhere", "Nothing and something were both ticked; untick one.")
        said["repaired_elsewhere"] = named if ticked else None
        return said

    @staticmethod
    def ticked(systems: list[str] | None) -> list[str]:
        """What is ticked where this was said before."""
        return [] if systems is None else systems or [_NOTHING_ELSEWHERE]


class LookForm(forms.Form):
    """One tap: is the part in place the one last recorded?"""

    answer = forms.ChoiceField(label="In place is", choices=_LOOKS, widget=forms.RadioSelect)
    mark = forms.CharField(label="Number or mark on it", max_length=60, required=False)


class FoundForm(forms.Form):
    """One tap where no record tells which part is in place."""

    answer = forms.ChoiceField(label="In place is", choices=_FOUND, widget=forms.RadioSelect)
    mark = forms.CharField(label="Number or mark on it", max_length=60, required=False)


def look_form(fitment: Fitment | None, *said: Any, **more: Any) -> forms.Form:
    """The question to ask of a part on record, or of one that nobody has told of yet."""
    return FoundForm(*said, **more) if fitment is None else LookForm(*said, **more)


class OpenForm(FactsForm):
    opened_on = DayField(label="Came in on")
    ref = forms.CharField(
        label="Your reference", max_length=60, required=False, help_text="Empty: one is made."
    )
    photo = forms.FileField(
        label="Photo of the number or mark", required=False, help_text="Up to 20 MB."
    )
    field_order: Sequence[str] = ("opened_on", "odometer", "unit", "complaint", "trouble_codes")


class _PartKindField(forms.ModelChoiceField):
    def label_from_instance(self, obj: Model) -> str:
        return str(vars(obj)["name"])


class OperationForm(forms.Form):
    operation = forms.ChoiceField(label="What was done", choices=OperationKind.choices)
    part_kind = _PartKindField(
        PartKind.objects.order_by("name"),
        label="Part",
        required=False,
        empty_label="none of the catalogue",
    )
    part_named = forms.CharField(label="Another part, named", max_length=60, required=False)
    removed_because = forms.ChoiceField(
        label="Why the old one came out", choices=[_NOT_SAID, *_STATED_REMOVALS], required=False
    )
    part_origin = forms.ChoiceField(
        label="The part now in place is", choices=[_NOT_SAID, *Origin.choices], required=False
    )
    part_mark = forms.CharField(label="Its number or mark", max_length=60, required=False)
    part_brand = forms.CharField(label="Its maker", max_length=60, required=False)
    position = forms.CharField(
        label="Position", max_length=40, required=False, help_text="Empty where there is only one."
    )
    labour_cost = DecimalTyped(label="Labour", min_value=0, max_digits=12, required=False)
    parts_cost = DecimalTyped(label="Parts", min_value=0, max_digits=12, required=False)
    tax_cost = DecimalTyped(label="Tax", min_value=0, max_digits=12, required=False)
    currency = forms.CharField(
        label="Currency", max_length=3, required=False, help_text="Three letters, such as EUR."
    )
    last_sound_odometer = DecimalTyped(
        label="Last known sound at", min_value=0, max_digits=12, required=False
    )
    unit = forms.ChoiceField(label="Unit of it", choices=DistanceUnit.choices, required=False)
    system = forms.ChoiceField(
        label="System", choices=[("", "that of the part or job"), *System.choices], required=False
    )
    found_in_place = forms.ChoiceField(
        label="The old one was", choices=[("", "not looked"), *FoundInPlace.choices], required=False
    )
    note = forms.CharField(label="Note", max_length=500, required=False)


class ClosingForm(forms.Form):
    closed_on = DayField(label="Closed on")
    cause = forms.ChoiceField(
        label="Cause",
        choices=[_NOT_SAID, *Cause.choices],
        required=False,
        help_text="Why it failed, as found. A filter replaced or cleaned needs one.",
    )
    cause_note = forms.CharField(label="On the cause", max_length=300, required=False)
    findings = forms.CharField(
        label="Findings", max_length=1000, required=False, widget=forms.Textarea({"rows": 4})
    )


class ReopenForm(forms.Form):
    reason = forms.CharField(
        label="Why it is opened again", max_length=300, help_text="Kept for good; name nobody."
    )


class AdviceForm(forms.Form):
    text = forms.CharField(label="What was advised", max_length=500)


class AdviceAnswerForm(forms.Form):
    answer = forms.ChoiceField(
        label="The customer has",
        choices=[each for each in CustomerAnswer.choices if each[0] != CustomerAnswer.OPEN],
        widget=forms.RadioSelect,
    )
    answered_by = forms.CharField(label="Who said so", max_length=80)


class ReadingForm(OfWorkshop):
    """A value as it was shown; the organisation's instruments may be named as what showed it."""

    quantity = forms.ChoiceField(
        label="What was read",
        choices=[(each.key, each.title) for each in quantities().values()],
    )
    value = DecimalTyped(label="Value", max_digits=14, decimal_places=4)
    unit = forms.CharField(
        label="Unit as shown", max_length=16, required=False, help_text="Empty: none is shown."
    )
    phase = forms.ChoiceField(label="When", choices=JobPhase.choices)
    condition = forms.ChoiceField(
        label="Engine", choices=[_NOT_SAID, *EngineCondition.choices], required=False
    )
    speed_rpm = forms.IntegerField(
        label="Engine speed, rpm", min_value=0, max_value=10_000, required=False
    )
    instrument = InstrumentField(
        Instrument.objects.none(), label="Read on", required=False, empty_label="not said"
    )
    layout = forms.ChoiceField(
        label="Pressure sensor", choices=[_NOT_SAID, *SensorLayout.choices], required=False
    )
    km_since_burn = forms.IntegerField(
        label="Distance since the last burn, km", min_value=0, max_value=100_000, required=False
    )
    minutes_since_burn = forms.IntegerField(
        label="Time since the last burn, min", min_value=0, max_value=100_000, required=False
    )
    note = forms.CharField(label="Note", max_length=200, required=False)


class ComebackForm(forms.Form):
    state = forms.ChoiceField(
        label="It is",
        choices=[
            (ComebackState.CONFIRMED, "its comeback"),
            (ComebackState.REFUSED, "another trouble"),
        ],
        widget=forms.RadioSelect,
    )
    reason = forms.CharField(label="Reason, if another", max_length=300, required=False)
