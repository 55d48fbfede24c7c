"""The words of the evidence in answers: findings, states, checks, cautions."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.serializers.fields import Answer, number, one_of, text, texts
from garage.evidence.findings.procedures import procedures
from garage.evidence.findings.vocabulary import NEEDS, Finding, Vocabulary
from garage.records.choices import EvidenceList


class StateWordsAnswer(Answer):
    """A state, and what it is called."""

    state = text("Its name in data.")
    words = text("Its name in the trade's words.")


class FindingAnswer(Answer):
    """A thing that may be found."""

    finding = text("Its name in data.", source="key")
    title = text("Its name in the trade's words.")
    check = text("What is done to find it; one check may give several findings.")
    minutes = number("What the check takes, min; common practice, no source.")
    needs = one_of(NEEDS, "The procedure whose cautions come first; null: none.", null=True)
    states = serializers.SerializerMethodField(help_text="What may come of it.")

    @extend_schema_field(StateWordsAnswer(many=True))
    def get_states(self, finding: Finding) -> list[dict[str, str]]:
        return _states(finding.states)


class ListWordsAnswer(Answer):
    """One of the three lists of what may be wrong."""

    list = one_of(EvidenceList, "What it is about.")
    title = text("Its name in the trade's words.")
    states = StateWordsAnswer(many=True, help_text="What may be so.")


class ProcedureAnswer(Answer):
    """The cautions that are read before a step that can hurt."""

    procedure = text("Its name in data.", source="key")
    title = text("Its name in the trade's words.")
    cautions = texts("What is read, and confirmed by name, before the step.")
    said_by = text("Where the cautions are from.", source="source")
    deference = text("What goes before them.")


class VocabularyAnswer(Answer):
    """Everything that may be asked or found."""

    lists = serializers.SerializerMethodField(help_text="What may be wrong: three lists.")
    findings = FindingAnswer(many=True, help_text="Each once.")
    procedures = serializers.SerializerMethodField(help_text="Each once, with its cautions.")

    @extend_schema_field(ListWordsAnswer(many=True))
    def get_lists(self, words: Vocabulary) -> list[dict[str, Any]]:
        return [
            {"list": of, "title": str(EvidenceList(of).label), "states": _states(states)}
            for of, states in words.lists
        ]

    @extend_schema_field(ProcedureAnswer(many=True))
    def get_procedures(self, _: Vocabulary) -> Any:
        return ProcedureAnswer(procedures(), many=True).data


def _states(states: tuple[tuple[str, str], ...]) -> list[dict[str, str]]:
    return [{"state": state, "words": words} for state, words in states]
