"""How far each life is expected to have been watched: one distance in place of *expected*'s many.

Enough for the law of normal life, which asks how long parts were at risk. The curves share each
life out over all the distances at which it may have left.
"""

from collections import defaultdict
from collections.abc import Sequence

import numpy as np

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.visits.input import VisitHistories
from garage.lifetimes.visits.law import VisitLaw
from garage.lifetimes.visits.silence import expected_withdrawals
from garage.outcomes.lives import Life
from garage.outcomes.visits import OrganisationVisits, Visits


def expected_exits_km(lives: Sequence[Life], visits: Visits) -> FloatArray:
    """The clock at which each life ended or, silent, is expected to have left the watch, (n,).

    On a vehicle known to be gone a life leaves when that went. Where nothing tells how an
    organisation's vehicles come and leave, its silent lives leave at the last job.
    """
    exits = np.array([life.presumed_km for life in lives], dtype=np.float64)
    silent: dict[int, list[int]] = defaultdict(list)
    for place, life in enumerate(lives):
        if life.silence is not None:
            silent[life.organisation_id].append(place)
    for organisation_id, places in silent.items():
        theirs = [lives[place] for place in places]
        visits_here = visits.by_organisation[organisation_id]
        law = visits_here.fit.law
        exits[places] = (
            [life.seen_km for life in theirs]
            if law is None
            else _mean_exits_km(theirs, law, visits_here)
        )
    return exits


def _mean_exits_km(lives: Sequence[Life], law: VisitLaw, visits: OrganisationVisits) -> FloatArray:
    rows = [visits.row[life.vehicle_id] for life in lives]
    here_days = np.array([visits.here_days[life.vehicle_id] for life in lives], dtype=np.float64)
    silences = [life.silence for life in lives if life.silence is not None]
    known = visits.known
    left = expected_withdrawals(
        law,
        VisitHistories(
            known.repeats[rows],
            known.last_visit[rows],
            known.watched_until[rows],
            known.log_gaps[rows],
            known.weight[rows],
        ),
        still_here=here_days,
    )
    # Days at risk after the last job: those of each share that left, and of what remains.
    days = left.share_each * (left.elapsed - here_days[:, None]).sum(axis=1)
    days += left.remaining * np.array([each.days for each in silences], dtype=np.float64)
    from_km = np.array([each.from_km for each in silences], dtype=np.float64)
    km_a_day = np.array([each.km_a_day for each in silences], dtype=np.float64)
    return np.asarray(from_km + days * km_a_day, np.float64)
