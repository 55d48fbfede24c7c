"""The import files as data: which columns each has, and what a cell of each may hold.

The row checks and the reference in docs/import.md are both made from these definitions.
"""

from dataclasses import dataclass, field
from enum import Enum

from garage.records.choices import (
    Cause,
    DistanceUnit,
    Duty,
    EndedBecause,
    FoundInPlace,
    OperationKind,
    Origin,
    ReadingSource,
    RemovedBecause,
    System,
)


class Form(Enum):
    """What a cell holds; the value is how the reference says it."""

    TEXT = "text"
    CHOICE = "one of"
    YES_NO = "`yes` or `no`"
    DATE = "date, `YYYY-MM-DD`"
    DISTANCE = "plain digits, decimal point"
    SIGNED_DISTANCE = "plain digits, decimal point, a minus sign allowed"
    AMOUNT = "plain digits, decimal point, not negative"
    CURRENCY = "three capital letters (the form of ISO 4217)"
    SYSTEMS = "system codes separated by blanks, or `none`"
    TROUBLE_CODES = "codes separated by blanks"
    VIN = "17 characters (ISO 3779)"
    MARK = "text with letters or digits"
    POSITION = "text; capitals and blanks do not matter"
    ORDINAL = "whole number from 1 to 99"


#: Cells that hold what a person wrote, whatever it begins with.
WRITTEN_FORMS = frozenset({Form.TEXT, Form.TROUBLE_CODES, Form.MARK, Form.POSITION})


@dataclass(frozen=True)
class Column:
    """One column; `required` means that no row can do without it."""

    name: str
    form: Form
    meaning: str
    required: bool = False
    max_length: int | None = None
    values: tuple[str, ...] = ()


@dataclass(frozen=True)
class FileKind:
    """One kind of import file; `name` is also the option that names the file."""

    name: str
    row_is: str
    columns: tuple[Column, ...]
    by_name: dict[str, Column] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "by_name", {column.name: column for column in self.columns})

    @property
    def required(self) -> tuple[str, ...]:
        return tuple(column.name for column in self.columns if column.required)


#: What a file of rejected rows carries before the original columns. They are ignored on import,
#: so that a corrected file can be imported as it is.
FAULT_COLUMNS = (
    "fault_file",
    "fault_line",
    "fault_column",
    "fault_rule",
    "fault_got",
    "fault_do",
)

#: The end that only the register itself finds: the keeper's part turned out to be another.
_STATED_REMOVALS = tuple(
    code for code in RemovedBecause.values if code != RemovedBecause.REPLACED_ELSEWHERE
)

#: What a jobs row says instead of an operation where it tells of the job alone.
NO_OPERATION = "none"

_VEHICLE_REF = Column(
    "vehicle_ref", Form.TEXT, "The organisation's own name of the vehicle.", True, 60
)


def _unit(of: str, *, required: bool) -> Column:
    return Column(
        "unit", Form.CHOICE, f"The unit of {of}.", required, values=tuple(DistanceUnit.values)
    )


def _choice(name: str, values: list[str], meaning: str, *, required: bool = False) -> Column:
    return Column(name, Form.CHOICE, meaning, required, values=tuple(values))


VEHICLES = FileKind(
    "vehicles",
    "one vehicle",
    (
        _VEHICLE_REF,
        Column(
            "vin",
            Form.VIN,
            "The vehicle identification number; where the region uses a check digit, it must fit.",
        ),
        Column("registration", Form.MARK, "The mark it bears now.", max_length=20),
        Column(
            "engine_family",
            Form.TEXT,
            "Name or alias of the engine family; capitals and blanks do not matter. A new name "
            "is created and listed for review.",
            max_length=80,
        ),
        Column("first_used_on", Form.DATE, "First use."),
        Column(
            "watched_from_new",
            Form.YES_NO,
            "Whether this organisation has seen the vehicle since it was new.",
        ),
        _choice("duty", Duty.values, "What the vehicle mostly does; a later file may change it."),
        Column("ended_on", Form.DATE, "The day it was sold, scrapped or gone."),
        _choice("ended_because", EndedBecause.values, "Why; needs `ended_on`."),
    ),
)

CLUSTERS = FileKind(
    "clusters",
    "one replaced instrument",
    (
        _VEHICLE_REF,
        Column("done_on", Form.DATE, "From this day the new instrument counts.", True),
        Column(
            "offset",
            Form.SIGNED_DISTANCE,
            "True distance minus what the new instrument shows: the whole difference, not the "
            "change since an earlier replacement.",
            True,
        ),
        _unit("the offset", required=True),
        Column("document", Form.TEXT, "What proves it.", max_length=200),
    ),
)

#: What a file may name; an empty cell says that the source is not known.
NAMED_SOURCES = [source for source in ReadingSource.values if source != ReadingSource.UNKNOWN]

ODOMETER = FileKind(
    "odometer",
    "one odometer reading",
    (
        _VEHICLE_REF,
        Column("read_on", Form.DATE, "The day of the reading.", True),
        Column("odometer", Form.DISTANCE, "The distance as shown.", True),
        _unit("the reading", required=True),
        _choice("source", NAMED_SOURCES, "Where the reading comes from."),
    ),
)

JOBS = FileKind(
    "jobs",
    "one operation; rows with one `job_ref` are one job",
    (
        Column("job_ref", Form.TEXT, "The organisation's own name of the job.", True, 60),
        Column(
            "vehicle_ref",
            Form.TEXT,
            "The vehicle; needed on the first row of a job.",
            max_length=60,
        ),
        Column("opened_on", Form.DATE, "Needed on the first row of a job."),
        Column("closed_on", Form.DATE, "Empty while the job is open."),
        Column("odometer", Form.DISTANCE, "The distance as shown when the job was opened."),
        _unit("`odometer` and `last_sound_odometer`", required=False),
        Column("planned", Form.YES_NO, "Whether the visit was planned (a service, a recall)."),
        Column("complaint", Form.TEXT, "What the keeper complains of.", max_length=300),
        Column("findings", Form.TEXT, "What was found.", max_length=1000),
        _choice("cause", Cause.values, "Why it failed, as found."),
        Column("cause_note", Form.TEXT, "The cause in words.", max_length=300),
        _choice(
            "system",
            System.values,
            "The system worked on. The first row's is the job's. Empty on the first row: that of "
            "the part kind; empty on a later row: the job's.",
        ),
        _choice(
            "operation",
            [*OperationKind.values, NO_OPERATION],
            "What was done; `none` on a row that tells of the job alone.",
            required=True,
        ),
        Column(
            "part_kind",
            Form.TEXT,
            "The catalogue's code. A part outside the catalogue is kept as named, and its life "
            "is not followed.",
            max_length=60,
        ),
        Column(
            "position",
            Form.POSITION,
            "Where the part sits, such as `bank 1`; empty where there is only one.",
            max_length=40,
        ),
        _choice(
            "part_origin",
            Origin.values,
            "Where the part that is in the vehicle after this row comes from.",
        ),
        Column("part_brand", Form.TEXT, "The maker named on that part.", max_length=60),
        Column("part_mark", Form.TEXT, "Number or mark on that part.", max_length=60),
        _choice(
            "removed_because",
            list(_STATED_REMOVALS),
            "Why the part came out; only with `replace` and `clean_off_vehicle`.",
        ),
        _choice(
            "found_in_place",
            FoundInPlace.values,
            "Whether the part in place is the one last recorded; empty: not looked.",
        ),
        Column(
            "repaired_elsewhere",
            Form.SYSTEMS,
            "Which systems, the keeper says, were repaired elsewhere since the last job here; "
            "empty: not asked.",
        ),
        Column(
            "last_sound_odometer",
            Form.DISTANCE,
            "The last distance at which the removed part was known to be sound.",
        ),
        Column("trouble_codes", Form.TROUBLE_CODES, "The codes that were stored.", max_length=300),
        Column("labour_cost", Form.AMOUNT, "Labour of this row, without tax."),
        Column("parts_cost", Form.AMOUNT, "Parts of this row, without tax."),
        Column("tax_cost", Form.AMOUNT, "Tax on this row."),
        Column("currency", Form.CURRENCY, "Needed with an amount."),
        Column("note", Form.TEXT, "Anything else.", max_length=500),
        Column(
            "nth_alike",
            Form.ORDINAL,
            "2 on the second of a job's operations that differ in nothing, 3 on the third; empty "
            "where there is one.",
        ),
    ),
)

#: In the order in which they are applied: what a row refers to must be there before it.
FILE_KINDS = (VEHICLES, CLUSTERS, ODOMETER, JOBS)
