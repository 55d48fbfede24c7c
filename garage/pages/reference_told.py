"""What a family's sound filters read, as a table."""

from garage.evidence.family_reference import FamilyReferences
from garage.evidence.resistance.reference import (
    QUANTILE_SHARES,
    FamilyReference,
    Quantile,
    ReferenceStatus,
)
from garage.evidence.resistance.states import Layout
from garage.pages.charts.chart import Table
from garage.pages.words import UNKNOWN, count, counted

_CONDITIONS = {"idle": "at idle", "raised": "at 2500 to 3000 rpm without load"}
_LAYOUTS = {Layout.TWO_HOSE: "two hoses", Layout.ONE_HOSE: "one hose"}


def reference_table(references: FamilyReferences) -> Table:
    """One row for the index, and one for each condition and layout."""
    rows = [
        (
            f"Pressure {_CONDITIONS[each.condition]}, {_LAYOUTS[each.layout]}, mbar",
            each.reference,
            1,
        )
        for each in references.plain
    ]
    rows.append(("Index, two hoses, mbar per m³/h", references.index, 3))
    notes = {
        f"{name}: {reference.reason}.": None
        for name, reference, _ in rows
        if reference.status is not ReferenceStatus.OK
    }
    for left in references.left_out:
        notes[f"{counted(left.jobs, 'job', 'jobs')} left out: {left.reason}."] = None
    return Table(
        caption="Sound filters, read after the work with the zero taken off: shares of vehicles "
        "that read no more, with 95 % intervals. Own: from this register's jobs in view.",
        head=("What", "Vehicles", *(f"{100 * share:.0f} %" for share in QUANTILE_SHARES), "From"),
        rows=tuple(_row(name, reference, places) for name, reference, places in rows),
        notes=tuple(notes),
        worded=frozenset({len(QUANTILE_SHARES) + 2}),
    )


def _row(name: str, reference: FamilyReference, places: int) -> tuple[str, ...]:
    own = reference.status is ReferenceStatus.OK
    return (
        name,
        count(reference.n),
        *(_quantile(each, places, own=own) for each in reference.quantiles),
        "own" if own else _FROM[reference.status],
    )


_FROM = {
    ReferenceStatus.COMMON_PRACTICE: "common practice, no source",
    ReferenceStatus.NO_RANGE: "nothing",
}


def _quantile(quantile: Quantile, places: int, *, own: bool) -> str:
    if quantile.value is None:
        return "not reached" if own else UNKNOWN
    said = f"{quantile.value:.{places}f}"
    if not own:
        return said
    low, high = quantile.low, quantile.high
    if low is None and high is None:
        return f"{said} (interval not reached)"
    if low is None:
        return f"{said} ({high:.{places}f} or less)"
    if high is None:
        return f"{said} ({low:.{places}f} or more)"
    return f"{said} ({low:.{places}f} to {high:.{places}f})"
