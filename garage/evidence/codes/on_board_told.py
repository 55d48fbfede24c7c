"""What pasted answers of a vehicle say, and what of it can be kept at a job."""

from dataclasses import dataclass

from garage.evidence.codes.onboard.answers import Answers, read_answers
from garage.evidence.codes.onboard.decode import Decoded
from garage.evidence.codes.onboard.monitors import Monitors


@dataclass(frozen=True, slots=True)
class Keepable:
    """A number that can be kept as a reading; `at` is its place among all that were decoded."""

    at: int
    decoded: Decoded


@dataclass(frozen=True, slots=True)
class OnBoardTold:
    """What the answers say.

    Attributes
    ----------
    answers : Answers
    keepable : tuple of Keepable
        Numbers that are known, of a quantity that is kept.
    tests : str or None
        State of the finding `self_tests`; None where the tests since a clear were not read,
        or no controller that answered has any.
    """

    answers: Answers
    keepable: tuple[Keepable, ...]
    tests: str | None


def on_board_told(text: str) -> OnBoardTold:
    """What do these bytes say, and what of it can be kept?

    Examples
    --------
    >>> told = on_board_told("41 31 01 2C; 41 01 82 08 40 40; 41 1F 00 10")
    >>> [each.decoded.quantity for each in told.keepable], told.tests
    (['distance_since_clear'], 'not_finished')
    """
    answers = read_answers(text)
    return OnBoardTold(
        answers=answers,
        keepable=tuple(
            Keepable(at, each)
            for at, each in enumerate(answers.decoded)
            if each.value is not None and each.quantity
        ),
        tests=_tests(answers.monitors),
    )


def _tests(monitors: tuple[Monitors, ...]) -> str | None:
    """Finished only where every controller that answered has finished all that it keeps."""
    since_clear = [each for each in monitors if not each.this_drive]
    if not any(each.kept for each in since_clear):
        return None
    return "not_finished" if any(each.incomplete for each in since_clear) else "finished"
