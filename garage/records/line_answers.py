"""What persons said job lines mean, and the lines that wait for them, as far as one may see."""

from collections.abc import Iterable
from dataclasses import asdict, dataclass, replace
from itertools import groupby
from typing import Any

from django.db.models import QuerySet

from garage.records.choices import LineStatus
from garage.records.job_lines.classify import Answers, phrase_classify
from garage.records.job_lines.results import LineResult, Question
from garage.records.models import LineAnswer, LineToReview, Organisation
from garage.records.permissions import Scope, access


@dataclass(frozen=True)
class Learnt:
    """One answered phrase with the rows that hold what it means."""

    phrase: str
    organisation: Organisation
    rows: tuple[LineAnswer, ...]


def answers_of(*, organisation: Organisation) -> Answers:
    """The organisation's learnt answers, as the classifier takes them.

    A phrase with nothing to record means a negated result without an operation, which never lands.
    Which position it was stands in the phrase itself.
    """
    rows = LineAnswer.objects.filter(organisation=organisation).select_related("part_kind")
    found: dict[str, tuple[LineResult, ...]] = {}
    for phrase, group in groupby(rows.order_by("phrase", "pk"), key=lambda row: row.phrase):
        positions = [each for each in phrase_classify(phrase) if each.position]
        results = [each for row in group for each in _placed(_result(row), positions)]
        found[phrase] = tuple(results)
    return found


def _result(row: LineAnswer) -> LineResult:
    kind = row.part_kind
    return LineResult(
        row.status,
        row.operation,
        "" if kind is None else kind.code,
        row.system or ("" if kind is None else kind.system),
    )


def _placed(result: LineResult, positions: Iterable[LineResult]) -> list[LineResult]:
    """The result at each position that the phrase names for its part; as it is, where none."""
    places = dict.fromkeys(
        each.position for each in positions if each.part_kind == result.part_kind
    )
    return [replace(result, position=place) for place in places] or [result]


def guess_json(results: Iterable[LineResult]) -> list[dict[str, Any]]:
    """What the classifier made of a line, to keep beside it."""
    return [{**asdict(each), "ask": str(each.ask)} for each in results]


def guess_of(line: LineToReview) -> tuple[LineResult, ...]:
    """The kept guess."""
    return tuple(LineResult(**{**each, "ask": Question(each["ask"])}) for each in line.guess)


def lines_waiting(*, scope: Scope) -> QuerySet[LineToReview]:
    """Lines that nobody has answered, those seen most first."""
    return (
        LineToReview.objects.filter(organisation_id__in=scope.organisation_ids, answered=False)
        .select_related("organisation")
        .order_by("-seen", "pk")
    )


def access_line(*, scope: Scope, line_id: int) -> LineToReview:
    """The line, for who may see it; Http404 else."""
    return access(lines_waiting(scope=scope), scope=scope, pk=line_id)


def answers_in_scope(*, scope: Scope) -> QuerySet[LineAnswer]:
    """Every row of what was learnt, phrase by phrase."""
    return (
        LineAnswer.objects.filter(organisation_id__in=scope.organisation_ids)
        .select_related("organisation", "part_kind")
        .order_by("phrase", "organisation_id", "pk")
    )


def access_answer(*, scope: Scope, answer_id: int) -> LineAnswer:
    """The row of an answer, for who may see it; Http404 else."""
    return access(answers_in_scope(scope=scope), scope=scope, pk=answer_id)


def answers_learnt(*, scope: Scope) -> list[Learnt]:
    """What was learnt, one entry a phrase."""
    return [
        Learnt(phrase, rows[0].organisation, tuple(rows))
        for (phrase, _), group in groupby(
            answers_in_scope(scope=scope), key=lambda row: (row.phrase, row.organisation_id)
        )
        if (rows := list(group))
    ]


def is_nothing(row: LineAnswer) -> bool:
    """Whether the answer says that there is nothing to record."""
    return row.status == LineStatus.NEGATED and not row.operation and row.part_kind_id is None
