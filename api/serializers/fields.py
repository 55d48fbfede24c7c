"""Fields of answers: each is always there, says what it means, and null means not known."""

from collections.abc import Iterable
from typing import Any

from django.db.models import Choices
from rest_framework import serializers


class Answer(serializers.Serializer[Any]):
    """A part of an answer; it is only ever written out."""


def text(meaning: str, *, null: bool = False, source: str | None = None) -> serializers.CharField:
    return serializers.CharField(
        help_text=meaning, allow_null=null, read_only=True, **_from(source)
    )


def whole(
    meaning: str, *, null: bool = False, source: str | None = None
) -> serializers.IntegerField:
    return serializers.IntegerField(
        help_text=meaning, allow_null=null, read_only=True, **_from(source)
    )


def number(meaning: str, *, null: bool = False) -> serializers.FloatField:
    return serializers.FloatField(help_text=meaning, allow_null=null, read_only=True)


def yes_no(
    meaning: str, *, null: bool = False, source: str | None = None
) -> serializers.BooleanField:
    return serializers.BooleanField(
        help_text=meaning, allow_null=null, read_only=True, **_from(source)
    )


def day(meaning: str, *, null: bool = False, source: str | None = None) -> serializers.DateField:
    return serializers.DateField(
        help_text=meaning, allow_null=null, read_only=True, **_from(source)
    )


def texts(meaning: str) -> serializers.ListField:
    return serializers.ListField(child=serializers.CharField(), help_text=meaning, read_only=True)


def numbers(meaning: str, *, null: bool = False) -> serializers.ListField:
    return serializers.ListField(
        child=serializers.FloatField(), help_text=meaning, allow_null=null, read_only=True
    )


def one_of(
    choices: Iterable[str], meaning: str, *, null: bool = False, source: str | None = None
) -> serializers.ChoiceField:
    """One code of an enumeration."""
    return serializers.ChoiceField(
        choices=pairs(choices), help_text=meaning, allow_null=null, read_only=True, **_from(source)
    )


class GivenText(serializers.CharField):
    """A text column in which empty means not known: null in an answer."""

    def to_representation(self, value: Any) -> Any:
        return super().to_representation(value) or None


def given_text(meaning: str, *, source: str | None = None) -> GivenText:
    return GivenText(help_text=meaning, allow_null=True, read_only=True, **_from(source))


class GivenCode(serializers.ChoiceField):
    """A code column in which empty means not known: null in an answer."""

    def to_representation(self, value: Any) -> Any:
        return super().to_representation(value) or None


def given_code(choices: Iterable[str], meaning: str, *, source: str | None = None) -> GivenCode:
    return GivenCode(
        choices=pairs(choices), help_text=meaning, allow_null=True, read_only=True, **_from(source)
    )


def pairs(choices: Iterable[str]) -> list[tuple[str, str]]:
    """Codes with their words, as the document's generator reads them off the enumeration itself."""
    if isinstance(choices, type) and issubclass(choices, Choices):
        return list(choices.choices)
    return [(str(each), getattr(each, "name", str(each))) for each in choices]


def _from(source: str | None) -> dict[str, Any]:
    return {} if source is None else {"source": source}
