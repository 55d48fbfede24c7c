"""Classify a line of free text: learnt answers first, then the words."""

from collections.abc import Mapping
from functools import lru_cache

from garage.records.job_lines.clauses import clauses_of
from garage.records.job_lines.folding import phrase_fold
from garage.records.job_lines.joining import claims_of
from garage.records.job_lines.lexicon import Role
from garage.records.job_lines.marking import marks_of
from garage.records.job_lines.merging import results_of
from garage.records.job_lines.results import LineResult
from garage.records.job_lines.statements import statement_of

#: Folded phrase to what a person said it means; empty: nothing to record.
Answers = Mapping[str, tuple[LineResult, ...]]
REMEMBERED = 50_000


def lines_classify(text: str, answers: Answers) -> tuple[LineResult, ...]:
    """What a line says, in its order; nothing where it tells of no work.

    An answered phrase means what was answered, with confidence 1.
    """
    phrase = phrase_fold(text)
    if phrase in answers:
        return answers[phrase]
    return phrase_classify(phrase)


@lru_cache(maxsize=REMEMBERED)
def phrase_classify(phrase: str) -> tuple[LineResult, ...]:
    """What a folded phrase says by its words alone."""
    return results_of(claims_of(map(statement_of, clauses_of(marks_of(phrase)))))


def phrase_is_strange(phrase: str) -> bool:
    """Whether most of its words are not known: what it says, or that it says nothing, is not."""
    marks = [mark for mark in marks_of(phrase) if mark.role not in (Role.STOP, Role.NUMBER)]
    return 2 * sum(mark.role is Role.UNKNOWN for mark in marks) > len(marks)
