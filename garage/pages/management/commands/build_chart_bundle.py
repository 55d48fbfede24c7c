"""Write the script that draws the charts into the folder of static files."""

from typing import Any

from django.core.management.base import BaseCommand

from garage.pages.chart_bundle import BUNDLE, chart_bundle_build


class Command(BaseCommand):
    help = "Write the script that draws the charts; at once where it is there already."
    requires_system_checks = []

    def handle(self, *args: Any, **options: Any) -> None:
        if chart_bundle_build():
            self.stdout.write(f"Wrote {BUNDLE.name}, {BUNDLE.stat().st_size // 1000} kB.")
