"""Measure verdicts in several regions, for docs/verdicts.md.

Run `python -m tests.demo.measure_verdicts SEED ...`; for seeds see `measured_regions`.
"""

import sys

from tests.demo.measured_regions import regions_measured


def main(regions: list[str]) -> None:
    total = None
    for region, found in regions_measured(regions):
        # Imported late, for Django must know its settings first.
        from tests.demo.verdicts import judged, table_rows

        score = judged(found)
        total = score if total is None else total + score
        print(region, f"{score.flagged.right_in_all:.3f} {score.short.right_in_all:.3f}")
        factory = found.report.normal.lives["factory"]
        limits = (factory.median_lower_km, factory.median_upper_km)
        print("  normal life, km", factory.median_km, limits)
    assert total is not None
    for name, mine, law in (
        ("flagged", total.flagged, total.flagged_by_law),
        ("short", total.short, total.short_by_law),
    ):
        print(name)
        for cause, n, right, by_law in table_rows(mine, law):
            print(f"| {cause} | {n} | {right} | {by_law} | {dict(mine.named.get(cause, {}))}")


if __name__ == "__main__":
    main(sys.argv[1:] or ["1", "2", "3", "4", "5"])
