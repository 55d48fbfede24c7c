"""Write what a vehicle answered as readings of a job, and whether its own tests are finished."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from garage.evidence.codes.on_board_told import OnBoardTold, on_board_told
from garage.evidence.codes.onboard.decode import Decoded
from garage.evidence.services.findings import FindingSaid, finding_record
from garage.evidence.services.readings import NewReading, reading_add
from garage.records.choices import JobPhase
from garage.records.errors import RuleBroken, refuse_all
from garage.records.models import Job, Reading

_DECIMALS = Decimal("0.0001")


@dataclass(frozen=True)
class OnBoardChosen:
    """Answers as they were pasted, and which of their numbers are kept, by place (`Keepable`).

    `tests` keeps whether the vehicle's own tests are finished, as a finding. `condition` is what
    the engine was doing; empty: not said.
    """

    text: str
    chosen: tuple[int, ...]
    tests: bool = False
    phase: str = JobPhase.ARRIVAL
    condition: str = ""


def on_board_keep(
    *, job: Job, said: OnBoardChosen, at: datetime, by: AbstractBaseUser | None = None
) -> list[Reading]:
    """Keep the numbers chosen as readings: all of them or, where one is refused, none."""
    told = on_board_told(said.text)
    refuse_all(_broken(told, said))
    numbers = {each.at: each.decoded for each in told.keepable}
    with transaction.atomic():
        kept = [
            reading_add(job=job, new=_reading(numbers[n], said), at=at, by=by)
            for n in dict.fromkeys(said.chosen)
        ]
        if said.tests and told.tests is not None:
            finding = FindingSaid("self_tests", told.tests, said.phase, "by the vehicle's answer")
            finding_record(job=job, said=finding, at=at, by=by)
    return kept


def _broken(told: OnBoardTold, said: OnBoardChosen) -> Iterator[RuleBroken]:
    missing = set(said.chosen) - {each.at for each in told.keepable}
    if missing:
        yield RuleBroken(
            "a value that is kept is one that the answers give and that is known",
            got=", ".join(map(str, sorted(missing))),
            do="Choose from the list.",
            column="chosen",
        )
    if said.tests and told.tests is None:
        yield RuleBroken(
            "whether the vehicle's own tests are finished is told by PID 01",
            got="answers without it",
            do="Read PID 01 too, or leave it out.",
            column="tests",
        )
    if not said.chosen and not said.tests:
        yield RuleBroken(
            "something that is kept is chosen",
            got="nothing",
            do="Choose a value.",
            column="chosen",
        )


def _reading(number: Decoded, said: OnBoardChosen) -> NewReading:
    assert number.value is not None  # refused before
    sender = f" of {number.sender}" if number.sender else ""
    return NewReading(
        quantity=number.quantity,
        value=Decimal(str(number.value)).quantize(_DECIMALS),
        phase=said.phase,
        unit=number.unit,
        condition=said.condition,
        note=f"answered by the vehicle, PID {number.pid}{sender}",
        kind=number.kind,
    )
