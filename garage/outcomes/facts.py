"""What the outcomes of a part kind are derived from: jobs, parts and looks, vehicle by vehicle."""

from dataclasses import dataclass, field
from datetime import date

from garage.records.choices import OperationKind
from garage.records.models import PartKind

NO_FAMILY = "(not known)"


@dataclass(frozen=True, slots=True)
class JobFact:
    """A job as far as outcomes need it."""

    job_id: int
    opened_on: date
    closed_on: date | None
    unplanned: bool
    system: str
    km: int | None
    km_in_doubt: bool
    repaired_elsewhere: tuple[str, ...] | None
    operations: tuple[tuple[str, str], ...]
    """Kind and system of each operation."""

    def touches(self, system: str) -> bool:
        """The job is about this system, or did more on it than look."""
        return self.system == system or any(
            kind != OperationKind.INSPECT and touched == system for kind, touched in self.operations
        )


@dataclass(frozen=True, slots=True)
class FitmentFact:
    fitment_id: int
    position: str
    origin: str
    start: str
    fitted_on: date | None
    fitted_km: int | None
    fitted_at_id: int | None
    removed_on: date | None
    removed_km: int | None
    removed_at_id: int | None
    removed_because: str
    last_sound_km: int | None

    @property
    def known_before_removal(self) -> bool:
        """Whether a row told of this part before the one that says it came out."""
        return self.fitted_at_id is None or self.fitted_at_id != self.removed_at_id


@dataclass(frozen=True, slots=True)
class Look:
    """At this job somebody looked whether the part in place is the one last recorded."""

    job_id: int
    position: str
    found: str


@dataclass(slots=True)
class VehicleFacts:
    """One vehicle's history, in order of days."""

    vehicle_id: int
    organisation_id: int
    family: str
    first_used_on: date | None
    watched_from_new: bool
    ended_on: date | None
    ended_because: str
    jobs: list[JobFact] = field(default_factory=list)
    fitments: list[FitmentFact] = field(default_factory=list)
    looks: list[Look] = field(default_factory=list)
    readings: list[tuple[date, int]] = field(default_factory=list)
    """Readings that stand, of any source: day and km."""

    def is_watched_on(self, day: date) -> bool:
        """The vehicle was not yet sold, scrapped or gone."""
        return self.ended_on is None or day <= self.ended_on


@dataclass(frozen=True, slots=True)
class CallFact:
    """One answered call. `part_replaced_elsewhere` is None where it was not asked or not known."""

    vehicle_id: int
    called_on: date
    part_replaced_elsewhere: bool | None
    comes_again: bool


@dataclass(frozen=True, slots=True)
class CallListFact:
    """A random sample of the vehicles silent since `silent_since`, of so many, and its answers."""

    organisation_id: int
    part_kind_id: int
    drawn_on: date
    silent_since: date
    population: int
    answers: tuple[CallFact, ...]


@dataclass(frozen=True)
class Facts:
    as_of: date
    part_kind: PartKind
    sees_all: frozenset[int]
    """Organisations that see all repairs of their vehicles."""
    vehicles: list[VehicleFacts]
    refused_comebacks: frozenset[tuple[int, int]] = frozenset()
    """Pairs of an index job and a later job that a person holds to be another trouble."""
