"""Trouble codes, signs of a reset and on-board values in answers."""

from typing import Any

from rest_framework import serializers

from api.serializers.fields import (
    Answer,
    day,
    given_text,
    number,
    one_of,
    text,
    texts,
    whole,
    yes_no,
)
from garage.evidence.codes.meanings import groups
from garage.evidence.codes.reset_signs import Sign
from garage.evidence.codes.status import FaultState
from garage.evidence.quantities.catalogue import KINDS
from garage.evidence.thresholds import Basis
from garage.records.choices import CodeState, JobPhase

_GROUPS = list(groups())


class UnreadPartAnswer(Answer):
    """A part of a text that gave nothing."""

    written = text("As it was written.")
    reason = text("Why it gave nothing, and what to do.")


class CodeAnswer(Answer):
    """What is known here of a trouble code."""

    printed = text("With its failure type where there is one: P2463-92, or 3251/0.")
    code = text("Without it.")
    words = given_text("What it says; null where it is not known here.")
    source = given_text("Who says so.")  # type: ignore[assignment]
    group = serializers.SerializerMethodField(
        help_text=f"One of {', '.join(_GROUPS)}; null where it is not known here."
    )
    group_title = given_text("The group in words.")
    failure_words = given_text("What failure type or FMI says; null: none, or not known here.")
    definer = text("Who says what such a code means.")

    def get_group(self, told: Any) -> str | None:
        of = told["group"] if isinstance(told, dict) else told.group
        return of or None


class CodeInLineAnswer(CodeAnswer):
    """A code of a line, with what the line says of it."""

    state = one_of(CodeState, "What the line says of it.")


class CodeLineAnswer(Answer):
    """What a line of codes holds; nothing of it is dropped."""

    codes = CodeInLineAnswer(many=True, help_text="In order.")
    unread = UnreadPartAnswer(many=True, help_text="Parts that are no code, and why.")


class CodeReadAnswer(CodeAnswer):
    """A code that was read at a job."""

    id = whole("Its number.")
    state = one_of(CodeState, "What was said of it.")
    status_byte = whole("Its status byte, 0 to 255; null: not read.", null=True)
    status = one_of(FaultState, "How its fault stands, by that byte; null: not read.", null=True)
    status_words = given_text("The same in words.")
    ecu = given_text("Controller that it was read from.")
    read_at = serializers.DateTimeField(read_only=True, help_text="When it was kept.")
    cleared_at = serializers.DateTimeField(
        read_only=True, allow_null=True, help_text="When its clearing was kept; null: not cleared."
    )


class CodesOfPhaseAnswer(Answer):
    """The codes of one phase."""

    phase = one_of(JobPhase, "When they were read.")
    codes = CodeReadAnswer(many=True, help_text="In the order in which they were kept.")
    first = texts("Groups to put right first.")
    consequence = texts("Groups that are taken for a consequence of those until then.")
    order_words = given_text("The same in words; null where nothing comes before anything.")
    none_stored = yes_no("Whether the memory was read and empty, self-tests finished.")


class SameGroupAnswer(Answer):
    """An earlier visit with codes of a group that stands here."""

    job_id = whole("The earlier job.", source="job.pk")
    job_ref = text("Its own name.", source="job.ref")
    opened_on = day("When it was opened.", source="job.opened_on")
    group_title = text("The group in words.")
    codes = texts("Its codes of that group.")
    days_ago = whole("Days between both visits.")
    km_ago = whole("Distance between both, km; null: an odometer is not known.", null=True)


class SignNumberAnswer(Answer):
    """A figure that a rule looked at."""

    title = text("What it is.")
    value = number("In `unit`.")
    unit = text("Its unit.")


class ResetSignAnswer(Answer):
    """What one rule says of fault memory and the vehicle's counters."""

    rule = text("Its name.")
    sign = one_of(Sign, "Whether it found something; a sign is a reason to ask, never a proof.")
    words = text("What it found, or what it needs.")
    innocent = texts("Innocent causes, to be asked for first.")
    ask_next = given_text("What to ask or do next.")
    numbers = SignNumberAnswer(many=True, help_text="What it rests on.")


class JobCodesAnswer(Answer):
    """The trouble codes of a job."""

    phases = CodesOfPhaseAnswer(many=True, help_text="Those with codes, or found empty.")
    on_line = CodeAnswer(many=True, help_text="Codes of the job's own line, not kept one by one.")
    line_unread = UnreadPartAnswer(many=True, help_text="What stands in that line and is no code.")
    same_group = SameGroupAnswer(many=True, help_text="Earlier visits in view, the newest first.")
    reset_before = whole("The job that it was held against; null: none in view.", null=True)
    resets = ResetSignAnswer(many=True, help_text="What each rule says, the strongest in front.")


class OnBoardNumberAnswer(Answer):
    """A number that an answer holds."""

    pid = text("Which value was asked for, in hexadecimal.")
    item = text("What it is.")
    quantity = given_text("A key of /quantities/ that it can be kept as; null: none.")
    value = number("In `unit`; null where it is not known, and `reason` says why.", null=True)
    unit = text("Its unit.")
    at_least = yes_no("Whether a counter stands at its end, so that it is this or more.")
    reason = given_text("Why the value is not known.")
    warning = given_text("Why to doubt a value that stands.")
    basis = one_of(Basis, "How far the formula can be trusted.")
    kind = one_of(KINDS, "How the value came about.")
    sender = given_text("Address of the controller, where one was copied.")


class OnBoardStateAnswer(Answer):
    """A state that an answer holds."""

    pid = text("Which value was asked for, in hexadecimal.")
    item = text("What it is.")
    words = given_text("The state; null where it is not known, and `reason` says why.")
    reason = given_text("Why it is not known.")
    sender = given_text("Address of the controller, where one was copied.")


class MonitorsAnswer(Answer):
    """Lamp, codes counted and self-tests of a diesel."""

    this_drive = yes_no("Of this drive; else since codes were cleared.")
    lamp_on = yes_no("Whether the fault lamp is on; null: not said here.", null=True)
    codes = whole("Codes stored, by the vehicle's count; null: not said here.", null=True)
    kept = texts("Self-tests that the vehicle has.")
    incomplete = texts("Those that have not run: of their parts no fault is not known.")
    sender = given_text("Address of the controller, where one was copied.")


class OnBoardAnswer(Answer):
    """What pasted answers say."""

    numbers = OnBoardNumberAnswer(many=True, help_text="In order.")
    states = OnBoardStateAnswer(many=True, help_text="In order.")
    monitors = MonitorsAnswer(many=True, help_text="Of PID 01 and PID 41.")
    self_tests = given_text(
        "State of the finding self_tests that follows from PID 01; null: not read."
    )
    unread = UnreadPartAnswer(many=True, help_text="Parts that gave nothing, and why.")
