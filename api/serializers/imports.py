"""Import runs in answers."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.serializers.fields import Answer, given_text, one_of, text, whole, yes_no
from garage.records.choices import ImportState
from garage.records.import_runs import run_progress
from garage.records.importing.rows import Outcome
from garage.records.models import ImportRun


class ImportProgressAnswer(Answer):
    """How far a run is."""

    step = text("Kind of file that it is at, or what follows after the last.")
    rows = whole("Rows of that file, or vehicles.")
    done = whole("Of them, those that are done.")


class RowOutcomesAnswer(Answer):
    """What became of the rows of a file; together they are all of its rows."""

    applied = whole("Recorded.")
    unchanged = whole("Recorded before, as they are.", source=Outcome.UNCHANGED.value)
    repeated = whole("Said by an earlier row of the file.", source=Outcome.REPEATED.value)
    rejected = whole("Not used; what is wrong stands in the file of rejected rows.")


class ImportedKindAnswer(Answer):
    """One kind of file of an import."""

    kind = text("Kind of file.")
    outcomes = RowOutcomesAnswer(help_text="Its rows by what became of them.")
    new = serializers.DictField(
        child=serializers.IntegerField(), read_only=True, help_text="Records that are new, by kind."
    )
    notices = serializers.ListField(
        child=serializers.CharField(), read_only=True, help_text="What should be looked at."
    )
    faults = serializers.ListField(
        child=serializers.CharField(), read_only=True, help_text="Of the first rejected rows."
    )


class ImportSummaryAnswer(Answer):
    """What came of an import."""

    kinds = ImportedKindAnswer(many=True, help_text="Each kind of file.")
    rows = whole("Rows of all files together.")
    is_whole = yes_no("Every row landed.")
    held_rows = whole("Rows of a table that wait for a person.")


class ImportRunAnswer(Answer):
    """One import, on its way or over."""

    id = whole("Its id.")
    organisation = text("Code of the organisation.", source="organisation.code")
    files = serializers.DictField(
        child=serializers.CharField(),
        read_only=True,
        help_text="Kind of file to its name as it was sent; `table` for a table of another form.",
    )
    dry_run = yes_no("Only tried: nothing is recorded.")
    state = one_of(ImportState, "Where it stands.")
    tries = whole("Above one: its worker was lost, nothing of that try kept, and it began again.")
    queued_at = serializers.DateTimeField(read_only=True, help_text="When it was sent.")
    ended_at = serializers.DateTimeField(
        read_only=True, allow_null=True, help_text="When it was over; null before."
    )
    message = given_text("Why it was not done, or was begun again.")
    progress = serializers.SerializerMethodField(help_text="How far it is; null before and after.")
    summary = ImportSummaryAnswer(
        allow_null=True, help_text="What came of it; null unless it is done."
    )

    @extend_schema_field(ImportProgressAnswer(allow_null=True))
    def get_progress(self, run: ImportRun) -> dict[str, Any] | None:
        progress = run_progress(run)
        return None if progress is None else dict(ImportProgressAnswer(progress).data)
