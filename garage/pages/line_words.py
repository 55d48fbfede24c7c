"""What the classifier made of a line, and what was answered, in words."""

from collections.abc import Iterable

from garage.records.choices import LineStatus, OperationKind, System
from garage.records.job_lines.results import LineResult
from garage.records.line_answers import guess_of, is_nothing
from garage.records.models import LineAnswer, LineToReview, PartKind


def kind_names() -> dict[str, str]:
    """Every part kind of the catalogue by its code."""
    return dict(PartKind.objects.order_by("name").values_list("code", "name"))


def guess_words(line: LineToReview, names: dict[str, str]) -> list[str]:
    """Each result of the guess; a question where there is one."""
    return [_words(each, names) for each in guess_of(line)]


def _words(result: LineResult, names: dict[str, str]) -> str:
    thing = names.get(result.part_kind) or (System(result.system).label if result.system else "")
    act = OperationKind(result.operation).label if result.operation else ""
    told = _joined(act, thing, result.position)
    if result.ask:
        return f"{told}: {result.ask.words}" if told else result.ask.words
    return f"{_joined(LineStatus(result.status).label, told, sep=': ')} ({result.confidence:.2f})"


def _joined(*words: str, sep: str = ", ") -> str:
    return sep.join(filter(None, words))


def guess_initial(line: LineToReview) -> list[dict[str, str]]:
    """The rows of the form as the guess would fill them."""
    return [
        {
            "status": each.status,
            "operation": each.operation,
            "part_kind": each.part_kind,
            "system": "" if each.part_kind else each.system,
        }
        for each in guess_of(line)
    ]


def one_tap(line: LineToReview) -> list[tuple[str, list[dict[str, str]]]]:
    """Where only one of two operations is asked: each, with the rows that answer the line by it."""
    guess = guess_of(line)
    asked = [nth for nth, each in enumerate(guess) if each.ask]
    if len(asked) != 1:
        return []
    rows = guess_initial(line)
    return [
        (
            operation.label,
            [
                row | {"operation": operation.value} if nth in asked else row
                for nth, row in enumerate(rows)
            ],
        )
        for operation in guess[asked[0]].ask.operations
    ]


def answer_words(rows: Iterable[LineAnswer]) -> list[str]:
    """What was answered, a sentence for each thing."""
    return [
        "nothing to record"
        if is_nothing(row)
        else _joined(
            row.get_status_display(),
            _joined(
                row.get_operation_display() if row.operation else "",
                row.part_kind.name if row.part_kind else row.get_system_display(),
            ),
            sep=": ",
        )
        for row in rows
    ]
