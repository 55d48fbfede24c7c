"""Propose how somebody else's table lands here, keep what a person confirmed, and import by it."""

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date, datetime
from pathlib import Path

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from garage.records.choices import AuditVerb
from garage.records.errors import RuleBroken
from garage.records.importing.faults import ImportRefused
from garage.records.importing.rows import Outcome
from garage.records.importing.summary import FileSummary, ImportSummary, summary_lines
from garage.records.importing.told import Told, import_told
from garage.records.line_answers import answers_of
from garage.records.models import ImportSource, Organisation
from garage.records.services.audit import Change, audit_record
from garage.records.services.history_import import (
    ImportRequest,
    Progress,
    history_import,
    no_progress,
)
from garage.records.services.job_lines import lines_queue
from garage.records.tabular.evidence import evidence_gather
from garage.records.tabular.fits import mapping_fits
from garage.records.tabular.layout import layout_find
from garage.records.tabular.mapping import Mapping, mapping_draft, mapping_json, mapping_load
from garage.records.tabular.propose import KindProposal, columns_propose, kinds_fed
from garage.records.tabular.reading import RawTable, table_read
from garage.records.tabular.writing import Written, files_write, held_read, source_row_of
from garage.records.texts import text_needed

#: Cells that hold rows back, told at once: more than one reads through. Judgement.
HELD_SHOWN = 200


@dataclass(frozen=True)
class TableProposal:
    """What a table is proposed to fill, for a person to look through and confirm."""

    mapping: Mapping
    kinds: tuple[KindProposal, ...]

    def lines(self) -> list[str]:
        """Each of our columns with where it would come from, why, and what is lacking."""
        told = []
        for kind in self.kinds:
            told.append(f"{kind.kind.name}: {kind.kind.row_is}")
            for each in kind.proposals:
                if each.chosen is not None:
                    source = " + ".join(each.chosen.sources)
                    why = "; ".join(each.chosen.reasons)
                    told.append(
                        f"  {each.column.name} from {source} ({each.chosen.confidence:.2f}: {why})"
                    )
                elif each.constant is not None:
                    told.append(f"  {each.column.name} is {each.constant} ({each.reason})")
            if kind.lacking:
                told.append(f"  lacking, and needed: {', '.join(kind.lacking)}")
        return told or ["nothing of ours was found in this table"]


@dataclass(frozen=True)
class TableImported:
    """What came of an import: what was written, what the import said, rows told in the source's
    own numbers."""

    written: Written
    summary: ImportSummary
    rejected_rows: dict[str, Sequence[int]]

    @property
    def is_whole(self) -> bool:
        """Whether every row of the table landed."""
        return not self.written.held.total() and not self.summary.rejected

    def told(self) -> Told:
        """What came of it, to keep: with the rows that were held, and what was left out."""
        told = import_told(self.summary)
        for kind in told["kinds"]:
            kind["rejected_rows"] = list(self.rejected_rows.get(kind["kind"], ()))
            # The line is that of a file of ours that nobody sees; its row is told beside.
            kind["faults"] = [each.split(" ", 2)[2] for each in kind["faults"]]
        lines = self.written.lines
        return told | {
            "is_whole": self.is_whole,
            "held": [asdict(each) for each in held_read(self.written.held_file, most=HELD_SHOWN)],
            "held_rows": self.written.held.total(),
            "unread": len(lines.unread) if lines else 0,
            "left_out": dict(sorted(lines.left_out.items())) if lines else {},
        }

    def lines(self) -> list[str]:
        """What came of it, as the terminal says it."""
        told = list(summary_lines(self.summary))
        for kind, rows in self.rejected_rows.items():
            if rows:
                numbers = ", ".join(map(str, rows))
                told.append(f"{kind}: rejected, by the source's own rows: {numbers}")
        held = self.written.held.total()
        if held:
            told.append(f"{held} rows were held; {self.written.held_file} says why.")
        return [*told, *self._lines_told()]

    def _lines_told(self) -> list[str]:
        """What came of the lines of free text, where there were any."""
        lines = self.written.lines
        if lines is None:
            return []
        told = []
        if lines.unread:
            told.append(
                f"{len(lines.unread)} different job lines wait for a person to say what they mean; "
                "import the table again once they are answered."
            )
        if lines.left_out:
            counts = ", ".join(f"{lines.left_out[each]} {each}" for each in sorted(lines.left_out))
            told.append(f"read in job lines and not recorded, for it was not done: {counts}")
        return told


@dataclass(frozen=True)
class TableRequest:
    """A table to take in: by the mapping in a file, or by the one kept for its source. A mapping
    file given with a source is kept for it once the import has gone through."""

    organisation: Organisation
    table: Path
    mapping: Path | None
    source: str
    folder: Path
    as_of: date
    now: datetime
    dry_run: bool = False
    progress: Progress = no_progress


def table_take_in(*, request: TableRequest, by: AbstractBaseUser | None = None) -> TableImported:
    """Import a table as asked, and keep its mapping. RuleBroken, ImportRefused, MappingInvalid and
    TableUnreadable say what stops it; nothing is recorded then."""
    organisation, source = request.organisation, request.source
    if request.mapping is not None:
        mapping = mapping_load(request.mapping.read_text(encoding="utf-8"))
    elif source:
        mapping = source_mapping(organisation=organisation, name=source)
    else:
        raise RuleBroken(
            "a table is imported by a confirmed mapping",
            got="neither --mapping nor --source",
            do="Make one with --propose mapping.json, and look through it.",
        )
    request.folder.mkdir(parents=True, exist_ok=True)
    imported = table_import(
        table=table_read(request.table),
        mapping=mapping,
        folder=request.folder,
        request=ImportRequest(
            organisation.code,
            {},
            request.as_of,
            request.now,
            dry_run=request.dry_run,
            progress=request.progress,
        ),
        by=by,
    )
    if request.mapping is not None and source and not request.dry_run:
        source_confirm(
            organisation=organisation, name=source, mapping=mapping, at=request.now, by=by
        )
    return imported


def table_propose(path: Path, *, as_of: date) -> TableProposal:
    """Propose a mapping for the first sheet of a table; TableUnreadable says what stops it."""
    table = table_read(path)
    sheet = table.sheets[0]
    layout = layout_find(sheet)
    kinds = kinds_fed(columns_propose(evidence_gather(sheet, layout, as_of=as_of)))
    return TableProposal(mapping_draft(table, layout, kinds), kinds)


def source_confirm(
    *,
    organisation: Organisation,
    name: str,
    mapping: Mapping,
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> ImportSource:
    """Keep a mapping that a person confirmed under the name of its source, in place of an earlier
    one."""
    words = text_needed(
        name,
        column="name",
        most=80,
        rule="a source has a name of",
        do="Name where the file comes from.",
    )
    with transaction.atomic():
        source, created = ImportSource.objects.update_or_create(
            organisation=organisation,
            name=words,
            defaults={
                "mapping": json.loads(mapping_json(mapping)),
                "confirmed_at": at,
                "confirmed_by_id": None if by is None else by.pk,
            },
        )
        audit_record(
            organisation=organisation,
            change=Change(AuditVerb.ADD if created else AuditVerb.CHANGE, source),
            by=by,
            at=at,
        )
    return source


def source_mapping(*, organisation: Organisation, name: str) -> Mapping:
    """The mapping kept under this name; RuleBroken names those that are kept."""
    source = ImportSource.objects.filter(organisation=organisation, name=name).first()
    if source is None:
        kept = ImportSource.objects.filter(organisation=organisation)
        raise RuleBroken(
            "a source is one whose mapping was confirmed",
            got=f"{name}; kept are: {', '.join(kept.values_list('name', flat=True)) or 'none'}",
            do="Propose a mapping from a file, look through it, and confirm it.",
            column="source",
        )
    return mapping_load(json.dumps(source.mapping))


def table_import(
    *,
    table: RawTable,
    mapping: Mapping,
    folder: Path,
    request: ImportRequest,
    by: AbstractBaseUser | None = None,
) -> TableImported:
    """Import a table by a confirmed mapping; our files and what was held are kept in `folder`.

    `request` says whose records, which day and whether nothing is to be recorded; its files are
    those made here. ImportRefused says what stops it before anything is recorded.
    """
    fit = mapping_fits(mapping, table)
    if not fit.fits:
        faults = [f"the column {name!r} that the mapping uses is not there" for name in fit.missing]
        faults += [
            f"the column {each.was!r} is not there; {each.now!r} may be it ({each.reason})"
            for each in fit.renamed
        ]
        raise ImportRefused(*(faults or fit.remarks or ("the mapping does not fit this table",)))
    written = _written(table, mapping, folder, request=request, by=by)
    landed = {kind: path for kind, path in written.files.items() if written.landed[kind]}
    if not landed:
        raise ImportRefused(
            "an import has rows that land; got none. "
            f"Look through {written.held_file}: it says why each row was held."
        )
    made = replace(request, files=landed, rejected_to=request.rejected_to or folder)
    summary = history_import(request=made, by=by)
    return TableImported(
        written, summary, {file.kind: _source_rows(file, written) for file in summary.files}
    )


def _written(
    table: RawTable,
    mapping: Mapping,
    folder: Path,
    *,
    request: ImportRequest,
    by: AbstractBaseUser | None,
) -> Written:
    """Our files of the table, its lines read by the organisation's answers; those not understood
    wait for a person, even where nothing lands, or they would wait for ever."""
    organisation = Organisation.objects.filter(code=request.organisation_code).first()
    if organisation is None:  # the import says so
        return files_write(mapping, table, folder, as_of=request.as_of)
    answers = answers_of(organisation=organisation)
    written = files_write(mapping, table, folder, as_of=request.as_of, answers=answers)
    if written.lines is not None and not request.dry_run:
        unread = written.lines.unread.values()
        lines_queue(organisation=organisation, lines=unread, at=request.now, by=by)
    return written


def _source_rows(file: FileSummary, written: Written) -> list[int]:
    """The source's numbers of the rejected rows that the summary tells; the file has all."""
    if not file.outcomes[Outcome.REJECTED]:
        return []
    lines = sorted({int(told.split()[1]) for told in file.told})
    found = (source_row_of(written.rows_of[file.kind], line) for line in lines)
    return [row for row in found if row is not None]
