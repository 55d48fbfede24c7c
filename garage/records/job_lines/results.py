"""What a job line says: results with a confidence, or a question where guessing would be wrong."""

from dataclasses import dataclass
from enum import StrEnum

from garage.records.choices import LineStatus, OperationKind

#: From here on a result lands without a person. Judgement: five unknown words in a clause, or a
#: part behind its act with one, are too much to guess by; one or two and a misspelt word are not.
ACCEPTANCE = 0.70


class Question(StrEnum):
    """What a person has to say, because the line does not."""

    NONE = ""
    PLACE = "place"
    BURN = "burn"
    PART = "part"
    WORK = "work"
    REMOVAL = "removal"

    @property
    def words(self) -> str:
        return _WORDS[self]

    @property
    def operations(self) -> tuple[OperationKind, ...]:
        """The operations it may have been, where there are two; else empty."""
        return _OPERATIONS.get(self, ())


_WORDS = {
    Question.NONE: "",
    Question.PLACE: "Was it cleaned on the vehicle or off it?",
    Question.BURN: "Was it burned free at standstill or while driving?",
    Question.PART: "Which part was it?",
    Question.WORK: "What was done with it?",
    Question.REMOVAL: "This speaks of taking an emission part out of use. What was really done?",
}


_OPERATIONS = {
    Question.PLACE: (OperationKind.CLEAN_OFF_VEHICLE, OperationKind.CLEAN_ON_VEHICLE),
    Question.BURN: (OperationKind.REGENERATE_STATIONARY, OperationKind.REGENERATE_DRIVING),
}


@dataclass(frozen=True)
class LineResult:
    """One thing a line says. `operation`, `part_kind`, `system` and `position` are codes of the
    records, empty where the line does not name them; `confidence` lies between 0 and 1."""

    status: str
    operation: str = ""
    part_kind: str = ""
    system: str = ""
    position: str = ""
    confidence: float = 1.0
    ask: Question = Question.NONE

    @property
    def is_accepted(self) -> bool:
        """Whether it stands without a person."""
        return not self.ask and self.confidence >= ACCEPTANCE

    @property
    def lands(self) -> bool:
        """Whether it becomes an operation."""
        return self.is_accepted and self.status == LineStatus.DONE and bool(self.operation)


@dataclass(frozen=True)
class UnreadLine:
    """A line that the classifier would not decide alone, as it was written, and how often."""

    phrase: str
    example: str
    seen: int
    guess: tuple[LineResult, ...]
