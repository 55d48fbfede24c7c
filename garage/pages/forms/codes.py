"""Forms of a job's trouble codes: a line typed, a status byte, a clearing, answers pasted."""

from typing import Any

from django import forms

from garage.evidence.codes.on_board_told import Keepable, OnBoardTold, on_board_told
from garage.evidence.codes.typed_byte import byte_typed
from garage.evidence.findings.vocabulary import vocabulary
from garage.evidence.quantities.catalogue import quantities
from garage.records.choices import CodeState, EngineCondition, JobPhase
from garage.records.models import Job, TroubleCodeRead

#: Longest line and longest paste that are read; a whole memory is far shorter. Judgement.
LINE_CHARACTERS, PASTE_CHARACTERS = 1_000, 20_000


class _WhenForm(forms.Form):
    phase = forms.ChoiceField(
        label="Read", choices=JobPhase.choices, initial=JobPhase.ARRIVAL, required=True
    )


class LineForm(_WhenForm):
    text = forms.CharField(
        label="Codes",
        max_length=LINE_CHARACTERS,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="As in: P2463-92, P244B pending; SPN 3251 FMI 0.",
    )
    ecu = forms.CharField(label="Controller", max_length=40, required=False)
    field_order = ("text", "phase", "ecu")


class StatusForm(forms.Form):
    """The status byte of one code; empty takes it back."""

    code = forms.IntegerField(widget=forms.HiddenInput)
    status_byte = forms.CharField(
        label="Status byte, in hexadecimal",
        max_length=6,
        required=False,
        help_text="As in 2F. Empty: not read.",
    )

    def clean_status_byte(self) -> int | None:
        typed = str(self.cleaned_data["status_byte"]).strip()
        if not typed:
            return None
        try:
            return byte_typed(typed)
        except ValueError as wrong:
            raise forms.ValidationError(f"{wrong}.") from wrong

    @classmethod
    def of(cls, read: TroubleCodeRead) -> "StatusForm":
        kept = read.status_byte
        return cls(
            prefix="status",
            auto_id=f"id_{read.pk}_%s",
            initial={"code": read.pk, "status_byte": "" if kept is None else f"{kept:02X}"},
        )


class ClearForm(forms.Form):
    """Which codes were cleared, all that a tool can clear being ticked, and by whom."""

    codes = forms.TypedMultipleChoiceField(
        label="Codes that were cleared", coerce=int, widget=forms.CheckboxSelectMultiple
    )
    name = forms.CharField(label="Cleared by: name", max_length=80)

    def __init__(self, *said: Any, job: Job, **more: Any) -> None:
        super().__init__(*said, **more)
        rows = job.codes_read.filter(cleared_at__isnull=True).exclude(state=CodeState.PERMANENT)
        choices = [(each.pk, _named(each)) for each in rows.order_by("pk")]
        field = self.fields["codes"]
        assert isinstance(field, forms.TypedMultipleChoiceField)  # as it stands above
        field.choices = choices
        field.initial = [pk for pk, _ in choices]

    @property
    def has_codes(self) -> bool:
        field = self.fields["codes"]
        return bool(getattr(field, "choices", ()))


def _named(read: TroubleCodeRead) -> str:
    failed = "" if read.failure_type is None else f"-{read.failure_type:02X}"
    of = f", {read.ecu}" if read.ecu else ""
    return f"{read.code}{failed}, {read.get_state_display()}, {read.get_phase_display()}{of}"


class NoneForm(_WhenForm):
    """That the memory was read and empty."""


class ValuesForm(forms.Form):
    """Answers of a vehicle, pasted; nothing of them is kept yet."""

    text = forms.CharField(
        label="Answers, in bytes",
        max_length=PASTE_CHARACTERS,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="One answer a line, as in 41 31 01 2C.",
    )


class KeepValuesForm(_WhenForm):
    """Which of the pasted answers are kept."""

    text = forms.CharField(max_length=PASTE_CHARACTERS, widget=forms.HiddenInput)
    chosen = forms.TypedMultipleChoiceField(
        label="Keep as readings", coerce=int, required=False, widget=forms.CheckboxSelectMultiple
    )
    tests = forms.BooleanField(required=False)
    condition = forms.ChoiceField(
        label="Engine",
        choices=[("", "not said"), *EngineCondition.choices],
        required=False,
        help_text="Pressures need it.",
    )
    field_order = ("text", "chosen", "tests", "phase", "condition")

    def __init__(self, *said: Any, told: OnBoardTold, **more: Any) -> None:
        super().__init__(*said, **more)
        field = self.fields["chosen"]
        assert isinstance(field, forms.TypedMultipleChoiceField)  # as it stands above
        field.choices = [(each.at, value_words(each)) for each in told.keepable]
        if not told.keepable:
            del self.fields["chosen"]
        if told.tests is None:
            del self.fields["tests"]
        else:
            finding = vocabulary().finding("self_tests")
            self.fields[
                "tests"
            ].label = f"{finding.title}: {finding.words(told.tests)}".capitalize()

    @classmethod
    def sent(cls, data: Any) -> "KeepValuesForm":
        told = on_board_told(str(data.get("keep-text", ""))[:PASTE_CHARACTERS])
        return cls(data, prefix="keep", told=told)


def value_words(value: Keepable) -> str:
    """A number with the quantity that it is kept as."""
    number = value.decoded
    at_least = "at least " if number.at_least else ""
    title = quantities()[number.quantity].title
    return f"{number.item}: {at_least}{number.value:g} {number.unit} (kept as {title})"
