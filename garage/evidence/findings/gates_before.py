"""The gates before any action: safety and law, trust in the sensing, root cause first."""

from garage.evidence.findings.gate import Gate, Way
from garage.evidence.findings.situation import Situation

_CAUSE_CODES = (
    "codes_air",
    "codes_recirculation",
    "codes_fuel",
    "codes_thermal",
    "codes_temperature",
    "codes_catalyst",
)
_CAUSE_FOUND = {
    "injector_return": "over",
    "intake_oil": "wet",
    "coolant_loss": "losing",
    "warm_up": "slow",
    "recirculation_check": "stuck",
    "boost_leak": "leaks",
    "exhaust_leak": "leaks",
    "cold_temperatures": "differ",
    "additive": "empty",
    "oil_kind": "wrong",
    "oil_use": "high",
    "burn_heat": "absent",
}
_SAFETY, _SENSING, _CAUSE = "Safety and law", "Trust in the sensing", "Root cause first"


def safety_gate(at: Situation) -> Gate:
    """Whether anything stops the work at once: leaks, a cracked shell, no filter.

    Oil above its maximum and the hot-work area stop the burn alone; see `gate_burn`.
    """
    stops: list[tuple[str, str]] = []
    if at.absent is True:
        stops.append(
            (
                "no filter is inside, as found",
                "a filter that the law allows is fitted; until then no use on the road",
            )
        )
    if at.leaks:
        stops.append((f"leaking: {', '.join(at.leaks)}", "the leak is put right"))
    if at.shell_cracked is True:
        stops.append(("the shell is cracked", "the cracked part is replaced"))
    if stops:
        reason = "; ".join(why for why, _ in stops)
        return Gate("safety", _SAFETY, Way.SHUT, reason, "; ".join(how for _, how in stops))
    unknown = [
        words
        for words, value in (
            ("leaks of fuel, oil, hydraulic fluid or coolant", at.leaks),
            ("whether the filter's shell is cracked", at.shell_cracked),
        )
        if value is None
    ]
    if unknown:
        reason = f"not looked at: {', '.join(unknown)}"
        how, checks = "look underneath, cold, and say", ("underneath",)
        return Gate("safety", _SAFETY, Way.UNKNOWN, reason, how, checks)
    reason = "no leak, shell whole, no filter found missing"
    if at.oil is True:
        reason += "; but the oil is above its maximum, which stops a burn, on the road either"
    if at.hot_work_area_ready is False:
        reason += "; but the place for hot work is not ready, which stops a burn"
    return Gate("safety", _SAFETY, Way.OPEN, reason)


def sensing_gate(at: Situation) -> Gate:
    """Whether the sensing may be trusted: zero, hoses and response; else no filter decision."""
    found = at.findings
    faults: list[str] = []
    if found.get("zero") == "large":
        faults.append("the zero is far off")
    if found.get("hoses") in {"swapped", "off", "blocked"}:
        faults.append(f"a pressure hose is {found['hoses']}")
    if found.get("response") in {"slow", "stuck"}:
        faults.append("the reading does not follow engine speed")
    if found.get("sensor_check") in {"offset", "gain", "not_linear"}:
        faults.append("the sensor does not read true")
    if found.get("raised_pressure") == "negative":
        faults.append("the pressure is negative at raised speed")
    if found.get("unit_check") == "mistaken":
        faults.append("the unit of the reading is mistaken")
    if faults:
        how = "put the sensor, hoses or unit right and read again; no filter decision before"
        return Gate("sensing", _SENSING, Way.SHUT, "; ".join(faults), how)
    asked = ["zero", "hoses", "response"]
    if found.get("family_compare") == "differs_threefold":
        asked.append("unit_check")
    missing = tuple(each for each in asked if each not in found)
    if missing:
        reason = f"not checked: {', '.join(each.replace('_', ' ') for each in missing)}"
        how = "check them; no filter decision before"
        return Gate("sensing", _SENSING, Way.UNKNOWN, reason, how, missing)
    return Gate("sensing", _SENSING, Way.OPEN, "zero, hoses and response are in order")


def cause_gate(at: Situation) -> Gate:
    """Whether an engine fault comes first; burns are usually blocked by it anyway."""
    found = at.findings
    codes = [key for key in _CAUSE_CODES if found.get(key) == "present"]
    causes = [key for key, state in _CAUSE_FOUND.items() if found.get(key) == state]
    if (codes or causes) and at.cause_fixed is not True:
        named = ", ".join(each.replace("_", " ") for each in (*codes, *causes))
        how = "find and put right the cause, and record it"
        return Gate("cause", _CAUSE, Way.SHUT, f"open: {named}", how)
    if at.cause_fixed is True:
        return Gate("cause", _CAUSE, Way.OPEN, "the cause was found and put right")
    if at.cause_fixed is False:
        return Gate(
            "cause", _CAUSE, Way.SHUT, "the cause is not put right", "put it right, and record it"
        )
    missing = tuple(key for key in _CAUSE_CODES if key not in found)
    if missing:
        reason = "not all codes of the engine are read with their self-tests finished"
        return Gate("cause", _CAUSE, Way.UNKNOWN, reason, "read the codes", missing)
    reason = "no fault of the engine is open; the cause is recorded as unknown until one is found"
    return Gate("cause", _CAUSE, Way.OPEN, reason)
