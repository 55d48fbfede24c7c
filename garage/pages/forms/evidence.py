"""Forms of a job's evidence: a finding, cautions confirmed by name, what it proved to be."""

from typing import Any

from django import forms

from garage.evidence.findings.vocabulary import Finding, vocabulary
from garage.records.choices import EvidenceList, JobPhase

_Choices = list[tuple[str, str | list[tuple[str, str]]]]
#: Stands first, so that a tap too early says nothing.
_CHOOSE = ("", "choose")


def _findings() -> _Choices:
    return [
        _CHOOSE,
        *((each.title, _states_of(each)) for each in vocabulary().findings),
    ]


def _states_of(finding: Finding) -> list[tuple[str, str]]:
    return [
        (f"{finding.key}:{state}", f"{finding.title}: {words}") for state, words in finding.states
    ]


def _outcomes() -> _Choices:
    return [
        _CHOOSE,
        *(
            (
                str(EvidenceList(of).label),
                [(f"{of}:{state}", vocabulary().state_words(of, state)) for state, _ in states],
            )
            for of, states in vocabulary().lists
        ),
    ]


class FindingForm(forms.Form):
    """A finding, of all that there are or, where one is asked for, of its states alone."""

    found = forms.ChoiceField(label="What was found", choices=_findings)
    note = forms.CharField(label="Note", max_length=200, required=False)
    phase = forms.ChoiceField(
        label="When", choices=JobPhase.choices, initial=JobPhase.ARRIVAL, required=True
    )

    def __init__(self, *said: Any, of: str = "", **more: Any) -> None:
        super().__init__(*said, **more)
        if of:
            field = self.fields["found"]
            assert isinstance(field, forms.ChoiceField)  # as it stands above
            field.choices = [_CHOOSE, *_states_of(vocabulary().finding(of))]

    def clean_found(self) -> tuple[str, str]:
        return _parted(self.cleaned_data["found"])


class TakeBackForm(forms.Form):
    seen = forms.IntegerField(widget=forms.HiddenInput)


class CautionForm(forms.Form):
    procedure = forms.CharField(widget=forms.HiddenInput)
    name = forms.CharField(label="I have read them: name", max_length=80)


class OutcomeForm(forms.Form):
    proved = forms.ChoiceField(label="It proved to be", choices=_outcomes)

    def clean_proved(self) -> tuple[str, str]:
        return _parted(self.cleaned_data["proved"])


def _parted(chosen: Any) -> tuple[str, str]:
    key, _, state = str(chosen).partition(":")
    return key, state
