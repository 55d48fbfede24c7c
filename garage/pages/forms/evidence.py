"""Forms of a job's evidence: a finding, cautions confirmed by name, what it proved to be."""

from typing import Any

from django import forms

from garage.evidence.findings.vocabulary import vocabulary
from garage.records.choices import EvidenceList, JobPhase


def _findings() -> list[tuple[str, list[tuple[str, str]]]]:
    return [
        (
            each.title,
            [(f"{each.key}:{state}", f"{each.title}: {words}") for state, words in each.states],
        )
        for each in vocabulary().findings
    ]


def _outcomes() -> list[tuple[str, list[tuple[str, str]]]]:
    return [
        (
            str(EvidenceList(of).label),
            [(f"{of}:{state}", vocabulary().state_words(of, state)) for state, _ in states],
        )
        for of, states in vocabulary().lists
    ]


class FindingForm(forms.Form):
    found = forms.ChoiceField(label="What was found", choices=_findings)
    note = forms.CharField(label="Note", max_length=200, required=False)
    phase = forms.ChoiceField(
        label="When", choices=JobPhase.choices, initial=JobPhase.ARRIVAL, required=True
    )

    def clean_found(self) -> tuple[str, str]:
        return _parted(self.cleaned_data["found"])


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
