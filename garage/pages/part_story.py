"""What a vehicle's page says of one part kind: what is in place, how it does, what failed."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from garage.lifetimes.laws.weibull import WeibullLaw
from garage.outcomes.choices import Ending, LifeClass
from garage.outcomes.filters import normal_life_of
from garage.outcomes.lives import Life
from garage.outcomes.wire import Wire
from garage.pages.charts.filter_lives import LifeBar
from garage.pages.words import (
    ENDINGS,
    ORIGINS,
    about_kilometres,
    day,
    kilometres,
    percent,
    times,
)
from garage.records.choices import FitmentStart
from garage.records.models import Fitment, OdometerReading
from garage.records.selectors import VehicleHistory

#: The range shown as normal: the middle half of failures lies in it. Judgement: wide enough to
#: show how much lives differ, narrow enough to set a failed part apart from it.
MIDDLE_HALF = (0.25, 0.75)


@dataclass(frozen=True)
class PartStory:
    """Plain sentences, one list for each position, and the bars of the chart."""

    in_place: tuple[str, ...]
    before: str
    bars: tuple[LifeBar, ...]
    normal_sources: tuple[str, ...]


def part_story(
    history: VehicleHistory, lives: Sequence[Life], report: Wire, part_name: str
) -> PartStory:
    """The story of one part kind on one vehicle; `lives` in order of fitting."""
    organisation = history.vehicle.organisation.code
    known = _Known.of(history)
    normals = {
        life.fitment_id: normal_life_of(report, organisation=organisation, origin=life.origin)
        for life in lives
    }
    in_place = tuple(
        _in_place(life, part_name, normals[life.fitment_id], known)
        for life in lives
        if life.ending is Ending.STILL_IN_PLACE
    )
    return PartStory(
        in_place=in_place or (f"No {part_name} is on record as in place.",),
        before=_before(lives, part_name),
        bars=_bars(lives, normals, known),
        normal_sources=tuple(
            dict.fromkeys(
                f"{ORIGINS[life.origin]}, {normal['source']}"
                for life in lives
                if (normal := normals[life.fitment_id]) is not None and life.start_km is not None
            )
        ),
    )


def last_good_reading(history: VehicleHistory) -> OdometerReading | None:
    """The newest reading that stands."""
    standing = [reading for reading in history.readings if not reading.doubt]
    return max(standing, key=lambda reading: (reading.read_on, reading.km), default=None)


@dataclass(frozen=True)
class _Known:
    """What the history tells beside the lives; `read_km` are readings that stand, by job."""

    fitments: dict[int, Fitment]
    read_km: dict[int, int]
    last: OdometerReading | None
    ended: bool

    @classmethod
    def of(cls, history: VehicleHistory) -> "_Known":
        return cls(
            fitments={each.pk: each for each in history.fitments},
            read_km={
                entry.job.pk: entry.reading.km
                for entry in history.jobs
                if entry.reading is not None and not entry.reading.doubt
            },
            last=last_good_reading(history),
            ended=history.vehicle.ended_on is not None,
        )


def _in_place(life: Life, part_name: str, normal: Wire | None, known: _Known) -> str:
    fitment, last = known.fitments[life.fitment_id], known.last
    where = f" ({life.position})" if life.position else ""
    origin = "" if life.origin == "unknown" else f"{ORIGINS[life.origin]} "
    article = "An" if origin[:1] in "aeio" and origin else "A"
    verb = "was in place at the end" if known.ended else "is in place"
    told = f"{article} {origin}{part_name}{where} {verb}, {_since(fitment)}."
    if life.start_km is None:
        return f"{told} How far it has gone cannot be said."
    if last is None:
        return f"{told} No odometer reading since tells how far it has gone."
    gone_km = max(0, last.km - life.start_km)
    if gone_km == 0:
        return f"{told} No reading since tells how far it has gone."
    told += (
        f" By the last reading, {kilometres(last.km)} on {day(last.read_on)}, it has gone "
        f"{kilometres(gone_km)}"
    )
    if normal is None:
        return f"{told}; no normal life is known of it."
    return (
        f"{told}: {percent(gone_km / normal['median_km'])} of the "
        f"{about_kilometres(normal['median_km'])} by which half of such parts have failed."
    )


def _since(fitment: Fitment) -> str:
    if fitment.start == FitmentStart.FACTORY:
        return "there since the factory"
    if fitment.start == FitmentStart.FITTED_HERE:
        at = (
            "an odometer reading in doubt or not written"
            if fitment.fitted_km is None
            else kilometres(fitment.fitted_km)
        )
        return f"fitted on {day(fitment.fitted_on)} at {at}"
    found = None if fitment.fitted_at is None else fitment.fitted_at.opened_on
    return f"first recorded on {day(found)}; when it was fitted is not known"


def _before(lives: Sequence[Life], part_name: str) -> str:
    arrived = sum(life.life_class is LifeClass.ARRIVED_FAILED for life in lives)
    failed = sum(life.failed for life in lives)
    unplaced = sum(
        life.failed and life.start_km is None and life.life_class is not LifeClass.ARRIVED_FAILED
        for life in lives
    )
    if not failed:
        return f"No {part_name} is recorded as failed on this vehicle."
    plural = "" if failed == 1 else "s"
    told = f"{times(failed).capitalize()} {part_name}{plural} failed on this vehicle before"
    apart = []
    if arrived:
        apart.append(f"{times(arrived)} already when it was first seen")
    if unplaced:
        apart.append(f"{times(unplaced)} fitted nobody knows when")
    return f"{told} ({' and '.join(apart)})." if apart else f"{told}."


def _bars(
    lives: Sequence[Life], normals: dict[int, Wire | None], known: _Known
) -> tuple[LifeBar, ...]:
    ordered = sorted(
        lives, key=lambda life: (life.position, _began(known.fitments[life.fitment_id]))
    )
    places: dict[str, int] = {}
    bars = []
    for life in ordered:
        places[life.position] = places.get(life.position, 0) + 1
        bars.append(_bar(life, places[life.position], normals[life.fitment_id], known))
    return tuple(bars)


def _began(fitment: Fitment) -> tuple[date, int]:
    """Order of fitting; a part in place since the factory comes first."""
    if fitment.start == FitmentStart.FACTORY:
        return date.min, fitment.pk
    if fitment.fitted_on is not None:
        return fitment.fitted_on, fitment.pk
    found = fitment.fitted_at
    return (date.min if found is None else found.opened_on), fitment.pk


def _bar(life: Life, place: int, normal: Wire | None, known: _Known) -> LifeBar:
    fitment = known.fitments[life.fitment_id]
    name = ORIGINS[life.origin] + (f", {life.position}" if life.position else "")
    ending = (
        "had failed when the vehicle was first seen"
        if life.life_class is LifeClass.ARRIVED_FAILED
        else ENDINGS[life.ending]
    )
    start = life.start_km
    if start is None:
        # Only where it was met and where it left is known.
        met = None if fitment.fitted_at_id is None else known.read_km.get(fitment.fitted_at_id)
        left = fitment.removed_km
        if left is None and life.ending is Ending.STILL_IN_PLACE:
            left = None if known.last is None else known.last.km
        met = left if met is None else met
        return LifeBar(place, name, None, met, left, left, ending, life.failed, None, None, None)
    end = start + life.seen_km
    watched_from = start + life.entry_km if life.used else None
    presumed_km = start + int(life.presumed_km)  # an int where it comes from arrays too
    to_km = presumed_km if life.ending is Ending.STILL_IN_PLACE else end
    low, median, high = _normal_at(normal, start)
    return LifeBar(
        place, name, start, watched_from, end, to_km, ending, life.failed, low, median, high
    )


def _normal_at(normal: Wire | None, start_km: int) -> tuple[int | None, int | None, int | None]:
    if normal is None:
        return None, None, None
    law = WeibullLaw(normal["weibull_shape"], normal["weibull_scale_km"])
    low, high = (round(float(law.quantile(share))) for share in MIDDLE_HALF)
    return start_km + low, start_km + round(normal["median_km"]), start_km + high
