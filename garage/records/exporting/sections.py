"""What the JSON document of an export holds: its sections, in order, and their fields."""

from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.db import models

from garage.records.models import (
    AdviceGiven,
    AuditEntry,
    Baseline,
    Call,
    CallList,
    CautionConfirmed,
    Claim,
    ClusterReplacement,
    ComebackReview,
    Document,
    DriveLogged,
    EngineFamily,
    Erasure,
    FindingSeen,
    Fitment,
    GaugePair,
    ImportRun,
    ImportSource,
    Instrument,
    Job,
    Keeper,
    LineAnswer,
    LineToReview,
    LookMissed,
    Membership,
    Merge,
    NotDuplicate,
    OdometerReading,
    Operation,
    Organisation,
    OutcomeConfirmed,
    OwnCodeWording,
    OwnNormalLife,
    OwnThreshold,
    PartKind,
    Reading,
    ReadingResolution,
    Recheck,
    RegistrationMark,
    TableUpload,
    TroubleCodeRead,
    UnitConfirmed,
    Vehicle,
    Warranty,
)

#: Rows of the installation's vocabulary are named by their name and not by a key of this database.
_NAMED_BY: dict[str, str] = {
    PartKind._meta.label: "code",
    EngineFamily._meta.label: "name",
    settings.AUTH_USER_MODEL: "username",
}


@dataclass(frozen=True)
class ExportField:
    """A field by its name in the document, and how the database is asked for it."""

    name: str
    asked_for: str
    holds: str


@dataclass(frozen=True)
class Section:
    """The records of one model; `owner` is the way from a record to its organisation."""

    model: type[models.Model]
    owner: str

    @property
    def name(self) -> str:
        return str(self.model._meta.verbose_name_plural).replace(" ", "_")

    @property
    def fields(self) -> tuple[ExportField, ...]:
        """All columns but the organisation, which the whole document is of."""
        return tuple(
            _field(column)
            for column in self.model._meta.concrete_fields
            if column.related_model is not Organisation
        )

    def rows(self, organisation: Organisation) -> "models.QuerySet[Any, Any]":
        """In the order in which they were recorded."""
        found = self.model._default_manager.filter(**{self.owner: organisation})
        return found.order_by("pk")


#: A record stands after those it names, but for those of its own section.
SECTIONS = (
    Section(Membership, "organisation"),
    Section(OwnNormalLife, "organisation"),
    Section(OwnThreshold, "organisation"),
    Section(OwnCodeWording, "organisation"),
    Section(Instrument, "organisation"),
    Section(UnitConfirmed, "instrument__organisation"),
    Section(Vehicle, "organisation"),
    Section(RegistrationMark, "vehicle__organisation"),
    Section(Keeper, "vehicle__organisation"),
    Section(ClusterReplacement, "vehicle__organisation"),
    Section(Job, "organisation"),
    Section(Operation, "job__organisation"),
    Section(OdometerReading, "vehicle__organisation"),
    Section(ReadingResolution, "reading__vehicle__organisation"),
    Section(LookMissed, "job__organisation"),
    Section(Reading, "job__organisation"),
    Section(Baseline, "reading__job__organisation"),
    Section(GaugePair, "job__organisation"),
    Section(TroubleCodeRead, "job__organisation"),
    Section(DriveLogged, "job__organisation"),
    Section(FindingSeen, "job__organisation"),
    Section(OutcomeConfirmed, "job__organisation"),
    Section(CautionConfirmed, "job__organisation"),
    Section(AdviceGiven, "job__organisation"),
    Section(ComebackReview, "job__organisation"),
    Section(Recheck, "job__organisation"),
    Section(Warranty, "operation__job__organisation"),
    Section(Claim, "organisation"),
    Section(Document, "organisation"),
    Section(CallList, "organisation"),
    Section(Call, "call_list__organisation"),
    Section(Fitment, "vehicle__organisation"),
    Section(Merge, "organisation"),
    Section(NotDuplicate, "organisation"),
    Section(Erasure, "organisation"),
    Section(ImportSource, "organisation"),
    Section(ImportRun, "organisation"),
    Section(TableUpload, "organisation"),
    Section(LineAnswer, "organisation"),
    Section(LineToReview, "organisation"),
    Section(AuditEntry, "organisation"),
)

_HOLDS = {
    models.BigAutoField: "number, the key",
    models.BooleanField: "true or false",
    models.DateField: "date",
    models.DateTimeField: "time",
    models.DecimalField: "decimal number as text",
    models.FloatField: "number",
    models.IntegerField: "number",
    models.JSONField: "anything",
}


def organisation_fields() -> tuple[ExportField, ...]:
    """The fields of the organisation itself."""
    return tuple(_field(column) for column in Organisation._meta.concrete_fields)


def _field(column: Any) -> ExportField:
    name, related = column.name, column.related_model
    if related is None:
        return ExportField(name, name, _holds(column))
    named_by = _NAMED_BY.get(related._meta.label)
    if named_by is None:
        holds = f"key in `{Section(related, '').name}`"
        return ExportField(name, column.attname, _or_null(column, holds))
    return ExportField(name, f"{name}__{named_by}", _or_null(column, f"{named_by}, text"))


def _holds(column: Any) -> str:
    holds = next((words for form, words in _HOLDS.items() if type(column) is form), None)
    if holds is None:
        holds = "number" if isinstance(column, models.IntegerField) else "text"
    if column.choices:
        holds = "one of " + ", ".join(f"`{code}`" for code, _ in column.choices)
        holds += ", or empty" if column.blank else ""
    return _or_null(column, holds)


def _or_null(column: Any, holds: str) -> str:
    return f"{holds}, or null" if column.null else holds
