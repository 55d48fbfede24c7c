"""Of those whose part was repaired elsewhere, how many never come back: what call lists measure.

Answers tell of the silent, looks of those who came back. Only repairs in gaps that began as long
before the draw as the silence asked about count, on either side; and only parts whose clock is
known, for of others nobody can say how likely they were to fail since.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from garage.lifetimes.capture.answers import Returned, SilentAnswers
from garage.lifetimes.capture.stay_away import StayAwayShare, stay_away_share
from garage.lifetimes.laws.weibull import WeibullLaw
from garage.lifetimes.laws.weibull_fit import weibull_fit
from garage.outcomes.capture import Captures
from garage.outcomes.choices import Curve
from garage.outcomes.curve_lives import GroupLives
from garage.outcomes.facts import CallFact, CallListFact, Facts, FitmentFact, VehicleFacts
from garage.outcomes.lives import Life
from garage.outcomes.usage import Odometers
from garage.outcomes.visits import Visits
from garage.records.choices import RemovedBecause


@dataclass(frozen=True)
class StayAway:
    """A measured stay-away share, and of which call list: its day, and how many keepers told."""

    share: StayAwayShare
    drawn_on: date
    told: int


def values_of(measured: Mapping[int, StayAway]) -> dict[int, float]:
    """The shares to use, for capture shares; where nothing was learnt, judgement stands."""
    return {
        organisation: each.share.value
        for organisation, each in measured.items()
        if each.share.is_measured
    }


@dataclass(frozen=True)
class PartHazard:
    """How one organisation's parts fail and come here, and the half of its usual gap, days."""

    law: WeibullLaw
    came_here: float
    failures: int
    half_gap_days: float

    def between(self, begin_km: int, end_km: int) -> float:
        begin, end = self.law.cumulative_hazard([max(begin_km, 0), max(end_km, begin_km, 0)])
        return self.came_here * float(end - begin)


@dataclass(frozen=True)
class OutcomesSoFar:
    """What the first estimate rests on, with the stay-away share of judgement."""

    facts: Facts
    odometers: Odometers
    lives: Sequence[Life]
    captures: Captures
    visits: Visits
    call_lists: Sequence[CallListFact]
    """About whatever part, the newest first."""


def stay_away_of_failures(known: OutcomesSoFar) -> dict[int, StayAway]:
    """Of each organisation whose silent keepers told of this part kind."""
    found = {}
    for organisation, drawn in _told_most(known).items():
        hazard = _hazard(known, organisation)
        looks = known.captures.by_organisation[organisation]
        if hazard is None or looks.beta == 0:
            continue
        vehicles = {
            each.vehicle_id: each
            for each in known.facts.vehicles
            if each.organisation_id == organisation
        }
        told = [each for each in drawn.answers if each.part_replaced_elsewhere is not None]
        silent = _silent(told, drawn, hazard, _Parts(known, vehicles))
        share = stay_away_share(silent, _returned(vehicles.values(), drawn), looks)
        found[organisation] = StayAway(share, drawn.drawn_on, len(told))
    return found


def _told_most(known: OutcomesSoFar) -> dict[int, CallListFact]:
    """Of each organisation the list about this part that most told of; of like ones the newest."""
    lists: dict[int, tuple[int, CallListFact]] = {}
    for each in known.call_lists:
        told = sum(answer.part_replaced_elsewhere is not None for answer in each.answers)
        if each.part_kind_id != known.facts.part_kind.pk or told == 0:
            continue
        if each.organisation_id not in lists or told > lists[each.organisation_id][0]:
            lists[each.organisation_id] = (told, each)
    return {organisation: drawn for organisation, (_, drawn) in lists.items()}


def _hazard(known: OutcomesSoFar, organisation: int) -> PartHazard | None:
    """None where too few parts have failed for a law, or too few vehicles come for *expected*."""
    lives = [life for life in known.lives if life.used and life.organisation_id == organisation]
    if not lives or known.visits.without_law(lives) is not None:
        return None
    fit = weibull_fit(GroupLives(lives, known.captures, known.visits).table(Curve.EXPECTED))
    visit_law = known.visits.by_organisation[organisation].fit.law
    if fit.law is None:
        return None
    return PartHazard(
        fit.law,
        known.captures.value(organisation),
        fit.failed,
        0.0 if visit_law is None else 0.5 / visit_law.visit_rate,
    )


@dataclass(frozen=True)
class _Parts:
    """The parts of one organisation's vehicles, by vehicle."""

    known: OutcomesSoFar
    vehicles: Mapping[int, VehicleFacts]

    def hazard(self, call: CallFact, drawn: CallListFact, hazard: PartHazard) -> float | None:
        """Of what was in place at the last job before the draw; None where no clock is known.

        From when a customer who left for another reason would have left, in the middle of a gap.
        Until then only a failure repaired elsewhere leaves no trace: of the half gap, so much as
        comes here does not count.
        """
        vehicle = self.vehicles.get(call.vehicle_id)
        days = [] if vehicle is None else [job.opened_on for job in vehicle.jobs]
        last_job_on = max((day for day in days if day <= drawn.drawn_on), default=None)
        if vehicle is None or last_job_on is None:
            return None
        end_on = min(call.called_on, vehicle.ended_on or call.called_on)
        left_on = last_job_on + timedelta(days=round(hazard.came_here * hazard.half_gap_days))
        at_km = [
            self.known.odometers.km_on(call.vehicle_id, day)
            for day in (last_job_on, min(left_on, end_on), end_on)
        ]
        last_km, left_km, end_km = at_km
        if last_km is None or left_km is None or end_km is None:
            return None
        starts = list(self._in_place(call.vehicle_id, last_job_on, last_km))
        return sum(hazard.between(left_km - km, end_km - km) for km in starts) if starts else None

    def _in_place(self, vehicle_id: int, day: date, at_km: int) -> Iterator[int]:
        for life in self.known.lives:
            if life.vehicle_id != vehicle_id or life.start_km is None or life.start_km > at_km:
                continue
            if life.removed_on is None or life.removed_on > day:
                yield life.start_km


def _silent(
    told: Sequence[CallFact], drawn: CallListFact, hazard: PartHazard, parts: _Parts
) -> SilentAnswers:
    gone: dict[bool, list[float]] = {True: [], False: []}
    returning = 0
    for call in told:
        failed_since = parts.hazard(call, drawn, hazard)
        if failed_since is None:
            continue
        if not call.comes_again:
            gone[bool(call.part_replaced_elsewhere)].append(failed_since)
        elif call.part_replaced_elsewhere:
            returning += 1
    return SilentAnswers(
        np.array(gone[True]),
        np.array(gone[False]),
        returning,
        asked_share=len(told) / drawn.population,
        failures=hazard.failures,
    )


def _returned(vehicles: Iterable[VehicleFacts], drawn: CallListFact) -> Returned:
    """How often vehicles came again with a known part in place, and what looks then found."""
    returns = looked = found = 0
    for vehicle in vehicles:
        eligible = eligible_returns(vehicle, drawn)
        for fitment in vehicle.fitments:
            if fitment.fitted_km is None or not fitment.known_before_removal:
                continue
            place = _returns_of(vehicle, fitment)
            mine = [each for each in place if each in eligible]
            returns += len(mine)
            last_look = max(_looks(vehicle, fitment.position) & set(mine), default=-1)
            looked += sum(each <= last_look for each in mine)
            found += fitment.removed_because == RemovedBecause.REPLACED_ELSEWHERE and bool(
                mine and mine[-1] == place[-1]
            )
    return Returned(found, looked / returns if returns else 0.0)


def eligible_returns(vehicle: VehicleFacts, drawn: CallListFact) -> set[int]:
    """Places of the jobs up to the draw whose job before lies as far back as the silence."""
    days = [job.opened_on for job in vehicle.jobs]
    return {
        place
        for place in range(1, len(days))
        if days[place - 1] <= drawn.silent_since and days[place] <= drawn.drawn_on
    }


def _returns_of(vehicle: VehicleFacts, fitment: FitmentFact) -> range:
    """Places of the jobs after a part was first known, up to that which tells of its end."""
    places = {job.job_id: place for place, job in enumerate(vehicle.jobs)}
    first = -1 if fitment.fitted_at_id is None else places[fitment.fitted_at_id]
    last = len(places) - 1 if fitment.removed_at_id is None else places[fitment.removed_at_id]
    return range(first + 1, last + 1)


def _looks(vehicle: VehicleFacts, position: str) -> set[int]:
    places = {job.job_id: place for place, job in enumerate(vehicle.jobs)}
    return {places[look.job_id] for look in vehicle.looks if look.position == position}
