"""From rows with a line of free text to rows with the operations that the line tells of."""

from collections import Counter
from collections.abc import Iterator

from garage.records.choices import OperationKind, System
from garage.records.importing.columns import JOBS, NO_OPERATION
from garage.records.importing.job_facts import JOB_FACTS
from garage.records.job_lines.classify import Answers, lines_classify, phrase_is_strange
from garage.records.job_lines.folding import phrase_fold
from garage.records.job_lines.results import LineResult, Question, UnreadLine
from garage.records.tabular.cells import Cell, State
from garage.records.tabular.line_column import JOB_LINE

Cells = dict[str, Cell]
#: What a row without an operation may still tell: of the job.
_OF_THE_JOB = frozenset(
    {*JOB_FACTS, "job_ref", "vehicle_ref", "odometer", "unit", "system", "operation"}
)
#: Columns that go to the one result that takes a part out; to the first where none does.
_ONCE = frozenset(
    {"part_origin", "part_brand", "part_mark", "removed_because", "found_in_place"}
    | {"last_sound_odometer", "labour_cost", "parts_cost", "tax_cost", "currency"}
)
_REMOVING = frozenset({OperationKind.REPLACE, OperationKind.CLEAN_OFF_VEHICLE})
_NOTE_LENGTH = JOBS.by_name["note"].max_length


class LineReader:
    """Reads the lines of one table. `unread` wait for a person; `left_out` counts, by status, the
    results that are no operation."""

    def __init__(self, answers: Answers) -> None:
        self.unread: dict[str, UnreadLine] = {}
        self.left_out: Counter[str] = Counter()
        self._answers = answers
        self._run: list[tuple[int, Cells]] = []
        self._ref: str | None = None

    def take(self, source_row: int, cells: Cells) -> Iterator[tuple[int, Cells]]:
        """Read a row. Rows come back job by job, each with the number of its source row: how a job
        begins is known when its rows in a row are read."""
        ref = cells["job_ref"].value if "job_ref" in cells else None
        if ref != self._ref:
            yield from self.flush()
            self._ref = ref
        self._run += [(source_row, made) for made in self._read(cells)]

    def flush(self) -> Iterator[tuple[int, Cells]]:
        """The rows of the job that is being read."""
        run, self._run = self._run, []
        spoken = [each for each in run if each[1]["operation"].value != NO_OPERATION]
        # A line that tells of no work says nothing beside one that does.
        kept = spoken or run[:1]
        if kept:
            _begin(kept)
        yield from kept

    def _read(self, cells: Cells) -> list[Cells]:
        line = cells.pop(JOB_LINE.name)
        if _holds(cells.get("operation")) or not line.value:
            return [cells]
        results = lines_classify(line.value, self._answers)
        phrase = phrase_fold(line.value)
        is_strange = not results and phrase not in self._answers and phrase_is_strange(phrase)
        if is_strange or not all(each.is_accepted for each in results):
            return [{**cells, "operation": self._held(line.value, phrase, results)}]
        landing = [each for each in results if each.lands]
        self.left_out.update(each.status for each in results if not each.lands)
        if not landing:
            told = {name: cell for name, cell in cells.items() if name in _OF_THE_JOB}
            return [{**told, "operation": Cell(State.VALUE, line.raw, NO_OPERATION)}]
        main = next((each for each in landing if each.operation in _REMOVING), landing[0])
        return [_landed(each, cells, line, is_main=each is main) for each in landing]

    def _held(self, text: str, phrase: str, results: tuple[LineResult, ...]) -> Cell:
        before = self.unread.get(phrase)
        seen = 1 if before is None else before.seen + 1
        self.unread[phrase] = UnreadLine(phrase, text, seen, results)
        asked = dict.fromkeys(each.ask.words for each in results if each.ask)
        words = " ".join(asked) or "not understood surely enough"
        readings = tuple(each.operation for each in results if each.operation)
        return Cell(
            State.WAITS, text, readings=readings, words=f"{words} It waits under Job lines."
        )


def _holds(cell: Cell | None) -> bool:
    return cell is not None and cell.state is not State.EMPTY


def _landed(result: LineResult, cells: Cells, line: Cell, *, is_main: bool) -> Cells:
    """The row of one result; what can be said once of a line stands with its main result."""
    assert result.ask is Question.NONE
    made = {name: cell for name, cell in cells.items() if is_main or name not in _ONCE}
    said = {
        "operation": result.operation,
        "part_kind": result.part_kind,
        "position": result.position,
        "system": result.system,
    }
    for name, value in said.items():
        if value and not (name != "operation" and _holds(cells.get(name))):
            made[name] = Cell(State.VALUE, line.raw, str(value), words="read in the job line")
    note = cells.get("note")
    texts = (line.value, note.value if note is not None else None)
    text = "; ".join(dict.fromkeys(filter(None, texts)))[:_NOTE_LENGTH]
    made["note"] = Cell(State.VALUE, line.raw, text)
    return made


def _begin(run: list[tuple[int, Cells]]) -> None:
    """The first row of a job names its system: its own, or the first that the job's rows name."""
    landing = [cells for _, cells in run if not any(map(_waits, cells.values()))]
    if not landing or _holds(landing[0].get("system")):
        return
    named = [cells["system"].value for cells in landing if _holds(cells.get("system"))]
    system = named[0] if named else System.OTHER.value
    landing[0]["system"] = Cell(State.VALUE, "", system, words="of the job's other lines")


def _waits(cell: Cell) -> bool:
    return cell.state in (State.WAITS, State.FAULT)
