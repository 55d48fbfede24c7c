"""The filters of the early failures' list."""

from collections.abc import Sequence
from typing import Any
from urllib.parse import urlencode

from django import forms

from garage.outcomes.wire import Wire
from garage.pages.words import CAUSES, RULES

NO_CAUSE = "none"


class FlagFilter(forms.Form):
    """By rule, engine family and the cause that leads; a wrong value is named, not obeyed."""

    rule = forms.ChoiceField(required=False, label="Rule")
    engine_family = forms.ChoiceField(required=False, label="Engine family")
    cause = forms.ChoiceField(required=False, label="Likelier cause")

    def __init__(self, asked: Any, *, flags: Sequence[Wire]) -> None:
        super().__init__(asked)
        families = sorted({str(flag["engine_family"]) for flag in flags})
        self._offer("rule", list(RULES.items()))
        self._offer("engine_family", [(name, name) for name in families])
        self._offer("cause", [*CAUSES.items(), (NO_CAUSE, "none leads, or cannot be told")])

    def kept(self, flags: Sequence[Wire]) -> list[Wire]:
        """The flags that are asked for; all of them where the question is wrong."""
        if not self.is_valid():
            return list(flags)
        rule, family, cause = (
            self.cleaned_data[name] for name in ("rule", "engine_family", "cause")
        )
        return [
            flag
            for flag in flags
            if rule in ("", flag["rule"])
            and family in ("", flag["engine_family"])
            and cause in ("", flag["verdict"]["leader"] or NO_CAUSE)
        ]

    @property
    def is_asked(self) -> bool:
        return any(self.data.get(name) for name in self.fields)

    @property
    def query(self) -> str:
        """The question again, for the links to further pages."""
        asked = {name: self.data[name] for name in self.fields if self.data.get(name)}
        if part_kind := self.data.get("part_kind"):
            asked["part_kind"] = part_kind
        return urlencode(asked)

    def _offer(self, name: str, choices: list[tuple[str, str]]) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", "all"), *choices]
