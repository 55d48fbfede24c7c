"""The generated tables of docs/demo.md: what is written beside what the register finds.

`WRITE_DOCUMENTS=yes pytest tests/demo/test_document.py` writes them anew.
"""

from collections.abc import Iterable, Iterator

from fixtures.demo.answers import TESTED_KM
from fixtures.demo.truth import DEMO_TRUTH
from garage.lifetimes.capture.share import CaptureShare
from garage.outcomes.choices import Curve
from garage.outcomes.comeback_rates import ALL_FAMILIES
from garage.outcomes.figures import Figure
from tests.demo.comparisons import (
    GROUPS,
    SOUND,
    SOUND_GROUPS,
    WEAK,
    WEAK_GROUPS,
    naive_lives,
    part_life_of,
    survival_by_km,
    told_survival,
)
from tests.demo.verdicts import judged, table_rows
from tests.demo.world import Found

BEGIN = "<!-- found: generated -->"
END = "<!-- end of found -->"


def found_tables(found: Found) -> str:
    """All tables, as they stand between the marks in docs/demo.md."""
    parts = [
        ("Survival", _survival(found)),
        ("The naive estimates", _naive(found)),
        ("Comebacks", _comebacks(found)),
        ("Capture shares", _captures(found)),
        ("Normal life of a factory filter", _normal_life(found)),
        ("Verdicts", _verdicts(found)),
        ("The account of lives", _account(found)),
    ]
    return "\n\n".join(f"### {title}\n\n" + "\n".join(rows) for title, rows in parts)


def document_with(text: str, tables: str) -> str:
    """The document with its generated part put in place of the old one."""
    before, _, rest = text.partition(BEGIN)
    _, end, after = rest.partition(END)
    if not end:
        raise ValueError(f"the document must hold {BEGIN} and {END}, in this order")
    return f"{before}{BEGIN}\n\n{tables}\n\n{END}{after}"


def _row(cells: Iterable[str]) -> str:
    return f"| {' | '.join(cells)} |"


def _head(*titles: str) -> Iterator[str]:
    yield _row(titles)
    yield _row("---" for _ in titles)


def _share(value: float | None) -> str:
    return "–" if value is None else f"{value:.2f}"


def _with_limits(figure: Figure, places: int = 2) -> str:
    if figure.value is None:
        return "–"
    marked = " (few at risk)" if figure.status == "small_risk_set" else ""
    return f"{figure.value:.{places}f} ({_share(figure.lower)} to {_share(figure.upper)}){marked}"


def _share_with_limits(share: CaptureShare) -> str:
    return f"{_share(share.value)} ({_share(share.lower)} to {_share(share.upper)})"


def _survival(found: Found) -> Iterator[str]:
    titles = ("filters", "lives, failed", "km", "written truth", "expected", "seen", "presumed")
    yield from _head(*titles)
    for group in GROUPS:
        life = part_life_of(found, group)
        figures = [survival_by_km(life, curve) for curve in Curve]
        for km, true in told_survival(found, group).items():
            first = km == TESTED_KM[0]
            yield _row(
                (
                    group.name if first else "",
                    f"{life.lives}, {life.failed}" if first else "",
                    f"{km // 1000} 000",
                    f"**{true:.3f}**",
                    *(_with_limits(curve[km], places=3) for curve in figures),
                )
            )


def _naive(found: Found) -> Iterator[str]:
    yield from _head("factory filters", "km", "average of failed", "all from 0 km", "written truth")
    for name, families, groups in (
        ("sound families", SOUND, SOUND_GROUPS),
        ("weak family", WEAK, WEAK_GROUPS),
    ):
        naive = naive_lives(found, families)
        average, curve = naive.plain_average(), naive.product_limit()
        for km, true in told_survival(found, groups[0]).items():
            yield _row(
                (
                    name if km == TESTED_KM[0] else "",
                    f"{km // 1000} 000",
                    _share(average[km]),
                    _share(curve.get(km)),
                    f"**{true:.2f}**",
                )
            )


def _comebacks(found: Found) -> Iterator[str]:
    yield from _head("operation", "jobs", "30 days", "written", "365 days", "written")
    for rates in found.report.comebacks:
        if rates.engine_family != ALL_FAMILIES:
            continue
        (told,) = [
            each
            for each in found.told["comebacks"]
            if each["organisation"] is None and each["operation"] == rates.operation
        ]
        figures = {each.at: each.figure for each in rates.within_days}
        cells = [rates.operation, str(rates.jobs)]
        for days in (30, 365):
            cells += [_with_limits(figures[days]), f"**{told['share_days'][str(days)]:.2f}**"]
        yield _row(cells)


def _captures(found: Found) -> Iterator[str]:
    yield from _head("organisation", "failures", "written", "comebacks", "written, within a year")
    names = {each.code: each.name for each in DEMO_TRUTH.organisations}
    for each in found.report.captures:
        told = [one for one in found.told["comebacks"] if one["organisation"] == each.organisation]
        here = sum(one["back_here_within_year"] for one in told)
        true_comebacks = here / sum(one["back_within_year"] for one in told)
        yield _row(
            (
                names[each.organisation],
                _share_with_limits(each.failures),
                f"**{found.told['capture'][each.organisation]['share']:.2f}**",
                _share_with_limits(each.comebacks),
                f"**{true_comebacks:.2f}**",
            )
        )


def _normal_life(found: Found) -> Iterator[str]:
    yield from _head("", "found", "written")
    normal = found.report.normal.lives["factory"]
    written = [each.sound_median_km for each in DEMO_TRUTH.families if not each.weak_by_design]
    limits = (normal.median_lower_km, normal.median_upper_km)
    low, high = (f"{km / 1000:.0f} 000" if km is not None else "–" for km in limits)
    yield _row(
        (
            "half have failed by, km",
            f"{normal.median_km / 1000:.0f} 000 ({low} to {high})",
            f"**{min(written) / 1000:.0f} 000 to {max(written) / 1000:.0f} 000**",
        )
    )
    yield _row(("Weibull shape", f"{normal.law.shape:.1f}", "**2.5**"))


def _verdicts(found: Found) -> Iterator[str]:
    yield from _head("written cause", "flagged", "named rightly", "by the written laws")
    score = judged(found)
    for cause, n, right, by_law in table_rows(score.flagged, score.flagged_by_law):
        yield _row((cause, str(n), right, by_law))


def _account(found: Found) -> Iterator[str]:
    yield from _head("class", "fitments")
    account = found.report.account
    for name, n in account.classes.items():
        yield _row((name.replace("_", " "), str(n)))
    yield _row(("**all fitments**", f"**{account.fitments}**"))
