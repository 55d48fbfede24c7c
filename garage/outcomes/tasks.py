"""Background work of the outcomes."""

from datetime import datetime
from typing import Any

from garage.background.registry import work_handler
from garage.records.choices import REFRESH


@work_handler(REFRESH)
def refresh(arguments: dict[str, Any], now: datetime) -> None:
    """Refresh every view that an organisation's records are part of."""
    # The statistics are imported when the work is done, not when any command starts.
    from garage.outcomes.services import snapshots_refresh_of_organisation
    from garage.records.models import Organisation

    organisation = Organisation.objects.get(code=arguments["organisation"])
    snapshots_refresh_of_organisation(organisation=organisation, now=now)
