"""A pair of records that may be one, and how its evidence is weighed."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

#: Pairs less likely than this are not shown. Judgement.
LEAST_SHOWN = 0.5


@dataclass(frozen=True)
class Evidence:
    """One thing that speaks for (above 0) or against (below) a pair: a weight in log-odds."""

    weight: float
    words: str


@dataclass(frozen=True)
class Candidate:
    """Two records that may be one; `one_id` is the lower key. The likelihood is judgement."""

    one_id: int
    other_id: int
    likelihood: float
    reasons: tuple[str, ...]


def weighed(one_id: int, other_id: int, evidence: Iterable[Evidence]) -> Candidate:
    """The pair with the logistic of the sum of its evidence, the strongest reason first."""
    told = sorted(evidence, key=lambda each: -abs(each.weight))
    odds = sum(each.weight for each in told)
    return Candidate(
        min(one_id, other_id),
        max(one_id, other_id),
        1 / (1 + math.exp(-odds)),
        tuple(each.words for each in told),
    )
