"""Background work of the records."""

from datetime import datetime
from typing import Any

from django.utils import timezone

from garage.background.registry import work_given_up, work_handler
from garage.records.choices import IMPORT


@work_handler(IMPORT)
def import_run(arguments: dict[str, Any], _now: datetime) -> None:
    """Do one import run."""
    # Imported when the work is done, not when any command starts.
    from garage.records.services.import_runs import import_run_do

    import_run_do(run_id=arguments["run"], clock=timezone.now)


@work_given_up(IMPORT)
def import_run_lost(arguments: dict[str, Any], now: datetime) -> None:
    """End a run that no worker could do."""
    from garage.records.services.import_runs import import_run_give_up

    import_run_give_up(run_id=arguments["run"], at=now)
