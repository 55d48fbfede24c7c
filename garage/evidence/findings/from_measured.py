"""From measured numbers to findings, each with its numbers and threshold in words."""

from collections.abc import Mapping
from dataclasses import dataclass

from garage.evidence.findings.gate_burn import soot_limit_g, soot_limit_key
from garage.evidence.findings.grade import Grade, held_of
from garage.evidence.findings.grade_pressure import (
    family_grade,
    idle_grade,
    raised_grade,
    slope_grade,
    zero_grade,
)
from garage.evidence.findings.limits import DEFAULTS
from garage.evidence.findings.measured import CODE_GROUPS, Measured
from garage.evidence.findings.situation import Situation
from garage.evidence.findings.vocabulary import vocabulary
from garage.evidence.thresholds import Thresholds

#: By what the quantity is: per cent of the way between the dipstick's marks.
_UPPER_MARK = 100.0


@dataclass(frozen=True, slots=True)
class FindingsRead:
    """What the numbers say, and what they do not.

    Attributes
    ----------
    grades : tuple of Grade
        One for each finding that these numbers could tell; state None where not known, with why.
    """

    grades: tuple[Grade, ...]

    @property
    def observed(self) -> Mapping[str, str]:
        """Findings with a state, as `evidence_weigh` takes them."""
        return {each.finding: each.state for each in self.grades if each.state is not None}

    def grade(self, finding: str) -> Grade:
        """The grade of one finding; raises ValueError where numbers do not tell of it."""
        for each in self.grades:
            if each.finding == finding:
                return each
        raise ValueError(f"measured numbers do not tell of `{finding}`")


def findings_from(at: Measured, limits: Thresholds = DEFAULTS) -> FindingsRead:
    """Hold measured numbers against their thresholds.

    Answers: which findings follow from what was read, and which do not, and why? Pressures are
    graded by the zero rule: within 2 mbar all, to 5 mbar raised speed only and corrected, beyond
    or not read none (common practice, no source). Pressures in mbar, speed in rpm, soot in g.

    Examples
    --------
    >>> read = findings_from(Measured(zero_mbar=0.2, idle_mbar=5.0))
    >>> read.observed
    {'zero': 'within', 'idle_pressure': 'usual'}
    >>> read.grade("raised_pressure").words
    'not read'
    """
    grades = (
        zero_grade(at, limits),
        idle_grade(at, limits),
        raised_grade(at, limits),
        slope_grade(at, limits),
        family_grade(at, limits),
        _layout(at),
        _soot(at, limits),
        _soot_fall(at, limits),
        _interval(at, limits),
        _particles(at, limits),
        _oil(at),
        _cold(at, limits),
        _warm_up(at, limits),
        *_codes(at),
    )
    words = vocabulary()
    for each in grades:
        if each.state is not None:
            words.finding(each.finding).words(each.state)
    return FindingsRead(grades)


def _layout(at: Measured) -> Grade:
    if at.one_hose is None:
        return Grade("layout", None, "not noted")
    return Grade("layout", "one_hose" if at.one_hose else "two_hose", "as noted")


def _soot(at: Measured, limits: Thresholds) -> Grade:
    key = "modelled_soot"
    if at.modelled_soot_g is None:
        return Grade(key, None, "not read")
    vehicle = Situation(
        litres=at.litres, own_limit_g=at.own_soot_limit_g, silicon_carbide=at.silicon_carbide
    )
    limit, of = soot_limit_g(vehicle, limits)
    if limit is None:
        return Grade(key, None, of)
    held = held_of(limits, "soot_low_share")
    if at.own_soot_limit_g is None:
        held += held_of(limits, soot_limit_key(vehicle))
    said = f"{at.modelled_soot_g:g} g reckoned, limit {of}"
    if at.modelled_soot_g > limit:
        return Grade(key, "over_limit", f"{said}: over it, no burn", held)
    low = at.modelled_soot_g <= limits["soot_low_share"] * limit
    return Grade(key, "low" if low else "in_range", said, held)


def _soot_fall(at: Measured, limits: Thresholds) -> Grade:
    held = held_of(limits, "burn_proven_c")
    if at.soot_fall_inlet_c is None:
        return Grade("soot_fall", None, "no temperature was logged while the soot fell", held)
    said = f"inlet at most {at.soot_fall_inlet_c:g} °C while the reckoned soot fell"
    if at.soot_fall_inlet_c > limits["burn_proven_c"]:
        return Grade("soot_fall", "burned", f"{said}: burned", held)
    return Grade("soot_fall", "without_heat", f"{said}: set back, unproven", held)


def _interval(at: Measured, limits: Thresholds) -> Grade:
    held = held_of(limits, "interval_short_km", "interval_long_km")
    if at.burn_interval_km is None:
        return Grade("burn_interval", None, "not read", held)
    state = "usual"
    if at.burn_interval_km < limits["interval_short_km"]:
        state = "short"
    elif at.burn_interval_km > limits["interval_long_km"]:
        state = "long"
    words = f"{at.burn_interval_km:g} km between burns; whether it shrinks takes several"
    return Grade("burn_interval", state, words, held)


def _particles(at: Measured, limits: Thresholds) -> Grade:
    keys = ("particles_limit_per_cm3", "particles_very_high_per_cm3", "count_after_burn_km")
    held = held_of(limits, *keys)
    count, since = at.particles_per_cm3, at.distance_since_burn_km
    if count is None:
        return Grade("particle_count", None, "not counted", held)
    said = f"{count:,.0f} particles per cm³".replace(",", " ")
    if since is not None and since < limits["count_after_burn_km"]:
        words = f"{said}, but {since:g} km after a burn, when a sound filter may read high"
        return Grade("particle_count", None, words, held)
    unsure = "; distance since the last burn not known" if since is None else ""
    state = "low"
    if count >= limits["particles_very_high_per_cm3"]:
        state = "very_high"
    elif count > limits["particles_limit_per_cm3"]:
        state = "over_limit"
    return Grade("particle_count", state, f"{said}{unsure}", held)


def _oil(at: Measured) -> Grade:
    level = at.oil_level_percent
    if level is None:
        return Grade("oil_level", None, "not read")
    said = f"{level:g} % of the way from the lower mark to the upper"
    if level > _UPPER_MARK:
        return Grade("oil_level", "above_maximum", f"{said}: above its maximum, no burn")
    if level < 0:
        return Grade("oil_level", None, f"{said}: below its lower mark; top up and read it again")
    return Grade("oil_level", "within", said)


def _cold(at: Measured, limits: Thresholds) -> Grade:
    held = held_of(limits, "cold_agree_c")
    spread = at.cold_temperatures_spread_c
    if spread is None:
        return Grade("cold_temperatures", None, "not compared cold", held)
    state = "agree" if spread <= limits["cold_agree_c"] else "differ"
    return Grade("cold_temperatures", state, f"{spread:g} °C between sensors, cold", held)


def _warm_up(at: Measured, limits: Thresholds) -> Grade:
    held = held_of(limits, "warm_up_most_min", "cruise_coolant_least_c")
    slow: list[str] = []
    said: list[str] = []
    if at.warm_up_min is not None:
        said.append(f"warm after {at.warm_up_min:g} min")
        if at.warm_up_min > limits["warm_up_most_min"]:
            slow.append("slow")
    if at.cruise_coolant_c is not None:
        said.append(f"coolant {at.cruise_coolant_c:g} °C at cruise")
        if at.cruise_coolant_c < limits["cruise_coolant_least_c"]:
            slow.append("cold")
    if not said:
        return Grade("warm_up", None, "not watched", held)
    return Grade("warm_up", "slow" if slow else "usual", ", ".join(said), held)


def _codes(at: Measured) -> tuple[Grade, ...]:
    return tuple(_code(at, group) for group in CODE_GROUPS)


def _code(at: Measured, group: str) -> Grade:
    key = f"codes_{group}"
    if at.code_groups is None:
        return Grade(key, None, "codes were not read")
    if group == "loading" and at.code_groups.get(group, False) and at.ash_code_alone:
        return Grade(key, "ash", "a code of ash is present, none of soot or pressure")
    if at.code_groups.get(group, False):
        return Grade(key, "present", "a code of the group is present")
    if at.self_tests_finished is True:
        return Grade(key, "absent", "codes read, none of the group, self-tests finished")
    return Grade(key, None, "none of the group, but self-tests are not finished: not known")
