"""Comebacks as a table in the terminal."""

from collections.abc import Iterator

from garage.lifetimes.wording import spoken
from garage.outcomes.terminal.words import THIN, columns, share
from garage.outcomes.wire import Wire
from garage.outcomes.wording import OPERATIONS


def comebacks_lines(section: Wire) -> Iterator[str]:
    yield f"Comebacks: {section['part_kind_name']}, records to {section['as_of']}"
    yield (
        "Share of closed unplanned jobs followed by another unplanned job on the same system, in "
        "per cent, with 95 % interval."
    )
    yield "One job counts once, under its strongest operation. Divided by the capture share."
    yield ""
    rows = section["comebacks"]
    if not rows:
        yield "No closed unplanned job on this system yet."
        return
    days = [f"{figure['at_days']} days" for figure in rows[0]["within_days"]]
    km = [f"{spoken(figure['at_km'])} km" for figure in rows[0]["within_km"]]
    table = [["After", "Jobs", "Back", *days, *km]]
    table += [
        [
            OPERATIONS[row["operation"]],
            spoken(row["jobs"]),
            spoken(row["comebacks"]),
            *(share(figure) for figure in row["within_days"]),
            *(share(figure) for figure in row["within_km"]),
        ]
        for row in rows
    ]
    yield from columns(table)
    yield f"{THIN} rests on fewer than 10 at risk"
