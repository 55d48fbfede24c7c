"""How the vehicles of each organisation come and stay away: what *expected* makes of a silence.

A visit is a day with a job that is no failure of the part in question, for a failure's day says
nothing of the customer's habits. The first day counts whatever it was for: there the watch of the
customer begins, and the model asks only what followed.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from garage.lifetimes.resampling.expected_input import VisitGroup
from garage.lifetimes.status import Status
from garage.lifetimes.visits.input import VisitHistories
from garage.lifetimes.visits.model import VisitFit, visit_fit
from garage.outcomes.facts import Facts, VehicleFacts
from garage.outcomes.lives import Life

#: Vehicles whose last visits and silences fall in one such share of the mean gap are fitted as
#: alike. Judgement; on the demo the leaving rates move in the third digit, and the fit takes less
#: time by a third.
STEP_SHARE = 0.15


@dataclass(frozen=True)
class OrganisationVisits:
    """How one organisation's vehicles come and leave, and what is known of each of them.

    `fit` is that of all in view, and then `of_all`, where the organisation's own vehicles are too
    few for a law. `row` is the place of a vehicle in `known`; `here_days`, days after the last
    visit at which it was here all the same, with a failure of this part.
    """

    fit: VisitFit
    of_all: bool
    known: VisitHistories
    row: dict[int, int]
    here_days: dict[int, int]


@dataclass(frozen=True)
class NoLaw:
    """Why there is no *expected*."""

    status: Status
    reason: str


@dataclass(frozen=True)
class Visits:
    """The visits of each organisation in view that has had vehicles here."""

    by_organisation: dict[int, OrganisationVisits]

    def without_law(self, lives: Iterable[Life]) -> NoLaw | None:
        """Why the silence of some of these lives cannot be judged; None where all can."""
        for organisation in sorted(self.unjudged(lives)):
            fit = self.by_organisation[organisation].fit
            return NoLaw(fit.status, fit.reason)
        return None

    def groups(self, organisation_ids: Sequence[int]) -> list[VisitGroup]:
        """How the vehicles of each of these come and leave; empty where no law is known.

        An organisation without a law, of which then nobody is silent, has another's in its place.
        """
        known = {
            organisation: VisitGroup(visits.fit, visits.known)
            for organisation, visits in self.by_organisation.items()
            if visits.fit.law is not None
        }
        if not known:
            return []
        any_of_them = next(iter(known.values()))
        return [known.get(organisation, any_of_them) for organisation in organisation_ids]

    def unjudged(self, lives: Iterable[Life]) -> set[int]:
        """Organisations of silent lives whose vehicles come and leave by no known law."""
        silent = {life.organisation_id for life in lives if life.silence is not None}
        return {each for each in silent if self.by_organisation[each].fit.law is None}


@dataclass(frozen=True)
class _Vehicle:
    """The visits of one vehicle, days from the first on."""

    vehicle_id: int
    gaps: tuple[int, ...]
    watched_days: int
    here_days: int


def visits_follow(facts: Facts, lives: Iterable[Life]) -> Visits:
    """The visits and silences of each organisation's vehicles, with the law that they follow."""
    failed = {life.fitment_id for life in lives if life.failed_here}
    came: dict[int, list[_Vehicle]] = defaultdict(list)
    for vehicle in facts.vehicles:
        visits = _visits(vehicle, failed, facts.as_of)
        if visits is not None:
            came[vehicle.organisation_id].append(visits)
    own = {organisation: _fit(_histories(came[organisation])) for organisation in sorted(came)}
    of_all = None
    if len(own) > 1 and any(fit.law is None for fit in own.values()):
        of_all = _fit(_histories([each for vehicles in came.values() for each in vehicles]))
    found = {}
    for organisation, fit in own.items():
        borrowed = of_all if fit.law is None and of_all and of_all.law is not None else None
        found[organisation] = OrganisationVisits(
            fit=borrowed or fit,
            of_all=borrowed is not None,
            known=_histories(came[organisation]),
            row={each.vehicle_id: row for row, each in enumerate(came[organisation])},
            here_days={each.vehicle_id: each.here_days for each in came[organisation]},
        )
    return Visits(found)


def _visits(vehicle: VehicleFacts, failed: Collection[int], as_of: date) -> _Vehicle | None:
    """None where no job was ever opened while the vehicle was watched."""
    jobs = [job for job in vehicle.jobs if vehicle.is_watched_on(job.opened_on)]
    if not jobs:
        return None
    failures = {
        fitment.removed_at_id for fitment in vehicle.fitments if fitment.fitment_id in failed
    }
    days = [jobs[0].opened_on.toordinal()]
    for job in jobs[1:]:
        day = job.opened_on.toordinal()
        if job.job_id not in failures and day > days[-1]:
            days.append(day)
    until = as_of if vehicle.ended_on is None else min(as_of, vehicle.ended_on)
    return _Vehicle(
        vehicle_id=vehicle.vehicle_id,
        gaps=tuple(np.diff(days).tolist()),
        watched_days=until.toordinal() - days[0],
        here_days=jobs[-1].opened_on.toordinal() - days[-1],
    )


def _histories(vehicles: Sequence[_Vehicle]) -> VisitHistories:
    return VisitHistories.from_sums(
        [len(each.gaps) for each in vehicles],
        [sum(each.gaps) for each in vehicles],
        [each.watched_days for each in vehicles],
        [float(np.log(each.gaps).sum()) for each in vehicles],
    )


def _fit(known: VisitHistories) -> VisitFit:
    """The law of these vehicles, those with alike histories taken together."""
    repeats = float(known.repeats.sum())
    if repeats == 0:
        return visit_fit(known)
    return visit_fit(known.grouped(STEP_SHARE * float(known.last_visit.sum()) / repeats))
