"""The table of docs/benchmarks.md."""

from collections.abc import Sequence

from tests.benchmarks.measure import Timing
from tests.benchmarks.races import LIFELINES, REGISTER, TABLE, R

BEGIN, END = "<!-- measured: begin -->", "<!-- measured: end -->"


def document_with(text: str, timings: Sequence[Timing], imports_s: float) -> str:
    """The page with these timings in place of the old ones."""
    head, found, rest = text.partition(BEGIN)
    _, ended, tail = rest.partition(END)
    if not (found and ended):
        raise ValueError(f"the page holds {BEGIN} and {END}, in this order")
    imports = (
        "Importing every module of the mathematics, beyond NumPy, `scipy.special` and "
        f"`scipy.optimize`: {_seconds(imports_s)}.\n"
    )
    return f"{head}{BEGIN}\n\n{table_of(timings)}\n{imports}\n{END}{tail}"


def table_of(timings: Sequence[Timing]) -> str:
    """One line a race and size: seconds, memory, and how many times as fast."""
    lines = [
        "| Estimate | Lives | From arrays | From a table | lifelines | R | × lifelines | × R |",
        "|---|--:|--:|--:|--:|--:|--:|--:|",
    ]
    held: dict[tuple[str, int], dict[str, Timing]] = {}
    for each in timings:
        held.setdefault((each.race.title, each.lives), {})[each.program] = each
    for (title, lives), by_program in held.items():
        cells = [_cell(by_program.get(name)) for name in (REGISTER, TABLE, LIFELINES, R)]
        ratios = [_ratio(by_program.get(name), by_program[REGISTER]) for name in (LIFELINES, R)]
        row = [title, f"{lives:,}".replace(",", " "), *cells, *ratios]
        lines.append(f"| {' | '.join(row)} |")
    return "\n".join(lines) + "\n"


def _cell(timing: Timing | None) -> str:
    if timing is None:
        return "–"
    return f"{_seconds(timing.seconds)}, {timing.megabytes:.0f} MB"


def _seconds(seconds: float) -> str:
    return f"{seconds * 1000:.1f} ms" if seconds < 0.1 else f"{seconds:.2f} s"


def _ratio(other: Timing | None, ours: Timing) -> str:
    return "–" if other is None else f"{other.seconds / ours.seconds:.3g}"
