"""Ready-made silent lives and visit groups, with a law that is given and not fitted."""

from typing import Any

import numpy as np

from garage.lifetimes.resampling.expected_lives import ExpectedLives, VisitGroup
from garage.lifetimes.status import Status
from garage.lifetimes.visits.input import VisitHistories
from garage.lifetimes.visits.law import VisitLaw
from garage.lifetimes.visits.model import VisitFit

YEARLY = VisitLaw(3.0, 1.0, 2.0, 0.3)


def group_with(law: VisitLaw, known: VisitHistories, stay_away: float = 0.0) -> VisitGroup:
    """A visit group whose law is known."""
    fit = VisitFit(known.n, float(known.repeats.sum()), Status.OK, "", 0.95, law=law)
    return VisitGroup(fit, known, stay_away)


def once_seen(n: int, silence: float) -> VisitHistories:
    """Vehicles that came once and have been silent since."""
    return VisitHistories.from_sums(np.zeros(n), np.zeros(n), np.full(n, silence))


def lives_of(n: int, **columns: Any) -> ExpectedLives:
    """Silent lives of a vehicle each, last seen at 100 000 km, 20 000 km a year."""
    usual: dict[str, Any] = {
        "entry": np.zeros(n, int),
        "exit": np.full(n, 100_000),
        "failed": np.zeros(n, bool),
        "cluster": np.arange(n),
        "group": np.zeros(n, int),
        "silent": np.ones(n, bool),
        "history": np.arange(n),
        "pace": np.full(n, 20_000.0),
    }
    return ExpectedLives(**(usual | columns))
