"""What the present evidence cannot tell, however probable a state looks."""

from collections.abc import Collection, Mapping

from garage.evidence.findings.joint import Floats
from garage.evidence.findings.posterior import Model

_PRESSURE = ("idle_pressure", "raised_pressure", "pressure_slope", "loaded_pressure")
_ASH_OR_SOOT = ("proven_burn", "filter_looked_at", "off_car_flow")
_PROOFS = {"particle_count", "particle_recheck", "filter_looked_at", "off_car_flow"}
_SENSING = ("zero", "hoses", "sensor_check", "response")
_UNTRUE = ("offset", "gain", "hoses_swapped", "hose_off", "hose_blocked", "unit_mistaken")
_FAULTS = {
    "zero": ("large",),
    "hoses": ("swapped", "off", "blocked"),
    "sensor_check": ("offset", "gain", "not_linear"),
    "unit_check": ("mistaken",),
}
_WORTH_SAYING = 0.05


def untold(
    model: Model, joint: Floats, observed: Mapping[str, str], read: Collection[str]
) -> tuple[str, ...]:
    """In words, what no weighing of these findings can tell; empty where nothing is left.

    Answers: what would a careful technician say is still not known? `read` names what was read,
    graded or not.
    """
    filter_ = dict(
        zip(model.joint.names["filter"], model.joint.marginal("filter", joint), strict=True)
    )
    said: list[str] = []
    if "zero" not in observed and any(each in read for each in _PRESSURE):
        said.append(
            "The zero with the engine off is not read: no pressure grades the filter until it is."
        )
    if _only_idle(observed):
        said.append(
            "An idle pressure alone does not grade a filter: a sound filter reads there about what "
            "a poor sensor zero reads."
        )
    loaded = filter_["soot_loaded"] > _WORTH_SAYING or filter_["ash_limited"] > _WORTH_SAYING
    if loaded and "proven_burn" not in observed and "off_car_flow" not in observed:
        said.append(
            "Ash or soot: the same pressure comes of either. The reading just after a completed, "
            "proven burn parts them."
        )
    if not {"particle_count", "filter_looked_at"} & set(observed):
        said.append("A hairline crack: pressure and codes do not show it, a particle count does.")
    if filter_["restricted_elsewhere"] > _WORTH_SAYING and "before_and_behind" not in observed:
        said.append(
            "A restriction behind the filter: only the pressure before and behind it tells, above "
            "all with a one-hose sensor."
        )
    if not any(each.startswith("codes_") for each in observed):
        said.append("What the codes say: none are read. No codes would not prove a sound filter.")
    elif all(s == "absent" for k, s in observed.items() if k.startswith("codes_")):
        said.append("No codes is not proof of a sound filter.")
    return tuple(said)


def sensing_withheld(leading: str, observed: Mapping[str, str]) -> str | None:
    """Why sensing is not settled as in order: nothing has checked it, only the prior speaks."""
    if leading == "in_order" and not any(each in observed for each in _SENSING):
        return "nothing has checked the sensing yet; that most are in order settles nothing"
    return None


def filter_withheld(leading: str, sensing: str, observed: Mapping[str, str]) -> str | None:
    """Why the filter's state is not settled whatever its probability, or None.

    `sensing` is the leading state of the sensing. The zero counts only where a pressure is part of
    the evidence; ash is never settled without a proven burn, a look into the filter, or its flow or
    weight off the vehicle.
    """
    if "zero" not in observed and any(each in observed for each in _PRESSURE):
        return "the zero with the engine off is not read, which holds all grading by pressure"
    graded = any(each in observed for each in _PRESSURE)
    found = any(observed.get(key) in states for key, states in _FAULTS.items())
    if (sensing in _UNTRUE or found) and graded and not _PROOFS & set(observed):
        return "the sensing is at fault first: put it right, then read the pressure again"
    if _only_idle(observed):
        return "an idle pressure alone does not grade a filter"
    if leading == "ash_limited" and not any(each in observed for each in _ASH_OR_SOOT):
        return "ash is told from soot only by a proven burn, a look inside, or the filter's weight"
    return None


def _only_idle(observed: Mapping[str, str]) -> bool:
    others = {"raised_pressure", "pressure_slope", "particle_count", *_ASH_OR_SOOT}
    return "idle_pressure" in observed and not others & set(observed)
