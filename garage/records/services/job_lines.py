"""Keep job lines for a person to say what they mean, and what was said."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.db.models import F

from garage.records.choices import AuditVerb, LineStatus, OperationKind
from garage.records.errors import RuleBroken
from garage.records.job_lines.folding import phrase_fold
from garage.records.job_lines.results import UnreadLine
from garage.records.line_answers import guess_json
from garage.records.models import LineAnswer, LineToReview, Organisation, PartKind
from garage.records.services.audit import Change, audit_record

#: The longest example kept.
LONGEST_EXAMPLE = 500
_AT_ONCE = 500


@dataclass(frozen=True)
class LineMeaning:
    """One thing a person says a line means: codes of the records, empty where there is none."""

    status: str
    operation: str = ""
    part_kind: str = ""
    system: str = ""


def lines_queue(
    *,
    organisation: Organisation,
    lines: Iterable[UnreadLine],
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> int:
    """Let lines wait for a person; how many were not waiting before.

    A line that waits already is counted on; one whose answer was taken back waits again.
    """
    wanted = {line.phrase: line for line in lines if line.phrase}
    if not wanted:
        return 0
    with transaction.atomic():
        made = 0
        phrases = list(wanted)
        for start in range(0, len(phrases), _AT_ONCE):
            made += _queue(
                organisation, [wanted[each] for each in phrases[start : start + _AT_ONCE]]
            )
        if made:
            audit_record(
                organisation=organisation,
                change=Change(AuditVerb.ADD, "linetoreview", {"lines": [None, made]}),
                by=by,
                at=at,
            )
    return made


def _queue(organisation: Organisation, lines: Sequence[UnreadLine]) -> int:
    known = {
        line.phrase: line
        for line in LineToReview.objects.select_for_update().filter(
            organisation=organisation, phrase__in=[line.phrase for line in lines]
        )
    }
    fresh = []
    for line in lines:
        if line.phrase not in known:
            fresh.append(
                LineToReview(
                    organisation=organisation,
                    phrase=line.phrase,
                    example=line.example[:LONGEST_EXAMPLE],
                    seen=line.seen,
                    guess=guess_json(line.guess),
                )
            )
            continue
        LineToReview.objects.filter(pk=known[line.phrase].pk).update(
            seen=F("seen") + line.seen,
            guess=guess_json(line.guess),
            answered=False,
            example=line.example[:LONGEST_EXAMPLE],
        )
    LineToReview.objects.bulk_create(fresh)
    return len(fresh) + sum(line.answered for line in known.values())


def line_answer(
    *,
    line: LineToReview,
    meanings: Sequence[LineMeaning],
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> list[LineAnswer]:
    """Keep what a person says the line means, in place of an earlier answer; no meaning at all:
    there is nothing to record. The line's example goes: it may name somebody."""
    kinds = {kind.code: kind for kind in PartKind.objects.all()}
    for meaning in meanings:
        _check(meaning, kinds)
    said = list(dict.fromkeys(meanings)) or [LineMeaning(LineStatus.NEGATED)]
    with transaction.atomic():
        row = (
            LineToReview.objects.select_for_update().select_related("organisation").get(pk=line.pk)
        )
        LineAnswer.objects.filter(organisation=row.organisation, phrase=row.phrase).delete()
        answers = LineAnswer.objects.bulk_create(
            LineAnswer(
                organisation=row.organisation,
                phrase=row.phrase,
                status=meaning.status,
                operation=meaning.operation,
                part_kind=kinds.get(meaning.part_kind),
                system=meaning.system,
                answered_at=at,
                answered_by_id=None if by is None else by.pk,
            )
            for meaning in said
        )
        row.answered, row.example = True, ""
        row.save(update_fields=["answered", "example"])
        means = [f"{each.status} {each.operation} {each.part_kind}".strip() for each in said]
        audit_record(
            organisation=row.organisation,
            change=Change(AuditVerb.RESOLVE, row, {"means": [None, means]}),
            by=by,
            at=at,
        )
    return answers


def answer_withdraw(
    *, answer: LineAnswer, at: datetime, by: AbstractBaseUser | None = None
) -> None:
    """Forget what was said of the phrase of this answer, all of it: the line waits again."""
    with transaction.atomic():
        rows = LineAnswer.objects.filter(
            organisation_id=answer.organisation_id, phrase=answer.phrase
        )
        audit_record(
            organisation=answer.organisation,
            change=Change(AuditVerb.REMOVE, answer, {"rows": [rows.count(), 0]}),
            by=by,
            at=at,
        )
        LineToReview.objects.filter(
            organisation_id=answer.organisation_id, phrase=answer.phrase
        ).update(answered=False, example=answer.phrase)
        rows.delete()


def lines_forget(*, organisation: Organisation, words: Collection[str]) -> int:
    """Delete the organisation's lines and answers that hold one of these names or marks; how many.

    Called within the erasure of a vehicle's personal data. A folded line does not say whose it is,
    so it is found by what it names.
    """
    wanted = {_closed(phrase_fold(word)) for word in words}
    wanted = {word for word in wanted if len(word) >= SHORTEST_NAME}
    if not wanted:
        return 0
    gone = 0
    for model in (LineToReview, LineAnswer):
        rows = model._default_manager.filter(organisation=organisation)
        texts = rows.values_list("pk", "phrase")
        found = [pk for pk, phrase in texts if any(word in _closed(phrase) for word in wanted)]
        gone += len(found)
        rows.filter(pk__in=found).delete()
    return gone


#: A name or mark of fewer letters is found in lines that do not mean it.
SHORTEST_NAME = 3


def _closed(phrase: str) -> str:
    return "".join(phrase.split())


def _check(meaning: LineMeaning, kinds: Collection[str]) -> None:
    if meaning.status not in LineStatus.values:
        raise RuleBroken(
            f"a line is one of {', '.join(LineStatus.values)}",
            got=meaning.status,
            do="Choose one.",
            column="status",
        )
    if meaning.operation not in ("", *OperationKind.values):
        raise RuleBroken(
            "an operation is one of the register's",
            got=meaning.operation,
            do="Choose one.",
            column="operation",
        )
    if meaning.status == LineStatus.DONE and not meaning.operation:
        raise RuleBroken(
            "work that was done names its operation",
            got="none",
            do="Choose the operation, or say that there is nothing to record.",
            column="operation",
        )
    if meaning.part_kind and meaning.part_kind not in kinds:
        raise RuleBroken(
            "a part kind is one of the catalogue",
            got=meaning.part_kind,
            do="Choose one, or leave it empty.",
            column="part_kind",
        )
