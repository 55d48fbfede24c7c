"""Forms of a job's gauges: pairs, a display's unit, findings kept, what the hoses did."""

from typing import Any

from django import forms

from garage.evidence.gauges.hoses import HoseReadings
from garage.evidence.gauges.units import PA_PER_UNIT, symbol_of
from garage.pages.forms.fields import FloatTyped, YesNoField
from garage.pages.forms.of_workshop import InstrumentField, OfWorkshop
from garage.records.choices import JobPhase
from garage.records.models import Instrument

#: The units in front that a workshop's gauges show.
_GAUGE_UNITS = ("mbar", "hPa", "kPa", "psi", "bar", "Pa", "inH2O", "inHg", "mmH2O", "mmHg")
_FAMILY, _ALL = "family", "all"


def _instrument(label: str, **more: Any) -> InstrumentField:
    return InstrumentField(Instrument.objects.none(), label=label, **more)


class PairForm(OfWorkshop):
    """A pair; displays of bare numbers stand in front."""

    display = _instrument("Display that was read", empty_label=None)
    shown = forms.CharField(
        label="Shown", max_length=20, help_text="All digits as they stand: 5.0 is not 5."
    )
    applied = forms.CharField(label="Applied, by the known gauge", max_length=20)
    applied_unit = forms.ChoiceField(
        label="Unit of the gauge", choices=[(each, each) for each in _GAUGE_UNITS]
    )
    gauge = _instrument("Known gauge", required=False, empty_label="not listed")
    largest_error = forms.CharField(
        label="Its largest error, in its unit",
        max_length=20,
        required=False,
        help_text="From its sheet. May stay empty where it is kept of the gauge.",
    )
    falling = forms.ChoiceField(
        label="Pressure was",
        choices=[("", "raised to it"), ("falling", "let down to it")],
        required=False,
    )

    def __init__(self, *said: Any, organisation_id: int, **more: Any) -> None:
        super().__init__(*said, organisation_id=organisation_id, **more)
        field = self.fields["display"]
        assert isinstance(field, InstrumentField)
        of_workshop = Instrument.objects.filter(organisation_id=organisation_id)
        field.queryset = of_workshop.order_by("unit", "name")

    def clean_falling(self) -> bool:
        return bool(self.cleaned_data["falling"])


class ShownByForm(OfWorkshop):
    """Which display showed bare numbers: one that names no unit."""

    instrument = _instrument("They were shown by", empty_label="choose")

    def __init__(self, *said: Any, organisation_id: int, **more: Any) -> None:
        super().__init__(*said, organisation_id=organisation_id, **more)
        field = self.fields["instrument"]
        assert isinstance(field, InstrumentField)
        field.queryset = Instrument.objects.filter(organisation_id=organisation_id, unit="")


class ConfirmForm(forms.Form):
    """The unit of a display, for one engine family or for all."""

    instrument = forms.IntegerField(widget=forms.HiddenInput)
    unit = forms.ChoiceField(
        label="It shows",
        choices=[("", "choose"), *((symbol_of(each), each) for each in PA_PER_UNIT)],
    )
    reach = forms.ChoiceField(label="On")

    def __init__(self, *said: Any, family: str | None, **more: Any) -> None:
        super().__init__(*said, **more)
        reach = self.fields["reach"]
        assert isinstance(reach, forms.ChoiceField)
        own = [] if family is None else [(_FAMILY, f"vehicles of {family}")]
        reach.choices = [*own, (_ALL, "every vehicle")]

    def clean_reach(self) -> bool:
        """Whether it holds for the engine family alone."""
        return bool(self.cleaned_data["reach"] == _FAMILY)


class PairRemoveForm(forms.Form):
    pair = forms.IntegerField(widget=forms.HiddenInput)


class KeepForm(forms.Form):
    """A finding that the page tells, kept by one tap."""

    found = forms.CharField(widget=forms.HiddenInput)
    phase = forms.ChoiceField(choices=JobPhase.choices, widget=forms.HiddenInput)

    def clean_found(self) -> tuple[str, str]:
        key, _, state = str(self.cleaned_data["found"]).partition(":")
        return key, state


class HosesForm(forms.Form):
    """What the reading did, beside its values; nothing of it is kept."""

    phase = forms.CharField(widget=forms.HiddenInput, required=False)
    moved = YesNoField(label="Did the reading move in a snap of the engine speed?")
    response_s = FloatTyped(label="After how many s did it follow?", required=False)
    fall_after_off_s = FloatTyped(
        label="Switched off: after how many s was it back at zero?", required=False
    )
    one_hose = YesNoField(label="Has the sensor one hose only?")
    blown_through = forms.BooleanField(label="Hoses blown through, free", required=False)
    filter_seen_sound = forms.BooleanField(label="Looked into the filter: sound", required=False)

    def seen(self) -> HoseReadings:
        """What was said; nothing of a form that does not hold."""
        said = {name: value for name, value in self.cleaned_data.items() if name != "phase"}
        return HoseReadings(**said)

    def clean(self) -> dict[str, Any]:
        said: dict[str, Any] = super().clean() or {}
        for name in ("response_s", "fall_after_off_s"):
            if (said.get(name) or 0) < 0:
                self.add_error(name, "A time is 0 s or more. Leave it empty if it was not timed.")
        if said.get("moved") is False and said.get("response_s") is not None:
            self.add_error("response_s", "A reading that did not move has no time. Leave one out.")
        return said
