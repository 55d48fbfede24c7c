"""The gates in order, from safety to clearing, and what may be done behind them."""

from garage.evidence.findings.gate import Gate, Gates, Way, not_reached
from garage.evidence.findings.gate_burn import BURN, burn_gate
from garage.evidence.findings.gate_clean import CLEAN, clean_gate
from garage.evidence.findings.gates_before import cause_gate, safety_gate, sensing_gate
from garage.evidence.findings.limits import DEFAULTS
from garage.evidence.findings.situation import Situation
from garage.evidence.findings.vocabulary import vocabulary
from garage.evidence.thresholds import Thresholds

_REPLACE, _CLEAR = "Replace", "Clear only"
_LEGAL = (
    "The filter was found absent. In most countries a vehicle that was approved with a filter may "
    "not be used on the road without one; the law of the country holds. This is a finding, and "
    "says nothing of who or when."
)
_CLEARED = (
    "A clear without a repair is recorded as a clear, never as a fix; it starts a recheck at "
    "7 days or 300 km (common practice, no source)."
)


def gates_of(at: Situation, limits: Thresholds = DEFAULTS) -> Gates:
    """Which gates are open for this vehicle, in order, and what may be done.

    Answers: clear, burn, clean or replace, and what must be checked or put right before? What lies
    behind a gate that is shut or unknown is not reached. Order: common practice, no source.

    Examples
    --------
    >>> told = gates_of(Situation(leaks=("fuel",), shell_cracked=False))
    >>> told.gate("safety").reason, told.gate("burn").way.value, told.may
    ('leaking: fuel', 'not reached', ())
    """
    gates: list[Gate] = []
    blocked: Gate | None = None
    for key, title, make in (
        ("safety", "Safety and law", safety_gate),
        ("sensing", "Trust in the sensing", sensing_gate),
        ("cause", "Root cause first", cause_gate),
    ):
        gate = make(at) if blocked is None else not_reached(key, title, blocked)
        gates.append(gate)
        if blocked is None and not gate.is_open:
            blocked = gate
    if blocked is None:
        burn = burn_gate(at, limits)
        clean = clean_gate(at, burn, limits)
        gates += [burn, clean, _replace_gate(at, clean), _clear_gate(at)]
    else:
        titles = {"burn": BURN, "clean": CLEAN, "replace": _REPLACE, "clear": _CLEAR}
        gates += [not_reached(key, title, blocked) for key, title in titles.items()]
    may = tuple(g.key for g in gates[3:] if g.is_open)
    removal, why = _cold_removal(at)
    return Gates(tuple(gates), may, removal, why, _procedures(may, at), _notices(at, may))


def offers_of(at: Situation, gates: Gates) -> frozenset[str]:
    """The checks that may be done now: those the gates do not stop.

    Examples
    --------
    >>> at = Situation(leaks=("fuel",))
    >>> "idle_pressure" in offers_of(at, gates_of(at))
    False
    """
    stopped: set[str] = set()
    if "burn" not in gates.may:
        stopped.add("burn")
    if at.leaks or at.shell_cracked is True:
        stopped |= {"engine_running", "road_drive"}
    if at.absent is True or at.oil is True:
        stopped.add("road_drive")
    if not gates.cold_removal:
        stopped.add("filter_removal")
    return frozenset(each.key for each in vocabulary().findings if each.needs not in stopped)


def _replace_gate(at: Situation, clean: Gate) -> Gate:
    found = at.findings
    proof = "proof photo and baseline of the new part; resets, and oil change where diluted"
    if found.get("filter_looked_at") == "damaged":
        return Gate("replace", _REPLACE, Way.OPEN, f"cracked or melted, as seen; {proof}")
    if at.particles_over:
        doubt = _count_doubted(at)
        if doubt is not None:
            return doubt
        return Gate("replace", _REPLACE, Way.OPEN, f"particle count over the limit; {proof}")
    if found.get("off_car_flow") == "free" and "filter_looked_at" not in found:
        reason, how = "off the vehicle the filter is freer than a new one", "look into the filter"
        return Gate("replace", _REPLACE, Way.UNKNOWN, reason, how, ("filter_looked_at",))
    if at.cleaned:
        return _after_cleaning(at, proof)
    if clean.is_open:
        reason, how = "cleaning comes first", "clean, and measure after"
        return Gate("replace", _REPLACE, Way.SHUT, reason, how)
    return not_reached("replace", _REPLACE, clean)


def _count_doubted(at: Situation) -> Gate | None:
    """A count of the first time replaces no filter before the tailpipe is seen to agree."""
    found = at.findings
    if at.particles_over_limit is True or "particle_recheck" in found:
        return None
    if "tailpipe" not in found:
        reason = "particle count over the limit, and the tailpipe is not looked at"
        how, checks = "look inside the tailpipe", ("tailpipe",)
        return Gate("replace", _REPLACE, Way.UNKNOWN, reason, how, checks)
    if found["tailpipe"] == "clean":
        reason = "the count is over the limit, but what else is seen does not agree"
        how, checks = "count again after 100 km", ("particle_recheck",)
        return Gate("replace", _REPLACE, Way.UNKNOWN, reason, how, checks)
    return None


def _after_cleaning(at: Situation, proof: str) -> Gate:
    off = at.findings.get("off_car_flow")
    if off == "heavy":
        reason = f"off the vehicle still heavy or restricted after cleaning; {proof}"
        return Gate("replace", _REPLACE, Way.OPEN, reason)
    shut_how = "damage seen or a count over the limit"
    if off is not None:
        words = vocabulary().finding("off_car_flow").words(off)
        reason = f"after cleaning its flow or weight is {words}"
        return Gate("replace", _REPLACE, Way.SHUT, reason, shut_how)
    if at.post_burn_mbar is None or at.family_90th_mbar is None:
        how = "have its flow or weight measured, or read the pressure where the family's is known"
        reason = "pressure after cleaning, or the family's 90th percentile, is not known"
        return Gate("replace", _REPLACE, Way.UNKNOWN, reason, how, ("off_car_flow",))
    if at.post_burn_mbar > at.family_90th_mbar:
        reason = f"still {at.post_burn_mbar:g} mbar after cleaning, above the family's "
        return Gate("replace", _REPLACE, Way.OPEN, f"{reason}{at.family_90th_mbar:g} mbar; {proof}")
    reason = "after cleaning the pressure is within the family's usual"
    return Gate("replace", _REPLACE, Way.SHUT, reason, shut_how)


def _clear_gate(at: Situation) -> Gate:
    pressure = at.findings.get("raised_pressure")
    if at.intermittent_repaired is None:
        reason, checks = "what was repaired is not known", ("fault_repaired",)
        how = "say whether the fault was intermittent or electrical, and repaired"
        return Gate("clear", _CLEAR, Way.UNKNOWN, reason, how, checks)
    if at.intermittent_repaired is False:
        how = "a repair of an intermittent or electrical fault, and usual pressure"
        return Gate("clear", _CLEAR, Way.SHUT, "nothing was repaired that a clear would close", how)
    if pressure is None:
        how = "read the pressure at raised speed"
        checks = ("raised_pressure",)
        return Gate("clear", _CLEAR, Way.UNKNOWN, "the pressure is not graded", how, checks)
    if pressure != "low_or_normal":
        words = vocabulary().finding("raised_pressure").words(pressure)
        return Gate("clear", _CLEAR, Way.SHUT, f"the pressure is {words}", "usual pressure")
    return Gate("clear", _CLEAR, Way.OPEN, "intermittent, repaired, and pressure usual")


def _cold_removal(at: Situation) -> tuple[bool, str]:
    if at.leaks is not None and any("fuel" in each for each in at.leaks):
        return False, "fuel leaks: put that right before any work"
    return True, "cold, and to look, clean or replace; the oil level does not stop it"


def _procedures(may: tuple[str, ...], at: Situation) -> tuple[str, ...]:
    named = {
        "burn": ("burn", "road_drive", "software"),
        "clean": ("filter_removal", "ash_and_soot", "compressed_air", "chemicals"),
        "replace": ("filter_removal", "ash_and_soot", "software"),
        "clear": ("software",),
    }
    order = dict.fromkeys(key for action in may for key in named[action])
    if at.absent is True:
        order["filter_removal"] = None
    return tuple(order)


def _notices(at: Situation, may: tuple[str, ...]) -> tuple[str, ...]:
    return (*((_LEGAL,) if at.absent is True else ()), *((_CLEARED,) if "clear" in may else ()))
