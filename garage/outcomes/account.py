"""The account of lives: every fitment has one class, and the classes add up."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from garage.outcomes.choices import FAILURES, Ending, LifeClass
from garage.outcomes.lives import Life


@dataclass(frozen=True)
class Account:
    """Fitments by class, and how the used lives ended."""

    fitments: int
    classes: dict[str, int]
    endings: dict[str, int]
    """Of the lives used: failures of each kind, and how the others left."""

    @property
    def closes(self) -> bool:
        used = self.classes[LifeClass.USED]
        return sum(self.classes.values()) == self.fitments and sum(self.endings.values()) == used

    @property
    def used(self) -> int:
        return self.classes[LifeClass.USED]

    @property
    def failed(self) -> int:
        return sum(self.endings[ending] for ending in FAILURES)


def account_of(lives: Iterable[Life]) -> Account:
    classes: Counter[str] = Counter()
    endings: Counter[str] = Counter()
    fitments = 0
    for life in lives:
        fitments += 1
        classes[life.life_class] += 1
        if life.used:
            endings[life.ending] += 1
    return Account(
        fitments,
        {each.value: classes[each] for each in LifeClass},
        {each.value: endings[each] for each in Ending},
    )
