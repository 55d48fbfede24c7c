"""How figures are written in the terminal."""

from garage.lifetimes.status import Status
from garage.lifetimes.wording import spoken
from garage.outcomes.wire import Wire

NOT_KNOWN = "-"
#: Set after a figure that hangs on few vehicles.
THIN = "*"
STRATA = {
    "together": "",
    "seen_before_trouble": "  seen before trouble",
    "on_arrivals": "  on arrivals in trouble",
}


def share(figure: Wire) -> str:
    """A share in per cent with its interval: 71 (64-78)."""
    if figure["value"] is None:
        return NOT_KNOWN
    return f"{100 * figure['value']:.0f} {_range(figure, 100)}{_thin(figure)}"


def thousand_km(figure: Wire) -> str:
    """A distance in thousand km with its interval: 288 (250-…)."""
    if figure["value"] is None:
        return NOT_KNOWN
    return f"{figure['value'] / 1000:.0f} {_range(figure, 1 / 1000)}{_thin(figure)}"


def _thin(figure: Wire) -> str:
    """A blank where the figure stands, so that the digits stay in line."""
    return THIN if figure["status"] == Status.SMALL_RISK_SET else " "


def _range(figure: Wire, scale: float) -> str:
    lower, upper = (
        "…" if figure[end] is None else f"{figure[end] * scale:.0f}" for end in ("lower", "upper")
    )
    return f"({lower}-{upper})"


def probability(value: float | None) -> str:
    """A probability in words a reader can weigh: 0.03, 1 in 12 000."""
    if value is None:
        return "not known"
    if value >= 0.01:
        return f"{value:.2f}"
    if value < 1e-9:
        return "under 1 in 1 000 000 000"
    return f"1 in {spoken(float(f'{1 / value:.2g}'))}"


def counted(number: int, thing: str) -> str:
    """A count with its noun: 1 failure, 2 failures."""
    return f"{spoken(number)} {thing}{'' if number == 1 else 's'}"


def columns(rows: list[list[str]], *, left: int = 1) -> list[str]:
    """Rows of cells as aligned lines; the first `left` columns to the left, the rest right."""
    widths = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
    lines = []
    for row in rows:
        cells = [
            cell.ljust(width) if place < left else cell.rjust(width)
            for place, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        lines.append("  ".join(cells).rstrip())
    return lines
