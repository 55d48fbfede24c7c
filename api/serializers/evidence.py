"""The evidence of a job in answers: what it may be, what to check next, what may be done."""

from enum import Enum
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.serializers.fields import (
    Answer,
    given_text,
    number,
    one_of,
    text,
    texts,
    yes_no,
)
from garage.evidence.findings.conflicts import Kind
from garage.evidence.findings.gate import Way
from garage.evidence.findings.vocabulary import NEEDS, vocabulary
from garage.evidence.jobs.evidence import JobEvidence
from garage.records.choices import EvidenceList, JobPhase


class NamedField(serializers.ChoiceField):
    """A member of an enumeration by its name, for its value is written for people."""

    def to_representation(self, value: Any) -> Any:
        return value.name.lower()


def named(members: type[Enum], meaning: str) -> NamedField:
    names = [each.name.lower() for each in members]
    return NamedField(choices=[(each, each) for each in names], help_text=meaning, read_only=True)


class EffectAnswer(Answer):
    """What one finding does to one state, given all the others."""

    finding = text("The finding: a key of /findings/.")
    state = text("Its state.")
    ratio = number("By how much it multiplies the probability: above 1 for, below 1 against.")
    words = text("The finding and its state in words.")


class StateAnswer(Answer):
    """One state of a list, and what speaks for and against it."""

    state = text("Its name in data.")
    words = text("Its name in the trade's words.")
    probability = number("Probability, 0 to 1; the states of a list add up to 1.")
    prior = number("Probability before anything was found, 0 to 1.")
    speaks_for = EffectAnswer(many=True, help_text="Findings for it, the strongest first.")
    against = EffectAnswer(many=True, help_text="Findings against it, the strongest first.")


class EvidenceListAnswer(Answer):
    """One of the three lists, the most probable state first."""

    list = one_of(
        EvidenceList, "What it is about; the lists do not exclude each other.", source="of"
    )
    settled = text("The state that is settled; null: it cannot be told yet.", null=True)
    reason = text("Why it is settled, open, or held by a conflict.")
    parted_by = text(
        "The check that would best part the two leading states: a key of /findings/; null: none.",
        null=True,
    )
    states = StateAnswer(many=True, help_text="All states.")


class FoundAnswer(Answer):
    """A finding and its state."""

    finding = text("A key of /findings/.")
    state = text("One of its states.")


class ConflictAnswer(Answer):
    """Findings that contradict, or agree."""

    key = text("Its name in data.")
    title = text("What contradicts or agrees.")
    reading = text("What it most likely means.")
    found = serializers.SerializerMethodField(help_text="The findings that do.")
    is_open = yes_no("Whether its own check is still to do.")
    holds = texts("Lists that are not settled while it is open.")
    checks_left = texts("Checks still to do that may be done now, the first one first.")
    checks_waiting = texts("Checks behind a gate that is not open.")

    @extend_schema_field(FoundAnswer(many=True))
    def get_found(self, conflict: Any) -> list[dict[str, str]]:
        return [{"finding": finding, "state": state} for finding, state in conflict.found]


class NextCheckAnswer(Answer):
    """A check that may be done now."""

    finding = text("The finding it gives, or the first: a key of /findings/.")
    gives = texts("Every finding that it gives.")
    check = text("What is done.")
    minutes = number("What it takes, min; common practice, no source.")
    bits = number("Information expected of it on the three lists together, weighted, bit.")
    bits_per_minute = number("The same for each minute, bit/min.")
    needs = one_of(NEEDS, "The procedure whose cautions come first; null: none.", null=True)
    reason = text("Why it stands where it stands.")


class GateAnswer(Answer):
    """One gate before what may be done."""

    key = text("Its name in data.")
    title = text("What it is about.")
    way = named(Way, "Whether it is open; unknown: until checked; not_reached: behind another.")
    reason = text("Why it is so.")
    opens = given_text("What opens it; null where it is open.")
    checks = texts("Findings that would tell, where it is unknown: keys of /findings/.")


class ObservedAnswer(Answer):
    """A finding that was weighed."""

    finding = text("A key of /findings/.")
    state = text("Its state.")
    words = text("Its state in words.")
    seen = yes_no("Whether somebody saw it; else readings, codes or logs say so.")
    because = text("The numbers and limits that say so; null where somebody saw it.", null=True)


class UngradedAnswer(Answer):
    """What was read and yet tells nothing."""

    finding = text("A key of /findings/.")
    reason = text("Why it tells nothing.", source="words")


class UnusedAnswer(Answer):
    """A reading or code that went into nothing."""

    what = text("As it was said.")
    reason = text("Why it could not be used.")


class AtOddsAnswer(Answer):
    """Readings that cannot all be true."""

    rule = text("What must hold.")
    got = text("What was read.")
    do = text("What to do.")


class EvidenceAnswer(Answer):
    """What the evidence of a job says at one phase."""

    phase = one_of(JobPhase, "When it was read and found.")
    lists = EvidenceListAnswer(
        many=True, source="weighed.lists", help_text="What may be wrong: three lists."
    )
    conflicts = serializers.SerializerMethodField(help_text="What contradicts, open ones first.")
    agreements = serializers.SerializerMethodField(help_text="What agrees.")
    fix_first = given_text("Which codes to put right first.", source="order.words")
    next_checks = NextCheckAnswer(
        many=True, source="weighed.next_checks", help_text="What to check next, the best first."
    )
    gates = GateAnswer(
        many=True, source="gates.gates", help_text="In order, from safety to clearing."
    )
    may = serializers.ListField(
        child=serializers.CharField(),
        read_only=True,
        source="gates.may",
        help_text="Keys of the actions that are open.",
    )
    may_remove_cold = yes_no(
        "Whether the filter may be taken off cold.", source="gates.cold_removal"
    )
    may_remove_cold_reason = text("Why.", source="gates.cold_removal_reason")
    cautions = serializers.ListField(
        child=serializers.CharField(),
        read_only=True,
        source="gates.procedures",
        help_text="Procedures of /findings/ whose cautions come before what is open.",
    )
    notices = serializers.ListField(
        child=serializers.CharField(),
        read_only=True,
        source="gates.notices",
        help_text="Law, and what a clear is and is not.",
    )
    cannot_tell = serializers.ListField(
        child=serializers.CharField(),
        read_only=True,
        source="weighed.cannot_tell",
        help_text="What this evidence cannot tell.",
    )
    observed = serializers.SerializerMethodField(help_text="The findings that were weighed.")
    ungraded = UngradedAnswer(many=True, help_text="What was read and yet tells nothing.")
    unused = UnusedAnswer(many=True, help_text="Readings and codes that went into nothing.")
    at_odds = AtOddsAnswer(
        many=True, help_text="Readings that cannot all be true; they are weighed as they stand."
    )
    learnt_from = number(
        "From how many findings of jobs with a confirmed outcome the chances learnt; the rest is "
        "common practice and judgement."
    )

    @extend_schema_field(ConflictAnswer(many=True))
    def get_conflicts(self, evidence: JobEvidence) -> Any:
        return _of_kind(evidence, Kind.CONFLICT)

    @extend_schema_field(ConflictAnswer(many=True))
    def get_agreements(self, evidence: JobEvidence) -> Any:
        return _of_kind(evidence, Kind.AGREEMENT)

    @extend_schema_field(ObservedAnswer(many=True))
    def get_observed(self, evidence: JobEvidence) -> Any:
        words = vocabulary()
        graded = {each.finding: each.words for each in evidence.grades}
        return [
            {
                "finding": key,
                "state": state,
                "words": words.finding(key).words(state),
                "seen": key in evidence.seen,
                "because": None if key in evidence.seen else graded[key],
            }
            for key, state in words.checked(evidence.observed).items()
        ]


def _of_kind(evidence: JobEvidence, kind: Kind) -> Any:
    found = [each for each in evidence.weighed.conflicts if each.kind is kind]
    return ConflictAnswer(found, many=True).data


class FindingSeenAnswer(Answer):
    """A finding that somebody saw at a job."""

    finding = text("A key of /findings/.")
    state = text("Its state.")
    phase = one_of(JobPhase, "When it was found.")
    note = given_text("What was added in words.")
    seen_at = serializers.DateTimeField(read_only=True, help_text="When it was sent.")
