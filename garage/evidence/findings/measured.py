"""Plain measured numbers of one visit, before anything is concluded from them."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from types import MappingProxyType

CODE_GROUPS = (
    "loading",
    "efficiency",
    "sensor",
    "burn",
    "temperature",
    "recirculation",
    "air",
    "fuel",
    "thermal",
    "catalyst",
)
_NONE: Mapping[str, bool] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Family:
    """What the engine family reads, in the same unit and layout.

    Attributes
    ----------
    clean_mbar, tenth_mbar, ninetieth_mbar : float or None
        At raised speed: clean value, and 10th and 90th percentile of sound filters.
    idle_mbar : float or None
        What a sound filter reads at idle.
    """

    clean_mbar: float | None = None
    tenth_mbar: float | None = None
    ninetieth_mbar: float | None = None
    idle_mbar: float | None = None

    def __post_init__(self) -> None:
        for each in fields(self):
            value = getattr(self, each.name)
            if value is not None and not 0 < value < math.inf:
                raise ValueError(
                    f"`{each.name}` is above 0; got {value:g}. Leave it out if not known"
                )
        tenth, ninetieth = self.tenth_mbar, self.ninetieth_mbar
        if tenth is not None and ninetieth is not None and tenth > ninetieth:
            raise ValueError(
                f"the 10th percentile is not above the 90th; got {tenth:g} and {ninetieth:g} mbar. "
                "Exchange them if they were swapped"
            )


@dataclass(frozen=True, slots=True)
class Measured:
    """What was read; None is "not read".

    Attributes
    ----------
    zero_mbar, idle_mbar, raised_mbar : float or None
        As displayed, not corrected for the zero.
    raised_rpm : float or None
    modelled_soot_g, litres, own_soot_limit_g : float or None
    silicon_carbide : bool or None
    distance_since_burn_km, burn_interval_km : float or None
        Since the last burn; mean distance between burns.
    soot_fall_inlet_c : float or None
        Highest inlet temperature logged while the reckoned soot fell.
    one_hose : bool or None
    own_clean_mbar : float or None
        This vehicle's own clean value at raised speed, corrected for zero.
    code_groups : mapping of group to bool, or None
        None where the codes were not read.
    ash_code_alone : bool
        Whether the codes of loading speak of ash, and none of soot or pressure.
    self_tests_finished : bool or None
    particles_per_cm3 : float or None
    oil_level_percent : float or None
        Of the dipstick, from its lower mark, 0, to its upper mark, 100.
    cold_temperatures_spread_c, warm_up_min, cruise_coolant_c : float or None
    """

    zero_mbar: float | None = None
    idle_mbar: float | None = None
    raised_mbar: float | None = None
    raised_rpm: float | None = None
    family: Family = field(default_factory=Family)
    own_clean_mbar: float | None = None
    one_hose: bool | None = None
    litres: float | None = None
    silicon_carbide: bool | None = None
    modelled_soot_g: float | None = None
    own_soot_limit_g: float | None = None
    soot_fall_inlet_c: float | None = None
    distance_since_burn_km: float | None = None
    burn_interval_km: float | None = None
    code_groups: Mapping[str, bool] | None = None
    ash_code_alone: bool = False
    self_tests_finished: bool | None = None
    particles_per_cm3: float | None = None
    oil_level_percent: float | None = None
    cold_temperatures_spread_c: float | None = None
    warm_up_min: float | None = None
    cruise_coolant_c: float | None = None

    def __post_init__(self) -> None:
        for each in fields(self):
            value = getattr(self, each.name)
            if isinstance(value, float | int) and not math.isfinite(value):
                raise ValueError(f"`{each.name}` is a number or not read; got {value}")
        for name in _ABOVE_ZERO:
            value = getattr(self, name)
            if value is not None and value <= 0:
                raise ValueError(f"`{name}` is above 0; got {value:g}. Leave it out if not read")
        for name in _NOT_BELOW_ZERO:
            value = getattr(self, name)
            if value is not None and value < 0:
                raise ValueError(f"`{name}` is not below 0; got {value:g}. Read it again")
        unknown = set(self.code_groups or _NONE) - set(CODE_GROUPS)
        if unknown:
            known = ", ".join(CODE_GROUPS)
            raise ValueError(
                f"a group of codes is one of {known}; got {', '.join(sorted(unknown))}"
            )


_ABOVE_ZERO = ("raised_rpm", "litres", "own_soot_limit_g")
_NOT_BELOW_ZERO = (
    "modelled_soot_g",
    "distance_since_burn_km",
    "burn_interval_km",
    "particles_per_cm3",
    "cold_temperatures_spread_c",
    "warm_up_min",
)
