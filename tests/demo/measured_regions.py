"""The demo's regions one after the other, outside of tests, for what documents say of them."""

import os
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tests.demo.world import Found


def regions_measured(regions: list[str]) -> Iterator[tuple[str, "Found"]]:
    """Import each region into a database of its own, in a temporary folder, and roll it back.

    A region is a seed, with a factor on the number of vehicles if one is wanted: ``"11:6"``.
    """
    with tempfile.TemporaryDirectory(prefix="regions-") as folder:
        os.environ["REGISTER_DATA_DIR"] = str(Path(folder) / "data")
        os.environ["DJANGO_SETTINGS_MODULE"] = "garage.settings"
        import django

        django.setup()
        from django.core.management import call_command

        from tests.demo.world import region_imported

        call_command("migrate", verbosity=0)
        for region in regions:
            seed, _, scale = region.partition(":")
            with region_imported(int(seed), float(scale or 1)) as found:
                yield region, found
