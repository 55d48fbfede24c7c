"""Measure the three survival curves in several regions, for docs/demo.md.

Run `python -m tests.demo.measure_survival SEED ...`; for seeds see `measured_regions`.
"""

import sys

from tests.demo.measured_regions import regions_measured


def main(regions: list[str]) -> None:
    compared = []
    for region, found in regions_measured(regions):
        # Imported late, for Django must know its settings first.
        from tests.demo.survival import lines_of, survival_compared

        compared.append(survival_compared(found))
        print(region)
        print("\n".join(lines_of(compared[-1])))
    print("together")
    print("\n".join(lines_of([each for region in compared for each in region])))


if __name__ == "__main__":
    main(sys.argv[1:] or ["1", "2", "3", "4", "5"])
