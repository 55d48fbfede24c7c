"""The gate of the burn: soot within its limit, oil, the place, the vehicle's own conditions."""

from collections.abc import Mapping

from garage.evidence.findings.gate import Gate, Way
from garage.evidence.findings.limits import DEFAULTS
from garage.evidence.findings.situation import Situation
from garage.evidence.findings.vocabulary import vocabulary
from garage.evidence.thresholds import Thresholds

BURN = "Burn"


def soot_limit_g(at: Situation, limits: Thresholds = DEFAULTS) -> tuple[float | None, str]:
    """The most soot for a burn, and where the figure is from; None where no burn is approved.

    The vehicle's own published limit beats all; else grams per litre by substrate.

    Examples
    --------
    >>> soot_limit_g(Situation(litres=3.0))[0]
    15.0
    """
    if at.own_limit_g is not None:
        return at.own_limit_g, f"the vehicle's own limit, {at.own_limit_g:g} g"
    if at.litres is None:
        return None, "the filter's litres and the vehicle's own limit are not known"
    told = limits.told(soot_limit_key(at))
    limit = told.value * at.litres
    words = f"{told.value:g} g/L ({told.basis.words}) in {at.litres:g} L: {limit:g} g"
    return limit, words


def soot_limit_key(at: Situation) -> str:
    """The threshold in grams per litre that holds for this filter's substrate."""
    if at.silicon_carbide is True:
        return "soot_silicon_carbide_g_per_l"
    return "soot_unknown_g_per_l"


def _burn_stops(at: Situation) -> Gate | None:
    if at.oil is True:
        how = "change the oil, find why it rose, and read its level again"
        return Gate("burn", BURN, Way.SHUT, "the oil is above its maximum", how)
    if at.hot_work_area_ready is False:
        how = "make the place ready: open air, clear all round, extinguisher, one person who stays"
        return Gate("burn", BURN, Way.SHUT, "the place for hot work is not ready", how)
    if at.oil is None:
        how = "read the oil level, level and cold"
        return Gate("burn", BURN, Way.UNKNOWN, "the oil level is not known", how, ("oil_level",))
    if at.hot_work_area_ready is None:
        how, checks = "say whether the place for hot work is ready", ("hot_work_area",)
        return Gate("burn", BURN, Way.UNKNOWN, "the place for hot work is not known", how, checks)
    return None


def burn_gate(at: Situation, limits: Thresholds) -> Gate:
    """Whether a burn is allowed: soot, oil, the place, and the vehicle's own conditions.

    What calls for cleaning instead (soot over the limit) is said before what is soon put right.
    """
    soot = _soot_gate(at, limits)
    stop = _burn_stops(at)
    if soot is not None and soot.way is Way.SHUT:
        return soot
    if stop is not None:
        return stop
    if soot is not None:
        return soot
    if at.conditions is False:
        reason = "the vehicle's own conditions are not met; no fault of filter or engine"
        how = "the burn waits: fuel above its level, coolant warm, battery charged, take-off off"
        return Gate("burn", BURN, Way.SHUT, reason, how)
    if at.conditions is None:
        reason = "the vehicle's own conditions for a burn are not read"
        how = "read why burns were blocked"
        return Gate("burn", BURN, Way.UNKNOWN, reason, how, ("burn_conditions",))
    _, words = soot_limit_g(at, limits)
    reason = f"soot {at.soot_g:g} g, within {words}; on the road where that can be, else standing"
    return Gate("burn", BURN, Way.OPEN, reason)


def _soot_gate(at: Situation, limits: Thresholds) -> Gate | None:
    found = at.findings
    limit, words = soot_limit_g(at, limits)
    clean = "no burn: take the filter off cold, and clean it or replace it"
    if found.get("raised_pressure") == "very_high":
        return Gate("burn", BURN, Way.SHUT, "the pressure is very high", clean)
    if found.get("filter_looked_at") in {"damaged", "faces_blocked"}:
        return Gate("burn", BURN, Way.SHUT, "a look inside found damage or a blocked face", clean)
    if found.get("new_part_reset") == "not_reset":
        return _not_the_real_soot(found, clean)
    if found.get("modelled_soot") == "over_limit":
        return Gate("burn", BURN, Way.SHUT, "the reckoned soot is over the limit", clean)
    if at.soot_g is not None and limit is not None and at.soot_g > limit:
        reason = f"soot {at.soot_g:g} g, over {words}"
        return Gate("burn", BURN, Way.SHUT, reason, clean)
    if limit is None:
        how = "enter the vehicle's own published limit, or the filter's litres"
        return Gate("burn", BURN, Way.SHUT, f"no burn is approved: {words}", how)
    if found.get("soot_fall") == "without_heat":
        return _not_the_real_soot(found, clean)
    if at.soot_g is None:
        how = "read the reckoned soot mass, in grams"
        return Gate("burn", BURN, Way.UNKNOWN, "soot is not known", how, ("modelled_soot",))
    told = "soot_fall" in found or "proven_burn" in found
    if found.get("modelled_soot") == "low" and found.get("raised_pressure") == "high" and not told:
        reason = "the reckoned soot is low, the pressure high: it may have been set back"
        how = "look up the burn log"
        return Gate("burn", BURN, Way.UNKNOWN, reason, how, ("soot_fall",))
    return None


def _not_the_real_soot(found: Mapping[str, str], clean: str) -> Gate:
    off = found.get("off_car_flow")
    if off is None:
        reason = "the reckoned soot was set back or not reset with the part: it is not the real one"
        how = "have the filter weighed off the vehicle"
        return Gate("burn", BURN, Way.UNKNOWN, reason, how, ("off_car_flow",))
    words = vocabulary().finding("off_car_flow").words(off)
    if off == "heavy":
        return Gate("burn", BURN, Way.SHUT, f"off the vehicle the filter is {words}", clean)
    reason = f"nothing to burn: off the vehicle its flow or weight is {words}"
    how = "soot that is reckoned anew once the values are set with the part"
    return Gate("burn", BURN, Way.SHUT, reason, how)


def over_soot(at: Situation, limits: Thresholds) -> bool:
    """Whether the reckoned soot is over the limit for a burn, by grams or by the finding."""
    limit, _ = soot_limit_g(at, limits)
    grams = at.soot_g is not None and limit is not None and at.soot_g > limit
    return grams or at.findings.get("modelled_soot") == "over_limit"
