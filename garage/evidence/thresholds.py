"""Thresholds by name: each with its unit and where it comes from, and open to be overridden."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from math import isfinite


class Basis(StrEnum):
    """How far a value can be trusted."""

    SOURCE = "source"
    PRACTICE = "practice"
    MEMORY = "memory"
    CALCULATED = "calculated"
    JUDGEMENT = "judgement"
    OWN = "own"

    @property
    def words(self) -> str:
        return _WORDS[self]


_WORDS = {
    Basis.SOURCE: "published",
    Basis.PRACTICE: "common practice, no source",
    Basis.MEMORY: "from memory of a published source",
    Basis.CALCULATED: "calculated here",
    Basis.JUDGEMENT: "judgement, no source",
    Basis.OWN: "own value",
}


@dataclass(frozen=True, slots=True)
class Threshold:
    """A limit that a measured value is held against.

    Attributes
    ----------
    key : str
        Snake case, unique, ending in its unit where it has one: ``zero_good_mbar``.
    value : float
    unit : str
        As printed; empty for a share or a count.
    title : str
        What it is the limit of, in the trade's words.
    basis : Basis
    source : str
        Where the value is from; empty only where the basis says that there is none.
    least, most : float
        Between which an override must lie.
    """

    key: str
    value: float
    unit: str
    title: str
    basis: Basis
    source: str = ""
    least: float = 0.0
    most: float = float("inf")

    @property
    def bounded(self) -> "Threshold":
        """The same, with a range for own values where none was given: a tenth of the value to ten
        times it, and a share or a probability at most 1 (judgement, no source)."""
        if isfinite(self.most):
            return self
        is_part = self.key.endswith(("_share", "_probability"))
        most = min(10.0 * self.value, 1.0) if is_part else 10.0 * self.value
        return replace(self, least=max(self.least, self.value / 10.0), most=most)


@dataclass(frozen=True, slots=True)
class Override:
    """An organisation's or an engine family's own value, and who says so."""

    key: str
    value: float
    source: str


class Thresholds:
    """The limits that hold for one vehicle: those shipped, with its overrides in their place.

    Examples
    --------
    >>> shipped = Threshold("zero_good_mbar", 2.0, "mbar", "zero that lets grade", Basis.PRACTICE)
    >>> limits = Thresholds([shipped]).overridden([Override("zero_good_mbar", 1.5, "own gauge")])
    >>> limits["zero_good_mbar"], limits.told("zero_good_mbar").source
    (1.5, 'own gauge')
    """

    def __init__(
        self, shipped: Iterable[Threshold], overrides: Mapping[str, Override] | None = None
    ) -> None:
        self._shipped: dict[str, Threshold] = {}
        for each in shipped:
            if each.key in self._shipped:
                raise ValueError(f"a threshold has one place; `{each.key}` came twice")
            self._shipped[each.key] = each.bounded
        self._overrides = dict(overrides or {})

    def __getitem__(self, key: str) -> float:
        return self.told(key).value

    def __iter__(self) -> Iterator[str]:
        return iter(self._shipped)

    def told(self, key: str) -> Threshold:
        """The threshold as it holds here; raises KeyError for a name that is not known."""
        shipped = self._shipped[key]
        own = self._overrides.get(key)
        if own is None:
            return shipped
        return Threshold(
            key=key,
            value=own.value,
            unit=shipped.unit,
            title=shipped.title,
            basis=Basis.OWN,
            source=own.source,
            least=shipped.least,
            most=shipped.most,
        )

    def is_own(self, key: str) -> bool:
        """Whether an override stands in place of what is shipped."""
        return key in self._overrides

    def overridden(self, overrides: Iterable[Override]) -> "Thresholds":
        """The same with these values in place of those shipped; later ones win.

        Raises ValueError for a name that is not known or a value out of range.
        """
        own = dict(self._overrides)
        for each in overrides:
            shipped = self._shipped.get(each.key)
            if shipped is None:
                raise ValueError(f"a threshold is one of those shipped; got `{each.key}`")
            if not shipped.least <= each.value <= shipped.most:
                raise ValueError(
                    f"`{each.key}` lies from {shipped.least:g} to {shipped.most:g} "
                    f"{shipped.unit}; got {each.value:g}"
                )
            own[each.key] = each
        return Thresholds(self._shipped.values(), own)
