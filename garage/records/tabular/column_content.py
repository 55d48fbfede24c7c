"""Whether the cells of a column look like what one of ours holds."""

import re
from dataclasses import dataclass
from itertools import pairwise

from garage.records.importing.columns import Column, Form
from garage.records.tabular.evidence import ColumnEvidence, Evidence
from garage.records.tabular.header_match import header_match
from garage.records.tabular.numbers import number_readings
from garage.records.tabular.reading import text_of
from garage.records.tabular.settle import Setting, column_settle
from garage.records.tabular.values import value_match

#: Share of filled cells that must have the form; the rest are slips: judgement.
MOSTLY = 0.8
#: Share of codes or marks from which a column without a name may be one: judgement.
RECOGNISED = 0.9
#: Share of words for a cause below which a column tells causes in sentences: judgement.
CAUSES_CODED = 0.3
#: Words above which a text is a sentence: "R&R filter both" is a code, judgement.
CODE_WORDS = 3
#: Share of different texts that are sentences from which a column tells the work in words, and
#: different texts from which it does whatever their length: judgement.
TOLD_FROM, MOST_CODES = 0.4, 100
#: Neighbouring readings of one vehicle that rise (or all fall, in lists of the newest first).
GROWING = 0.9
#: Fewer pairs say nothing: judgement.
FEWEST_PAIRS = 5

_TROUBLE_CODE = re.compile(r"[PCBU][0-3][0-9A-F]{3}(-[0-9A-F]{2})?", re.I)


@dataclass(frozen=True)
class Content:
    """One column among the others."""

    column: ColumnEvidence
    table: Evidence


@dataclass(frozen=True)
class Judged:
    """`fits` is None where cells tell nothing; `alone` is the confidence without a name."""

    fits: bool | None = None
    alone: float = 0.0
    reason: str = ""


def content_judge(column: Column, content: Content) -> Judged:
    """What the cells say of being this column of ours."""
    evidence = content.column
    if evidence.filled == 0:
        return Judged(reason="the column is empty")
    form = column.form
    if form is Form.DATE:
        serials = evidence.orders.total() + evidence.plain_dates + evidence.typed_dates
        return _share(evidence, max(evidence.dates, serials), "days", 0.0)
    if form is Form.VIN:
        return _share(evidence, evidence.vins, "VINs by their form", 0.9)
    if form is Form.MARK:
        return _mark(evidence)
    if form in (Form.DISTANCE, Form.SIGNED_DISTANCE, Form.AMOUNT):
        return _number(column, content)
    if form is Form.TROUBLE_CODES:
        return _share(evidence, _coded(evidence), "trouble codes", 0.7)
    if form is Form.CHOICE:
        return _choice(column, evidence)
    return Judged()


def is_told(evidence: ColumnEvidence) -> bool:
    """Whether the cells are sentences, each to be read for itself, rather than a few codes."""
    texts = evidence.texts
    sentences = sum(len(text.split()) > CODE_WORDS for text in texts)
    return len(texts) > MOST_CODES or sentences > TOLD_FROM * len(texts)


def units_proven(evidence: ColumnEvidence) -> tuple[str, str] | None:
    """The one unit of a column of distances, and what says so."""
    settled = column_settle(evidence)
    unit = settled.get(Setting.UNIT)
    return None if unit is None else (unit, settled.why[Setting.UNIT])


def grows(content: Content) -> bool | None:
    """Whether its numbers rise (or fall) from row to row of one vehicle; None: too few rows."""
    at = [each.header for each in content.table.columns].index(content.column.header)
    group = next(
        (
            place
            for name in ("vehicle_ref", "registration", "vin")
            for place, each in enumerate(content.table.columns)
            if (match := header_match(each.header, name)) and match.score == 1.0
        ),
        None,
    )
    if group is None or group == at:
        return None
    series: dict[str, list[float]] = {}
    for row in content.table.sample:
        number = number_readings(row.cells[at])
        value = number.point if number.point is not None else number.comma
        if value is not None:
            series.setdefault(text_of(row.cells[group]), []).append(float(value))
    steps = [after - before for each in series.values() for before, after in pairwise(each)]
    if len(steps) < FEWEST_PAIRS:
        return None
    # Standing still at every step is a constant of the vehicle, not a distance.
    if not any(steps):
        return False
    up, down = (sum(sign * step >= 0 for step in steps) for sign in (1, -1))
    return max(up, down) >= GROWING * len(steps)


def _share(evidence: ColumnEvidence, count: int, what: str, alone: float) -> Judged:
    share = evidence.share(count)
    fits = share >= MOSTLY
    reason = f"{share:.0%} of its cells are {what}"
    return Judged(fits, alone if share >= RECOGNISED else 0.0, reason)


def _mark(evidence: ColumnEvidence) -> Judged:
    share = evidence.share(evidence.marks)
    if evidence.dates > 0.5 * evidence.filled or evidence.vins > 0.5 * evidence.filled:
        return Judged(False, 0.0, "its cells are days or VINs")
    return Judged(True if share >= MOSTLY else None, 0.0, f"{share:.0%} look like marks")


def _number(column: Column, content: Content) -> Judged:
    evidence = content.column
    share = evidence.share(evidence.numbers)
    if share < MOSTLY or (evidence.dates > evidence.numbers * MOSTLY and evidence.plain_dates):
        return Judged(False, 0.0, f"{share:.0%} of its cells are numbers")
    reason = f"{share:.0%} of its cells are numbers"
    if column.name != "odometer":
        return Judged(True, 0.0, reason)
    if evidence.units:
        return Judged(True, 0.7, f"{reason}, with units of distance")
    rising = grows(content)
    if rising:
        return Judged(True, 0.0, f"{reason}; they rise from row to row of one vehicle")
    return Judged(True, 0.0, reason)


def _coded(evidence: ColumnEvidence) -> int:
    return sum(
        count
        for text, count in evidence.texts.items()
        if text
        and all(_TROUBLE_CODE.fullmatch(part) for part in re.split(r"[\s,;/]+", text) if part)
    )


def _choice(column: Column, evidence: ColumnEvidence) -> Judged:
    known = sum(
        count
        for text, count in evidence.texts.items()
        if value_match(column.name, text, column.values) is not None
    )
    total = evidence.texts.total()
    share = known / total if total else 0.0
    reason = f"{share:.0%} of its values are words for it"
    if column.name == "cause" and share < CAUSES_CODED:
        return Judged(False, 0.0, f"{reason}; causes in words are a note")
    # Unknown words are shorthand still to be mapped; they do not speak against the column.
    alone = 0.6 if share >= RECOGNISED and column.name == "operation" else 0.0
    return Judged(True if share >= 0.3 else None, alone, reason)
