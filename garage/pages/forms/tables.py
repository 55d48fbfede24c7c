"""Forms of a table that is mapped: where it comes from, and what its columns and values mean."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from django import forms

from garage.pages.forms.organisations import ForOrganisationForm
from garage.records.importing.columns import Column, Form
from garage.records.models import PartKind
from garage.records.tabular.line_column import columns_of
from garage.records.tabular.look import Meaning, TableLook, ValueQuestion
from garage.records.tabular.mapping import ColumnUse, KindUse, Mapping
from garage.records.tabular.propose import KindProposal
from garage.records.tabular.settle import Rule, Setting

#: Beginnings of what a column may be filled by: source columns by number, or one constant.
_SOURCES, _CONSTANT = "from:", "always:"
_NOWHERE = ("", "is not in the table")


class UploadForm(ForOrganisationForm):
    source_name = forms.CharField(
        label="Where it comes from",
        max_length=80,
        help_text="The same name each time: what you say of its columns is kept under it.",
    )
    content = forms.FileField(label="Table", help_text="CSV of any kind, or XLSX; up to 20 MB.")


@dataclass(frozen=True)
class KindShown:
    """A kind of file: its switch, the columns that are filled or needed, and all others."""

    kind: KindProposal
    switch: forms.BoundField
    filled: list[forms.BoundField]
    rest: list[forms.BoundField]


class MappingForm(forms.Form):
    """What fills our columns, what values mean, how ambiguous cells are read; one field each."""

    def __init__(self, *said: Any, look: TableLook, mapping: Mapping, **more: Any) -> None:
        super().__init__(*said, **more)
        self.look, self.mapping = look, mapping
        used = {(kind.kind, use.column): use for kind in mapping.kinds for use in kind.columns}
        for kind in look.kinds:
            taken = any(each.kind == kind.kind.name for each in mapping.kinds)
            self.fields[f"kind-{kind.kind.name}"] = forms.BooleanField(
                label=f"It has {kind.kind.name}", required=False, initial=taken
            )
            for column in columns_of(kind.kind).values():
                self.fields[f"use-{kind.kind.name}-{column.name}"] = forms.ChoiceField(
                    label=column.name.replace("_", " "),
                    help_text=column.meaning,
                    choices=list(self._fillings(kind, column)),
                    required=False,
                    initial=self._filled_by(used.get((kind.kind.name, column.name))),
                )
        part_kinds = list(PartKind.objects.order_by("name").values_list("code", "name"))
        for name, _, meaning in self._asked():
            codes = [(code, code.replace("_", " ")) for code in meaning.codes] or part_kinds
            self.fields[name] = forms.ChoiceField(
                label=meaning.column.replace("_", " "),
                choices=[("", "says nothing of it"), *codes],
                required=False,
                initial=meaning.said or meaning.proposed,
            )
        for number, question in enumerate(look.settings):
            self.fields[f"setting-{number}"] = self._setting_field(question.setting, question.said)

    def kinds_shown(self) -> list[KindShown]:
        """Each kind of file with its switch and its columns, those that matter first."""
        return [self._kind_shown(kind) for kind in self.look.kinds]

    def _kind_shown(self, kind: KindProposal) -> KindShown:
        fields = {name: self[f"use-{kind.kind.name}-{name}"] for name in columns_of(kind.kind)}
        filled = [
            field
            for name, field in fields.items()
            if field.value() or field.errors or name in kind.lacking
        ]
        rest = [field for field in fields.values() if field not in filled]
        return KindShown(kind, self[f"kind-{kind.kind.name}"], filled, rest)

    def values_shown(self) -> list[tuple[ValueQuestion, list[tuple[forms.BoundField, Meaning]]]]:
        """Each value with the fields that say what it means."""
        shown: dict[int, list[tuple[forms.BoundField, Meaning]]] = {}
        for name, number, meaning in self._asked():
            shown.setdefault(number, []).append((self[name], meaning))
        return [(self.look.values[number], fields) for number, fields in shown.items()]

    def settings_shown(self) -> list[tuple[Any, forms.BoundField]]:
        return [
            (question, self[f"setting-{number}"])
            for number, question in enumerate(self.look.settings)
        ]

    def said(self) -> Mapping:
        """The mapping as the form has it; what it does not ask about stays as it was."""
        return replace(
            self.mapping,
            headers=self.look.layout.headers,
            kinds=tuple(self._kinds_said()),
            values={**self.mapping.values, **self._values_said()},
            rules=(*self._rules_kept(), *self._rules_said()),
        )

    def _fillings(self, kind: KindProposal, column: Column) -> Iterator[tuple[str, str]]:
        yield _NOWHERE
        joined = [
            candidate.sources
            for candidate in kind.of(column.name).candidates
            if len(candidate.sources) > 1
        ]
        singles = [(header,) for header in self.look.layout.headers]
        for sources in (*joined, *singles):
            yield self._key(sources), " and ".join(sources)
        if column.form is Form.CHOICE:
            for code in column.values:
                yield f"{_CONSTANT}{code}", f"always {code.replace('_', ' ')}"

    def _key(self, sources: Sequence[str]) -> str:
        headers = self.look.layout.headers
        return _SOURCES + "+".join(str(headers.index(each)) for each in sources)

    def _filled_by(self, use: ColumnUse | None) -> str:
        if use is None:
            return ""
        if use.constant is not None:
            return f"{_CONSTANT}{use.constant}"
        return self._key(use.sources)

    def _asked(self) -> Iterator[tuple[str, int, Meaning]]:
        for number, question in enumerate(self.look.values):
            for meaning in question.meanings:
                yield f"value-{number}-{meaning.column}", number, meaning

    def _setting_field(self, setting: Setting, said: str) -> forms.Field:
        label = setting.replace("_", " ")
        if setting is Setting.CURRENCY:
            return forms.CharField(
                label=label, max_length=3, required=False, initial=said,
                help_text="Three letters, such as EUR.",
            )  # fmt: skip
        allowed = next(each.allowed for each in self.look.settings if each.setting is setting)
        choices = [(value, value.replace("_", " ")) for value in allowed]
        return forms.ChoiceField(
            label=label, choices=[("", "not said: such cells wait"), *choices], required=False,
            initial=said,
        )  # fmt: skip

    def _kinds_said(self) -> Iterator[KindUse]:
        headers = self.look.layout.headers
        for kind in self.look.kinds:
            if not self.cleaned_data[f"kind-{kind.kind.name}"]:
                continue
            uses = []
            for column in columns_of(kind.kind).values():
                filling = self.cleaned_data[f"use-{kind.kind.name}-{column.name}"]
                if filling.startswith(_CONSTANT):
                    uses.append(ColumnUse(column.name, (), filling.removeprefix(_CONSTANT)))
                elif filling:
                    places = filling.removeprefix(_SOURCES).split("+")
                    sources = tuple(headers[int(place)] for place in places)
                    uses.append(ColumnUse(column.name, sources))
            if uses:
                yield KindUse(kind.kind.name, tuple(uses))

    def _values_said(self) -> dict[str, dict[str, dict[str, str]]]:
        said = {
            source: {value: dict(meant) for value, meant in values.items()}
            for source, values in self.mapping.values.items()
        }
        for name, number, meaning in self._asked():
            question = self.look.values[number]
            meant = said.setdefault(question.source, {}).setdefault(question.value, {})
            if self.cleaned_data[name]:
                meant[meaning.column] = self.cleaned_data[name]
            else:
                meant.pop(meaning.column, None)
        return {
            source: {value: meant for value, meant in values.items() if meant}
            for source, values in said.items()
        }

    def _rules_kept(self) -> Iterator[Rule]:
        asked = {(each.source, each.setting) for each in self.look.settings}
        for rule in self.mapping.rules:
            if rule.when_source is not None or (rule.source, rule.setting) not in asked:
                yield rule

    def _rules_said(self) -> Iterator[Rule]:
        for number, question in enumerate(self.look.settings):
            said = self.cleaned_data[f"setting-{number}"]
            if said:
                yield Rule(
                    question.source,
                    question.setting,
                    said.upper() if question.setting is Setting.CURRENCY else said,
                )


class RuleForm(forms.Form):
    """A rule for some rows only: where one column holds several sources."""

    source = forms.ChoiceField(label="The column")
    setting = forms.ChoiceField(
        label="Its", choices=[(each, each.replace("_", " ")) for each in Setting]
    )
    value = forms.CharField(
        label="Is",
        max_length=20,
        help_text="day first, month first, year first, point, comma, km, mi, or three letters.",
    )
    when_source = forms.ChoiceField(label="Where the column")
    when_equals = forms.CharField(label="Holds", max_length=80)

    def __init__(self, *said: Any, headers: Sequence[str], **more: Any) -> None:
        super().__init__(*said, **more)
        for name in ("source", "when_source"):
            field = self.fields[name]
            assert isinstance(field, forms.ChoiceField)
            field.choices = [(each, each) for each in headers]

    def said(self) -> Rule:
        data = self.cleaned_data
        setting = Setting(data["setting"])
        value = data["value"].strip()
        value = value.upper() if setting is Setting.CURRENCY else value.lower().replace(" ", "_")
        return Rule(data["source"], setting, value, data["when_source"], data["when_equals"])
