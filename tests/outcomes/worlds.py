"""Lives and reports for tests that need many of them, without rows for each."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from itertools import count

from garage.lifetimes.capture.share import all_captured
from garage.outcomes.capture import Captures
from garage.outcomes.choices import Ending, LifeClass, Stratum
from garage.outcomes.curve_lives import GroupLives
from garage.outcomes.lives import Life
from garage.outcomes.visits import Visits

ALL_SEEN = Captures({1: all_captured()})
_ids = count(1)


def life(seen_km: int, *, failed: bool = False, **said: object) -> Life:
    """A used life of a factory part watched from its fitting; `said` changes what it names."""
    number = next(_ids)
    plain = Life(
        fitment_id=number,
        vehicle_id=number,
        organisation_id=1,
        family="Alder 16",
        origin="factory",
        position="",
        stratum=Stratum.SEEN_BEFORE_TROUBLE,
        life_class=LifeClass.USED,
        ending=Ending.FAILED if failed else Ending.STILL_IN_PLACE,
        failed_here=failed,
        removed_on=date(2020, 1, 1) if failed else None,
        fitted_here=False,
        start_km=0,
        entry_km=0,
        seen_km=seen_km,
        presumed_km=seen_km,
        last_sound_km=None,
    )
    return replace(plain, **said)  # type: ignore[arg-type]


def running(number: int, seen_km: int = 100_000, **said: object) -> Iterator[Life]:
    """Sound lives, each on a vehicle of its own."""
    for _ in range(number):
        yield life(seen_km, **said)


def together(
    lives: Sequence[Life], captures: Captures = ALL_SEEN, visits: Visits | None = None
) -> GroupLives:
    """Lives as one group; where none is silent, nothing need be known of visits."""
    return GroupLives(lives, captures, visits or Visits({}))
