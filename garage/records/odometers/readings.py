"""What goes into the odometer's judgement, and what comes out."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from garage.records.choices import DistanceUnit, Doubt, Remark, ResolvedAs


@dataclass(frozen=True, slots=True)
class Reading:
    """What the instrument showed on a day, as typed; `at_job` where a job was done that day."""

    read_on: date
    typed: int | Decimal
    unit: str = DistanceUnit.KM
    at_job: bool = False


@dataclass(frozen=True, slots=True)
class Replacement:
    """From `done_on` until the next one, true distance = shown + `offset_km`."""

    done_on: date
    offset_km: int


@dataclass(frozen=True, slots=True)
class Resolution:
    """What a person decided of one reading; it binds the judgement.

    Of a mended reading the values that are None stay as they were typed.
    """

    resolved_as: ResolvedAs
    typed: int | Decimal | None = None
    unit: str = ""
    read_on: date | None = None


@dataclass(frozen=True, slots=True)
class Explanation:
    """One thing that may be behind a reading in doubt.

    `kind` is a Doubt, or None for: right as read, and another is wrong. `weight` lies between 0
    and 1; those of one reading add to 1. `typed`, `unit`, `km` and `read_on` are what the reading
    would be once mended; `km` is None where the explanation does not say.
    """

    kind: Doubt | None
    weight: float
    words: str
    km: int | None = None
    typed: int | None = None
    unit: str = ""
    read_on: date | None = None


@dataclass(frozen=True, slots=True)
class Judgement:
    """A reading's verdict: `doubt` is None where it stands, and `reason` says why it does not.

    `km` is the true distance as read, the offset of the instrument added; for a reading that a
    person mended, the mended distance. `read_on` is the day likewise. `partners` are the places,
    in the order given, of the readings of which one is wrong together with this one.
    """

    doubt: Doubt | None
    reason: str
    km: int
    read_on: date
    remark: Remark | None = None
    explanations: tuple[Explanation, ...] = ()
    partners: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class History:
    """All that is known of one vehicle's odometer.

    `resolutions` holds one entry a reading, None where nobody decided; empty where nobody
    decided anything.
    """

    readings: Sequence[Reading]
    first_used_on: date | None = None
    replacements: Sequence[Replacement] = ()
    resolutions: Sequence[Resolution | None] = ()
