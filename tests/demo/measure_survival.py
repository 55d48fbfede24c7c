"""Measure the three survival curves in several regions, for docs/demo.md.

Each region is imported into a database of its own, in a temporary folder, and rolled back.
Run `python -m tests.demo.measure_survival SEED ...`, each seed with a factor on the number of
vehicles if one is wanted, such as `1 2 11:6`.
"""

import os
import sys
import tempfile
from pathlib import Path


def main(regions: list[str]) -> None:
    with tempfile.TemporaryDirectory(prefix="survival-") as folder:
        os.environ["REGISTER_DATA_DIR"] = str(Path(folder) / "data")
        os.environ["DJANGO_SETTINGS_MODULE"] = "garage.settings"
        import django

        django.setup()
        from django.core.management import call_command

        from tests.demo.survival import lines_of, survival_compared
        from tests.demo.world import region_imported

        call_command("migrate", verbosity=0)
        compared = []
        for region in regions:
            seed, _, scale = region.partition(":")
            with region_imported(int(seed), float(scale or 1)) as found:
                compared.append(survival_compared(found))
            print(region)
            print("\n".join(lines_of(compared[-1])))
        print("together")
        print("\n".join(lines_of([each for region in compared for each in region])))


if __name__ == "__main__":
    main(sys.argv[1:] or ["1", "2", "3", "4", "5"])
