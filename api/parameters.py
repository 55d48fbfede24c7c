"""What a request may ask for: query parameters and bodies, read whole, all faults at once."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any, NoReturn

from django.http import QueryDict
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request

from api.errors import faults_of
from api.number_fields import ShownField, WholeField
from api.parsers import writable
from api.problems import INVALID_REQUEST, Fault, Refused
from api.serializers.fields import pairs
from garage.lifetimes.verdict.shares import Cause
from garage.outcomes.early_failures import FlagRule
from garage.records.choices import (
    FILTER_PART_KIND,
    EngineCondition,
    JobPhase,
    Origin,
    ReadingKind,
    SensorLayout,
)
from garage.records.models import PartKind

MOST_PER_PAGE = 200
DEFAULT_PER_PAGE = 50
#: Characters of a refused value that are said back.
SHOWN_LENGTH = 60


class ChosenField(serializers.ChoiceField):
    """One of a list of codes, which a refusal names."""

    def __init__(self, choices: Iterable[str], **options: Any) -> None:
        self.codes = [str(each) for each in choices]
        # With its words, so that answers and bodies share one list in the document.
        super().__init__(choices=pairs(choices), **options)

    def fail(self, key: str, **values: Any) -> NoReturn:
        if key == "invalid_choice":
            came = str(values["input"])[:SHOWN_LENGTH]
            raise serializers.ValidationError(
                f"{self.field_name} must be one of {', '.join(self.codes)}; got {came!r}.", key
            )
        super().fail(key, **values)


@extend_schema_field(OpenApiTypes.STR)
class PartKindField(serializers.Field[PartKind, str, str, Any]):
    """The code of a part kind, read as its row; a refusal names the codes of the catalogue."""

    def to_internal_value(self, data: str) -> PartKind:
        kinds = {kind.code: kind for kind in PartKind.objects.all()}
        if data not in kinds:
            raise serializers.ValidationError(
                f"part_kind must be in the catalogue; got {data[:SHOWN_LENGTH]!r}. "
                f"Known: {', '.join(kinds)}. Add one with manage.py add_part_kind.",
                "not_in_catalogue",
            )
        return kinds[data]


def _whole(name: str, *, most: int, **options: Any) -> serializers.IntegerField:
    rule = f"{name} must be a whole number from 1 to {most}"
    return serializers.IntegerField(
        min_value=1,
        max_value=most,
        error_messages=dict.fromkeys(
            ("invalid", "min_value", "max_value", "max_string_length"), f"{rule}."
        ),
        **options,
    )


class ViewQuery(serializers.Serializer[Any]):
    """Whose records: those of all organisations the reader is a member of, or of one."""

    organisation = serializers.CharField(
        required=False,
        max_length=40,
        help_text="Code of one organisation that the reader is a member of; left out: all of "
        "them together. Another's code answers as one that does not exist.",
    )


class PageQuery(ViewQuery):
    """Which page of a list."""

    page = _whole("page", most=100_000, required=False, default=1, help_text="From 1.")
    page_size = _whole(
        "page_size",
        most=MOST_PER_PAGE,
        required=False,
        default=DEFAULT_PER_PAGE,
        help_text=f"Rows on a page, at most {MOST_PER_PAGE}.",
    )


class VehicleQuery(PageQuery):
    find = serializers.CharField(
        required=False,
        max_length=60,
        help_text="Registration mark (present or former), VIN or reference, or at least three "
        "characters of one; blanks, signs and case of marks and VINs do not count. The "
        "nearest come first, 50 at most. Left out: all vehicles.",
    )


class PartKindQuery(ViewQuery):
    part_kind = PartKindField(
        required=False,
        default=lambda: PartKind.objects.get(code=FILTER_PART_KIND),
        help_text=f"Code of a part kind of the catalogue; left out: {FILTER_PART_KIND}.",
    )


class PartLifeQuery(PartKindQuery):
    origin = ChosenField(
        Origin.values, required=False, help_text="Only parts of this origin; left out: of any."
    )


class EarlyFailuresQuery(PartLifeQuery):
    rule = ChosenField(
        FlagRule, required=False, help_text="Only flags of this rule; left out: of both."
    )
    leader = ChosenField(
        [*Cause, "none"],
        required=False,
        help_text="Only flags whose verdict this cause leads (none: no cause leads); left out: "
        "all.",
    )


class ImportBody(serializers.Serializer[Any]):
    """Files of the register's own form, and for whom."""

    organisation = serializers.CharField(
        max_length=40, help_text="Code of the organisation whose records they are."
    )
    dry_run = serializers.BooleanField(
        default=False, help_text="Only say what would come of it, record nothing."
    )
    vehicles = serializers.FileField(required=False, help_text="One row is one vehicle.")
    clusters = serializers.FileField(required=False, help_text="One row is one replaced cluster.")
    odometer = serializers.FileField(required=False, help_text="One row is one reading.")
    jobs = serializers.FileField(required=False, help_text="One row is one operation of a job.")


class ReadingBody(serializers.Serializer[Any]):
    """A value as it was shown."""

    quantity = serializers.CharField(max_length=40, help_text="A key of /quantities/.")
    value = ShownField(
        max_digits=14,
        decimal_places=4,
        help_text="As the display shows it.",
        error_messages={
            "invalid": "value must be a number with a decimal point, at most 10 digits before and "
            "4 after it. Type the digits shown, in a unit that needs no more of them."
        },
    )
    unit = serializers.CharField(
        required=False, allow_blank=True, max_length=16, help_text="Left out: none is shown."
    )
    kind = ChosenField(
        ReadingKind.values, required=False, help_text="Left out: the quantity's usual one."
    )
    phase = ChosenField(JobPhase, help_text="When it was read.")
    condition = ChosenField(
        EngineCondition.values, required=False, help_text="What the engine was doing."
    )
    speed_rpm = WholeField(required=False, help_text="Engine speed.")
    layout = ChosenField(
        SensorLayout.values, required=False, help_text="How the pressure sensor is plumbed."
    )
    km_since_burn = WholeField(required=False, help_text="Distance since the last burn, km.")
    minutes_since_burn = WholeField(required=False, help_text="Time since the last burn, min.")
    instrument_id = WholeField(
        required=False, help_text="Number of the workshop's instrument that showed it."
    )
    note = serializers.CharField(
        required=False, allow_blank=True, max_length=200, help_text="More, in words."
    )


class Credentials(serializers.Serializer[Any]):
    """Name and password, where they do not come by HTTP Basic."""

    user = serializers.CharField(max_length=150, help_text="The name used to sign in.")
    password = serializers.CharField(
        max_length=128, trim_whitespace=False, help_text="Blanks count."
    )


def query_read(query: type[serializers.Serializer[Any]], request: Request) -> dict[str, Any]:
    """The query parameters, or a refusal that lists every fault."""
    given = request.query_params
    return _read(query, given.dict(), place="query", faults=_twice(given, place="query"))


def body_read(body: type[serializers.Serializer[Any]], request: Request) -> dict[str, Any]:
    """The body's fields, or a refusal that lists every fault."""
    if not isinstance(request.data, Mapping):
        came = type(request.data).__name__
        fault = Fault("invalid", "body", "", f"the body must be a JSON object; got a {came}.")
        raise Refused(INVALID_REQUEST, errors=[fault])
    given = request.data
    faults = _twice(given, place="body") if isinstance(given, QueryDict) else []
    # What is said in the address beside a body would be lost.
    faults += [
        Fault("unknown_name", "query", writable(name), f"{name!r} is sent in the body, if at all.")
        for name in request.query_params
    ]
    return _read(body, given, place="body", faults=faults)


def _twice(given: QueryDict, *, place: str) -> list[Fault]:
    return [
        Fault("given_twice", place, name, f"{name} may be given once; got {len(values)}.")
        for name, values in given.lists()
        if len(values) > 1
    ]


def _read(
    kind: type[serializers.Serializer[Any]],
    given: Mapping[str, Any],
    *,
    place: str,
    faults: list[Fault],
) -> dict[str, Any]:
    reader = kind(data=given)
    faults = faults + list(_unknown(reader, given, place=place))
    if not reader.is_valid():
        faults += [_with_what_came(fault, given) for fault in faults_of(reader.errors, place=place)]
    if faults:
        raise Refused(INVALID_REQUEST, errors=faults)
    return dict(reader.validated_data)


def _unknown(
    reader: serializers.Serializer[Any], given: Mapping[str, Any], *, place: str, within: str = ""
) -> Iterator[Fault]:
    """Names that nothing here has, also in the parts of a body: what they say would be lost."""
    known = ", ".join(reader.fields)
    for name, said in given.items():
        field = reader.fields.get(name)
        if field is None:
            words = f"{name!r} is not known here. Known: {known}."
            yield Fault("unknown_name", place, within + writable(name), words)
        elif isinstance(field, serializers.Serializer) and isinstance(said, Mapping):
            yield from _unknown(field, said, place=place, within=f"{within}{name}.")
        elif isinstance(field, serializers.ListSerializer) and isinstance(said, list):
            for number, each in enumerate(said):
                if isinstance(field.child, serializers.Serializer) and isinstance(each, Mapping):
                    inner = f"{within}{name}.{number}."
                    yield from _unknown(field.child, each, place=place, within=inner)


def _with_what_came(fault: Fault, given: Mapping[str, Any]) -> Fault:
    if fault.code == "required":
        return replace(fault, detail=f"{fault.name} must be given.")
    # A body may hold a password; what came in one is never said.
    if fault.place == "body" or "; got " in fault.detail or fault.name not in given:
        return fault
    came = str(given[fault.name])[:SHOWN_LENGTH]
    return replace(fault, detail=f"{fault.detail.rstrip('.')}; got {came!r}.")
