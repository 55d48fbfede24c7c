"""How well the classifier reads the labelled lines, and how fast; writes the figures.

python -m tests.records.job_lines.measure docs/job-lines.md
"""

import csv
import re
import sys
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from garage.records.choices import LineStatus
from garage.records.job_lines.classify import lines_classify
from garage.records.job_lines.results import LineResult

HERE = Path(__file__).parent
HALVES = ("tuning", "kept_apart")
BEGIN, END = "<!-- figures: generated -->", "<!-- end of figures -->"
_ASKED = {"clean": "place"}
ANY = "*"


@dataclass(frozen=True)
class Expected:
    """A labelled result; `*` in a field matches anything, `ask` names a question."""

    status: str
    operation: str
    part_kind: str
    system: str
    position: str
    ask: str

    def fits(self, found: LineResult) -> bool:
        """Whether kind, part kind and status are right; for a question, that it is asked."""
        if self.ask != found.ask or not _alike(self.part_kind, found.part_kind):
            return False
        if not _alike(self.system, found.system):
            return False
        return bool(self.ask) or (
            _alike(self.operation, found.operation) and self.status == found.status
        )


def _alike(expected: str, found: str) -> bool:
    return expected in (ANY, found)


def expected_of(label: str) -> Expected:
    """`[status] kind part[ @position]`; part `-system` is none of the catalogue's."""
    label, _, position = label.strip().partition(" @")
    words = label.split()
    status = words.pop(0) if words[0] in LineStatus.values else LineStatus.DONE.value
    kind, part = words
    ask = kind.removeprefix("ask:") if kind.startswith("ask:") else ""
    system = part[1:] or ANY if part.startswith("-") else ANY
    return Expected(
        status,
        "" if kind == "-" else kind,
        "" if part.startswith("-") else part,
        system,
        position,
        _ASKED.get(ask, ask),
    )


def labelled(half: str) -> list[tuple[str, list[Expected]]]:
    """The lines of a half with what they say."""
    with (HERE / f"{half}.csv").open(encoding="utf-8", newline="") as file:
        return [
            (row["line"], [expected_of(each) for each in row["expected"].split(";") if each])
            for row in csv.DictReader(file, delimiter="|")
        ]


@dataclass(frozen=True)
class Measured:
    """Over a half: results that stand, how many of them are right; labels, how many were met."""

    lines: int
    labels: int
    met: int
    accepted: int
    right: int
    asked: int
    positions: int
    positions_met: int
    whole: int

    @property
    def precision(self) -> float:
        return self.right / self.accepted

    @property
    def recall(self) -> float:
        return self.met / self.labels


def line_measure(text: str, expected: list[Expected]) -> Counter[str]:
    """What one line adds to the figures."""
    found = [each for each in lines_classify(text, {}) if each.ask or each.is_accepted]
    wanted = list(dict.fromkeys(expected))
    counts = Counter(
        labels=len(wanted),
        positions=sum(bool(each.position) for each in wanted),
        accepted=sum(not each.ask for each in found),
        asked=sum(bool(each.ask) for each in found),
    )
    left = list(found)
    for each in wanted:
        fitting = [result for result in left if each.fits(result)]
        fitting.sort(key=lambda result: result.position != each.position)
        if not fitting:
            continue
        left.remove(fitting[0])
        counts["met"] += 1
        counts["right"] += not fitting[0].ask
        counts["positions_met"] += bool(each.position) and fitting[0].position == each.position
    counts["whole"] = int(counts["met"] == len(wanted) and not left)
    return counts


def measure(half: str) -> Measured:
    """The figures of one half."""
    lines = labelled(half)
    total: Counter[str] = Counter()
    for text, expected in lines:
        total.update(line_measure(text, expected))
    fields = ("labels", "met", "accepted", "right", "asked", "positions", "positions_met", "whole")
    return Measured(len(lines), *(total[name] for name in fields))


def figures_written(text: str) -> str:
    """The page with its figures made anew."""
    rows = ["| | tuning | kept apart |", "|---|---|---|"]
    tuning, apart = map(measure, HALVES)
    for name, of in (
        ("lines", lambda m: f"{m.lines}"),
        ("labelled results", lambda m: f"{m.labels}"),
        ("results that stand", lambda m: f"{m.accepted}"),
        ("right among them (precision)", lambda m: f"{m.right} ({m.precision:.3f})"),
        ("labelled results met (recall)", lambda m: f"{m.met} ({m.recall:.3f})"),
        ("questions asked", lambda m: f"{m.asked}"),
        ("lines read without any fault", lambda m: f"{m.whole}"),
        ("positions named, and met", lambda m: f"{m.positions}, {m.positions_met}"),
    ):
        rows.append(f"| {name} | {of(tuning)} | {of(apart)} |")
    table = "\n".join([BEGIN, *rows, END])
    return re.sub(f"{re.escape(BEGIN)}.*?{re.escape(END)}", lambda _: table, text, flags=re.DOTALL)


def lines_a_second(repeats: int = 5) -> float:
    """Lines of both halves read a second, no phrase remembered from an earlier one."""
    from garage.records.job_lines.classify import phrase_classify

    texts = [text for half in HALVES for text, _ in labelled(half)]
    began = time.perf_counter()
    for _ in range(repeats):
        phrase_classify.cache_clear()
        for text in texts:
            lines_classify(text, {})
    return repeats * len(texts) / (time.perf_counter() - began)


if __name__ == "__main__":
    page = Path(sys.argv[1])
    page.write_text(figures_written(page.read_text(encoding="utf-8")), encoding="utf-8")
    print(f"{lines_a_second():.0f} lines a second")
