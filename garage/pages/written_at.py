"""Where what a check finds is written down: as a reading, on a page of its own, or as a finding."""

from collections.abc import Collection
from dataclasses import dataclass
from urllib.parse import urlencode

from django.urls import reverse

from garage.evidence.findings.measured import CODE_GROUPS
from garage.evidence.findings.vocabulary import vocabulary
from garage.evidence.visit.measured_of import PRESSURE
from garage.records.choices import EngineCondition

#: Findings that a reading is graded to: its quantity, and what the engine did.
_READINGS = {
    "zero": (PRESSURE, EngineCondition.ENGINE_OFF),
    "idle_pressure": (PRESSURE, EngineCondition.IDLE),
    "raised_pressure": (PRESSURE, EngineCondition.RAISED),
    "pressure_slope": (PRESSURE, EngineCondition.RAISED),
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


def waits_for_unit(finding: str, bare: Collection[str]) -> bool:
    """Whether the pressure of a finding was read, and its unit is what is missing."""
    quantity, condition = _READINGS.get(finding, ("", ""))
    return quantity == PRESSURE and condition in bare


def written_at(job_id: int, finding: str, phase: str, bare: Collection[str] = ()) -> WrittenAt:
    """The form that takes what a check found, at the phase that is looked at.

    `bare` are conditions at which a pressure waits for its unit (`bare_pressures`): where one does,
    the page on which it is found.
    """
    asked = {"phase": phase}
    if waits_for_unit(finding, bare):
        name, form = "job-gauges", "content"
    elif finding in _READINGS:
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
