"""The form that says what a job line means: one row a thing it tells of."""

from typing import TYPE_CHECKING, Any

from django import forms

from garage.records.choices import LineStatus, OperationKind, System
from garage.records.services.job_lines import LineMeaning

Choices = list[tuple[str, str]]
#: Rows offered where a line tells of several things.
SEVERAL = 4


class MeaningForm(forms.Form):
    """One thing the line tells of; a row without a status says nothing."""

    status = forms.ChoiceField(
        label="It was", required=False, choices=[("", "nothing more"), *LineStatus.choices]
    )
    operation = forms.ChoiceField(
        label="Operation", required=False, choices=[("", "none named"), *OperationKind.choices]
    )
    part_kind = forms.ChoiceField(label="Part kind", required=False)
    system = forms.ChoiceField(
        label="System, without a part kind",
        required=False,
        choices=[("", "that of the part"), *System.choices],
    )

    def __init__(self, *said: Any, kinds: Choices, **more: Any) -> None:
        super().__init__(*said, **more)
        # A guess sent back unchanged is an answer too.
        self.empty_permitted = False
        field = self.fields["part_kind"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", "none of the catalogue"), *kinds]

    def clean(self) -> dict[str, Any]:
        said: dict[str, Any] = super().clean() or {}
        if said.get("status") == LineStatus.DONE and not said.get("operation"):
            self.add_error(
                "operation", "Work that was done names its operation. Choose it, or another status."
            )
        return said


if TYPE_CHECKING:
    _Rows = forms.BaseFormSet[MeaningForm]
else:
    _Rows = forms.BaseFormSet


class MeaningSet(_Rows):
    """All that the line tells of."""

    def meanings(self) -> list[LineMeaning]:
        """What was said, without the rows that say nothing."""
        return [LineMeaning(**said) for said in self.cleaned_data if said.get("status")]

    def clean(self) -> None:
        if not any(form.cleaned_data.get("status") for form in self.forms if form.is_valid()):
            raise forms.ValidationError("Say what the line tells of, or that it tells of nothing.")


def meaning_set(
    data: Any = None, *, initial: list[dict[str, str]], kinds: Choices, name: str, rows: int = 1
) -> MeaningSet:
    """The rows of a line, begun with the guess; `name` keeps the ids of one page apart."""
    made = forms.formset_factory(
        MeaningForm,
        formset=MeaningSet,
        extra=max(rows - len(initial), 0),
        max_num=max(rows, len(initial)),
    )
    rows_made = made(
        data,
        initial=initial,
        prefix="means",
        auto_id=f"{name}_%s",
        form_kwargs={"kinds": kinds},
    )
    assert isinstance(rows_made, MeaningSet)
    return rows_made
