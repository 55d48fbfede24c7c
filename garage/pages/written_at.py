"""Where what a check finds is written down: as a reading, on a page of its own, or as a finding."""

from dataclasses import dataclass
from urllib.parse import urlencode

from django.urls import reverse

from garage.evidence.findings.measured import CODE_GROUPS
from garage.evidence.findings.vocabulary import vocabulary
from garage.records.choices import EngineCondition

_PRESSURE = "pressure_across_filter"
#: Findings that a reading is graded to: its quantity, and what the engine did.
_READINGS = {
    "zero": (_PRESSURE, EngineCondition.ENGINE_OFF),
    "idle_pressure": (_PRESSURE, EngineCondition.IDLE),
    "raised_pressure": (_PRESSURE, EngineCondition.RAISED),
    "pressure_slope": (_PRESSURE, EngineCondition.RAISED),
    "modelled_soot": ("soot_mass", ""),
    "burn_interval": ("burn_interval", ""),
    "particle_count": ("particle_count", ""),
    "cold_temperatures": ("cold_temperature_spread", ""),
    "warm_up": ("warm_up_time", ""),
}
#: Findings that a page of their own tells: its address, and its form.
_PAGES = {
    "sensor_check": ("job-gauges", "add"),
    "soot_fall": ("job-drives", "add"),
    **{f"codes_{group}": ("job-codes", "line") for group in CODE_GROUPS},
}


@dataclass(frozen=True)
class WrittenAt:
    """What a finding is called, and the address of the form that takes it."""

    title: str
    address: str


def written_at(job_id: int, finding: str, phase: str) -> WrittenAt:
    """The form that takes what a check found, at the phase that is looked at."""
    asked = {"phase": phase}
    if finding in _READINGS:
        quantity, condition = _READINGS[finding]
        name, form = "job", "values"
        asked |= {"quantity": quantity, "condition": str(condition)}
    elif finding in _PAGES:
        name, form = _PAGES[finding]
    else:
        name, form = "job-evidence", "add"
        asked["finding"] = finding
    title = vocabulary().finding(finding).title
    return WrittenAt(title, f"{reverse(name, args=[job_id])}?{urlencode(asked)}#{form}")
