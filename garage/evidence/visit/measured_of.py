"""From the readings and codes of a visit to the plain numbers that findings are graded by."""

from dataclasses import dataclass

from garage.evidence.codes.meanings import grouped, groups, speaks_of_ash
from garage.evidence.codes.status import FaultState, read_status
from garage.evidence.findings.measured import CODE_GROUPS, Measured
from garage.evidence.visit.said import ReadingSaid, Unused, VisitSaid

PRESSURE = "pressure_across_filter"
_OFF, _IDLE, _RAISED, _LOAD = "engine_off", "idle", "raised", "load"
#: Sizes of the filter, which hold in every phase, and whether each may be nothing.
_SIZES = {"filter_volume": False, "soot_limit": False}
#: What the state of a fault says of its code: not there now, and not proven.
NOT_PRESENT = (FaultState.PASSED, FaultState.PASSED_EARLIER, FaultState.UNKNOWN)


@dataclass(frozen=True, slots=True)
class NumbersTaken:
    """The numbers, the groups of the codes, and what could not be used."""

    measured: Measured
    groups: tuple[str, ...]
    unused: tuple[Unused, ...]


def numbers_taken(said: VisitSaid) -> NumbersTaken:
    """Take what can be graded from what is said of a visit.

    Answers: which number holds for each thing that is graded, and which readings and codes went
    into nothing, and why? Of several readings of one thing the last holds. Pressures in mbar,
    masses in g, volumes in L, distances in km, temperatures in °C.

    Examples
    --------
    >>> read = [ReadingSaid(PRESSURE, "4.8 mbar", 4.8, condition="idle")]
    >>> numbers_taken(VisitSaid(readings=tuple(read))).measured.idle_mbar
    4.8
    """
    unused = list(said.unread)
    known = [each for each in said.readings if _is_known(each, unused)]
    pressures = {each.condition: each for each in known if each.quantity == PRESSURE}
    raised = pressures.get(_RAISED)
    layouts = {each.layout for each in known if each.layout}
    standing = _standing(said, unused)
    measured = Measured(
        zero_mbar=_number(pressures.get(_OFF)),
        idle_mbar=_number(pressures.get(_IDLE)),
        raised_mbar=_number(raised),
        raised_rpm=None if raised is None or not raised.speed_rpm else raised.speed_rpm,
        family=said.family,
        own_clean_mbar=said.own_clean_mbar,
        one_hose="one_hose" in layouts if len(layouts) == 1 else None,
        litres=_size(said, "filter_volume", unused),
        silicon_carbide=_is(said, "substrate", "silicon_carbide"),
        own_soot_limit_g=_size(said, "soot_limit", unused),
        modelled_soot_g=_last(known, "soot_mass", unused),
        soot_fall_inlet_c=said.soot_fall_inlet_c,
        distance_since_burn_km=_since_burn(known, unused),
        burn_interval_km=_last(known, "burn_interval", unused),
        code_groups=dict.fromkeys(standing, True) or None,
        ash_code_alone="loading" in standing and all(map(speaks_of_ash, standing["loading"])),
        self_tests_finished=_tests_finished(said),
        particles_per_cm3=_last(known, "particle_count", unused),
        oil_level_percent=_number(
            next((each for each in reversed(known) if each.quantity == "oil_level"), None)
        ),
        cold_temperatures_spread_c=_last(known, "cold_temperature_spread", unused),
        warm_up_min=_last(known, "warm_up_time", unused),
        cruise_coolant_c=_last(
            [each for each in known if each.condition == _LOAD], "coolant_temperature", unused
        ),
    )
    return NumbersTaken(measured, tuple(standing), tuple(unused))


def _is_known(reading: ReadingSaid, unused: list[Unused]) -> bool:
    """Whether a reading can be used at all; what cannot is told, but sizes are told once."""
    if reading.quantity in _SIZES:
        return False
    if reading.standard_value is None:
        unused.append(Unused(_told(reading), reading.reason))
        return False
    if reading.quantity == PRESSURE and not reading.condition:
        reason = "whether the engine was off, idling or raised is not said"
        unused.append(Unused(_told(reading), reason))
        return False
    if is_reckoned_pressure(reading):
        unused.append(Unused(_told(reading), "is reckoned by the vehicle, not measured"))
        return False
    return True


def is_reckoned_pressure(reading: ReadingSaid) -> bool:
    """Whether a pressure is the vehicle's own reckoning, which says nothing against its soot."""
    return reading.quantity == PRESSURE and reading.kind == "modelled"


def _size(said: VisitSaid, quantity: str, unused: list[Unused]) -> float | None:
    """The last value of a size. One that cannot be leaves it not known: an older value may no
    longer hold, and a burn hangs on it."""
    found: float | None = None
    for each in said.lasting:
        if each.quantity == quantity:
            found = each.standard_value
            if found is None:
                unused.append(Unused(_told(each), each.reason))
            elif found <= 0:
                unused.append(Unused(_told(each), "is above 0; read it again"))
                found = None
    return found


def _last(known: list[ReadingSaid], quantity: str, unused: list[Unused]) -> float | None:
    """The last value of a quantity that is never below 0; one that is, is told."""
    found: float | None = None
    for each in known:
        if each.quantity == quantity:
            found = each.standard_value
            if found is not None and found < 0:
                unused.append(Unused(_told(each), "is above 0; read it again"))
                found = None
    return found


def _since_burn(known: list[ReadingSaid], unused: list[Unused]) -> float | None:
    read = _last(known, "distance_since_burn", unused)
    if read is not None:
        return read
    beside = [each.km_since_burn for each in known if each.km_since_burn is not None]
    return beside[-1] if beside else None


def _standing(said: VisitSaid, unused: list[Unused]) -> dict[str, list[str]]:
    """The codes that stand by their groups; codes that say nothing here are told."""
    standing = []
    for each in said.codes:
        status = None if each.status_byte is None else read_status(each.status_byte)
        if status is not None and status.state in NOT_PRESENT:
            unused.append(Unused(each.code, status.reason))
        else:
            standing.append(each.code)
    by_group = grouped(standing, said.own_meanings)
    unused.extend(Unused(code, "not in the list of codes here") for code in by_group.get("", ()))
    known = set(by_group) & set(CODE_GROUPS)
    for group in sorted(set(by_group) - known - {""}):
        reason = f"{groups()[group]}: not weighed here"
        unused.extend(Unused(code, reason) for code in by_group[group])
    return {group: by_group[group] for group in sorted(known)}


def _tests_finished(said: VisitSaid) -> bool | None:
    """Whether the vehicle's own tests are finished, by what somebody saw."""
    return _is(said, "self_tests", "finished")


def _is(said: VisitSaid, finding: str, state: str) -> bool | None:
    seen = said.findings.get(finding)
    return None if seen is None else seen == state


def _number(reading: ReadingSaid | None) -> float | None:
    return None if reading is None else reading.standard_value


def _told(reading: ReadingSaid) -> str:
    return f"{reading.quantity.replace('_', ' ')} {reading.typed}".strip()
