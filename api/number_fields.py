"""Numbers in a request, as digits alone."""

from typing import Any, NoReturn

from rest_framework import serializers


class PlainDigits:
    """A number as digits alone: neither true nor false, nor digits parted by a line, is one."""

    def to_internal_value(self, data: Any) -> Any:
        if isinstance(data, bool) or (isinstance(data, str) and "_" in data):
            self.fail("invalid")  # type: ignore[attr-defined]
        return super().to_internal_value(data)  # type: ignore[misc]


class NumberField(PlainDigits, serializers.FloatField):
    """A number."""


class WholeField(PlainDigits, serializers.IntegerField):
    """A whole number."""


class ShownField(PlainDigits, serializers.DecimalField):
    """A number as a display shows it; too many digits break the same rule as none."""

    def fail(self, key: str, **values: Any) -> NoReturn:
        super().fail("invalid" if key.startswith("max_") else key, **values)
