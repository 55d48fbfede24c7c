"""What an import did, in counts that add up."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from garage.records.importing.faults import shown
from garage.records.importing.rows import Outcome, ReadRow

#: Rejected rows told in the terminal; all of them are in the file of rejected rows.
FAULTS_TOLD = 5


@dataclass
class FileSummary:
    """One file: every row read has exactly one outcome."""

    kind: str
    path: Path
    outcomes: Counter[Outcome] = field(default_factory=Counter)
    recorded: dict[str, int] = field(default_factory=dict)
    notices: list[str] = field(default_factory=list)
    rejected_path: Path | None = None
    told: list[str] = field(default_factory=list)

    @property
    def rows(self) -> int:
        return self.outcomes.total()

    def count(self, outcomes: Sequence[Outcome]) -> None:
        for outcome in Outcome:
            if number := outcomes.count(outcome):
                self.outcomes[outcome] += number

    def tell(self, row: ReadRow) -> None:
        """Keep the faults of a rejected row to be told, if not too many are."""
        if len(self.told) < FAULTS_TOLD:
            self.told += [f"line {row.raw.line} {fault.column}: {fault}" for fault in row.faults]


@dataclass
class ImportSummary:
    """All files of one import, in the order in which they were applied."""

    organisation_code: str
    dry_run: bool
    files: list[FileSummary] = field(default_factory=list)

    @property
    def rejected(self) -> int:
        return sum(file.outcomes[Outcome.REJECTED] for file in self.files)


def summary_lines(summary: ImportSummary) -> Sequence[str]:
    """The summary as the terminal shows it."""
    lines = [
        f"Organisation {summary.organisation_code}"
        + (": dry run, nothing was recorded" if summary.dry_run else "")
    ]
    for file in summary.files:
        outcomes = ", ".join(f"{file.outcomes[outcome]} {outcome.value}" for outcome in Outcome)
        lines.append(f"{file.kind} ({file.path.name}): {file.rows} rows read = {outcomes}")
        new = ", ".join(f"{count} {name}" for name, count in file.recorded.items() if count)
        if new:
            lines.append(f"  new: {new}")
        lines += [f"  {shown(notice, limit=1_000)}" for notice in file.notices]
        if file.outcomes[Outcome.REJECTED]:
            lines += [f"  {told}" for told in file.told]
            lines.append(f"  rejected rows, to correct and import: {file.rejected_path}")
    return lines
