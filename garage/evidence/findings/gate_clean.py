"""The gate of cleaning the filter off the vehicle."""

from garage.evidence.findings.conflicts import conflicts_found
from garage.evidence.findings.gate import Gate, Way, not_reached
from garage.evidence.findings.gate_burn import over_soot
from garage.evidence.findings.situation import Situation
from garage.evidence.findings.vocabulary import vocabulary
from garage.evidence.thresholds import Thresholds

CLEAN = "Clean off the vehicle"
_CONTRADICTED = "model_high_pressure_low"


def clean_gate(at: Situation, burn: Gate, limits: Thresholds) -> Gate:
    """Whether cleaning is called for: too much soot for a burn, a blockage seen or measured, or
    pressure above the family's after a completed burn.
    """
    useless = _useless(at)
    if useless is not None:
        return useless
    found = at.findings
    for holds, reason in (
        (found.get("raised_pressure") == "very_high", "the pressure is very high"),
        (found.get("off_car_flow") == "heavy", "off the vehicle the filter is heavy or restricted"),
        (found.get("filter_looked_at") == "faces_blocked", "a face is blocked or full of ash"),
    ):
        if holds:
            words = f"{reason}; compare mass and flow before and after"
            return Gate("clean", CLEAN, Way.OPEN, words)
    # Soot that was not set back with a new part says nothing of that part.
    if over_soot(at, limits) and found.get("new_part_reset") != "not_reset":
        return _by_soot(at)
    return _by_pressure(at, burn)


def _useless(at: Situation) -> Gate | None:
    """Shut where cleaning cannot help; None where it might."""
    found = at.findings
    if at.cleaned:
        reason = "cleaned already since the fault"
        return Gate("clean", CLEAN, Way.SHUT, reason, "replacement is the gate behind this one")
    if found.get("filter_looked_at") == "damaged":
        return Gate("clean", CLEAN, Way.SHUT, "damage is not cleaned away", "replacement")
    off = found.get("off_car_flow")
    if off in {"as_new", "free"} and found.get("filter_looked_at") != "faces_blocked":
        words = vocabulary().finding("off_car_flow").words(off)
        reason = f"not needed: off the vehicle its flow or weight is {words}"
        return Gate("clean", CLEAN, Way.SHUT, reason, "flow or weight that shows it restricted")
    return None


def _by_soot(at: Situation) -> Gate:
    found = conflicts_found(at.findings, vocabulary().keys())
    for each in found:
        if each.key == _CONTRADICTED and each.is_open:
            how = "check first which of the two is wrong"
            return Gate("clean", CLEAN, Way.UNKNOWN, each.title, how, each.checks_left)
    if at.particles_over and "filter_looked_at" not in at.findings:
        reason = "particles are over the limit: the filter may be cracked, which no cleaning mends"
        how, checks = "look into the filter", ("filter_looked_at",)
        return Gate("clean", CLEAN, Way.UNKNOWN, reason, how, checks)
    reason = "soot is over the limit for a burn; compare mass and flow before and after"
    return Gate("clean", CLEAN, Way.OPEN, reason)


def _by_pressure(at: Situation, burn: Gate) -> Gate:
    if at.post_burn_mbar is None or at.family_90th_mbar is None:
        return _after_a_burn(at, burn)
    held = f"{at.post_burn_mbar:g} mbar after the burn, family's 90th percentile "
    held += f"{at.family_90th_mbar:g} mbar"
    if at.post_burn_mbar > at.family_90th_mbar:
        return Gate("clean", CLEAN, Way.OPEN, f"{held}; compare mass and flow before and after")
    return Gate("clean", CLEAN, Way.SHUT, f"not needed: {held}", "pressure above it after a burn")


def _after_a_burn(at: Situation, burn: Gate) -> Gate:
    """Where no pressure after a burn stands beside the family's: what a proven burn left."""
    left = at.findings.get("proven_burn")
    if left == "to_usual":
        reason = "not needed: in a proven burn the pressure fell to the usual"
        return Gate("clean", CLEAN, Way.SHUT, reason, "pressure that stays up after a burn")
    if left is None and at.post_burn_mbar is None:
        if not burn.is_open:
            return not_reached("clean", CLEAN, burn)
        reason, how = "a burn comes first", "burn, and read the pressure just after"
        return Gate("clean", CLEAN, Way.UNKNOWN, reason, how, ("proven_burn",))
    reason = "the family's 90th percentile after a burn is not known"
    if left is not None:
        reason = "in a proven burn the pressure did not fall to the usual: ash, or the sensor"
    how = "have its flow or weight measured off the vehicle"
    return Gate("clean", CLEAN, Way.UNKNOWN, reason, how, ("off_car_flow",))
