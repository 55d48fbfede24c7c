"""Measure verdicts in several regions, for docs/verdicts.md.

Each region is imported into a database of its own, in a temporary folder, and rolled back.
Run `python -m tests.demo.measure_verdicts SEED ...`, each seed with a factor on the number of
vehicles if one is wanted, such as `1 2 11:6`.
"""

import os
import sys
import tempfile
from pathlib import Path


def main(regions: list[str]) -> None:
    with tempfile.TemporaryDirectory(prefix="verdicts-") as folder:
        os.environ["REGISTER_DATA_DIR"] = str(Path(folder) / "data")
        os.environ["DJANGO_SETTINGS_MODULE"] = "garage.settings"
        import django

        django.setup()
        from django.core.management import call_command

        from tests.demo.verdicts import judged, table_rows
        from tests.demo.world import region_imported

        call_command("migrate", verbosity=0)
        total = None
        for region in regions:
            seed, _, scale = region.partition(":")
            with region_imported(int(seed), float(scale or 1)) as found:
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
