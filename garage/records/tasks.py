"""Background work of the records."""

from datetime import datetime
from typing import Any

from django.utils import timezone

from garage.background.registry import work_handler
from garage.records.choices import IMPORT


@work_handler(IMPORT)
def import_run(arguments: dict[str, Any], _now: datetime) -> None:
    """Do one import run."""
    # Imported when the work is done, not when any command starts.
    from garage.records.services.import_runs import import_run_do

    import_run_do(run_id=arguments["run"], clock=timezone.now)
