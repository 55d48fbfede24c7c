"""What the gates need to know of a vehicle and of the place it stands in."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from garage.evidence.findings.vocabulary import vocabulary

_NONE: Mapping[str, str] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Situation:
    """A vehicle as it stands. None is "not known", never "no".

    Attributes
    ----------
    findings : mapping of finding to state
    leaks : tuple of str or None
        What leaks (fuel, oil, coolant, hydraulic fluid, exhaust near fluids); empty for none seen.
    oil_above_max, shell_cracked, filter_absent, hot_work_area_ready : bool or None
    soot_g, litres, own_limit_g : float or None
        Reckoned soot, the filter's volume, the vehicle's own published limit for a burn.
    silicon_carbide : bool or None
        Whether silicon carbide is recorded as the substrate.
    conditions_met : bool or None
        The vehicle's own conditions for a burn: fuel, coolant, battery, power take-off.
    cause_fixed : bool or None
        Whether the root cause was found and put right.
    post_burn_mbar, family_90th_mbar : float or None
        Pressure at raised speed after a completed burn or a cleaning, and the family's 90th
        percentile of it.
    cleaned : bool
        Whether this filter was cleaned off the vehicle since the fault.
    particles_over_limit : bool or None
    intermittent_repaired : bool or None
        Whether the fault was intermittent or electrical, and was repaired.
    """

    findings: Mapping[str, str] = field(default_factory=lambda: _NONE)
    leaks: tuple[str, ...] | None = None
    oil_above_max: bool | None = None
    shell_cracked: bool | None = None
    filter_absent: bool | None = None
    hot_work_area_ready: bool | None = None
    soot_g: float | None = None
    litres: float | None = None
    own_limit_g: float | None = None
    silicon_carbide: bool | None = None
    conditions_met: bool | None = None
    cause_fixed: bool | None = None
    post_burn_mbar: float | None = None
    family_90th_mbar: float | None = None
    cleaned: bool = False
    particles_over_limit: bool | None = None
    intermittent_repaired: bool | None = None

    def __post_init__(self) -> None:
        vocabulary().checked(self.findings)
        for name in ("soot_g", "litres", "own_limit_g", "post_burn_mbar", "family_90th_mbar"):
            value = getattr(self, name)
            if value is not None and not math.isfinite(value):
                raise ValueError(f"`{name}` is a number or not known; got {value}")
        for name in ("litres", "own_limit_g", "family_90th_mbar"):
            value = getattr(self, name)
            if value is not None and value <= 0:
                raise ValueError(f"`{name}` is above 0; got {value:g}. Leave it out if not known")
        if self.soot_g is not None and self.soot_g < 0:
            raise ValueError(f"`soot_g` is not below 0; got {self.soot_g:g}. Read it again")

    @property
    def oil(self) -> bool | None:
        """Whether the oil is above its maximum, by what was entered or by the finding."""
        return _either(self.oil_above_max, self.findings.get("oil_level"), "above_maximum")

    @property
    def absent(self) -> bool | None:
        """Whether no filter is inside, by what was entered or by the look inside."""
        return _either(self.filter_absent, self.findings.get("filter_looked_at"), "absent")

    @property
    def particles_over(self) -> bool:
        """Whether particles are over the limit; where they were counted again, that count holds."""
        if self.particles_over_limit is True:
            return True
        again = self.findings.get("particle_recheck")
        if again is not None:
            return again == "over_limit"
        return self.findings.get("particle_count") in {"over_limit", "very_high"}

    @property
    def conditions(self) -> bool | None:
        """Whether the vehicle's own conditions for a burn are met."""
        if self.conditions_met is not None:
            return self.conditions_met
        found = self.findings.get("burn_conditions")
        return None if found is None else found == "met"


def _either(entered: bool | None, found: str | None, worse: str) -> bool | None:
    if entered is True or found == worse:
        return True
    if entered is False or found is not None:
        return False
    return None
