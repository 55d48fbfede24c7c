"""What to check next, by the likelier cause. Common practice, no source; the technician decides.

Nothing here is an instruction for one vehicle, and nothing offers to remove or disable emission
equipment.
"""

from dataclasses import dataclass

from garage.records.choices import System

BASIS = (
    "Common practice, no source. Which of these apply to this engine, and in what order, is for "
    "the technician and the vehicle maker's instructions to decide."
)


@dataclass(frozen=True)
class NextSteps:
    headline: str
    checks: tuple[str, ...]


_UPSTREAM_OF_EXHAUST = (
    "sensors and hoses first: pressure at zero and at speed, temperatures after a cold night",
    "injectors that leak or over-fuel; rising oil level",
    "thermostat stuck open: the engine never gets warm enough for a burn",
    "exhaust gas recirculation valve and cooler: stuck, or losing coolant",
    "turbocharger seal or breather passing oil; boost or air-mass faults",
    "leaks in the exhaust before the part; an oxidation catalyst that no longer heats up",
    "oil of the wrong kind; a fuel additive system, where there is one, empty or never reset",
    "the way it is driven, but only once faults are excluded",
)
_HOW_IT_WAS_FITTED = (
    "joints, clamps and gaskets at the last part fitted: leaks, stress, wrong parts",
    "pressure hoses the right way round and clear; sensor connectors seated",
    "counters and learned values reset after fitting, as the vehicle's maker asks",
    "the part itself: right for this engine, and what its first readings were when fitted",
    "for a cleaned part: how it was cleaned, and weight or flow before and after",
)
_DESIGN = (
    "use this engine family's own figures when you say how long the next part will last",
    "ask the vehicle's maker for updated parts, software or service instructions",
    "exclude the vehicle's own faults all the same",
)
_CHANCE = (
    "treat it as a single failure, and record the odometer at which the part was last known sound",
    "look again for a cause if the next one fails early too",
)


def next_steps(leader: str | None, system: str) -> NextSteps:
    """What follows from the cause that leads; `leader` is None where none does."""
    exhaust = system == System.EXHAUST_AFTERTREATMENT
    upstream = (
        _UPSTREAM_OF_EXHAUST
        if exhaust
        else ("whatever on this vehicle loads, heats, soils or starves this part",)
    )
    fitting = (
        _HOW_IT_WAS_FITTED
        if exhaust
        else ("how the last part was fitted, and whether it was right for this vehicle",)
    )
    part = "filter" if exhaust else "part"
    if leader == "vehicle":
        return NextSteps(
            "The vehicle is the likelier cause: find the upstream cause before another "
            f"{part} is fitted.",
            upstream,
        )
    if leader == "repair":
        return NextSteps(
            "The fitting or cleaning is the likelier cause: go over the last work on it before "
            f"another {part} is fitted.",
            fitting,
        )
    if leader == "design":
        return NextSteps(
            "The design is the likelier cause: a further part of the same kind will probably "
            "last no longer.",
            _DESIGN,
        )
    if leader == "chance":
        return NextSteps(
            "Nothing points at the vehicle, the repair or the design: it may be chance.", _CHANCE
        )
    return NextSteps(
        "No cause leads clearly: check the vehicle and the last fitting both before another "
        f"{part} is fitted.",
        (*upstream[:3], *fitting[:3]),
    )
