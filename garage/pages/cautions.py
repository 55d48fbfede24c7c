"""Where the work can hurt: short cautions, each with where it comes from."""

from dataclasses import dataclass

from garage.records.choices import System

DEFER = (
    "Local codes, the vehicle maker's instructions and licensed practice come first; these lines "
    "replace none of them. Removing or disabling emission equipment is unlawful in most places."
)
PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Caution:
    work: str
    text: str
    source: str


_EXHAUST = (
    Caution(
        "Engine running in the workshop",
        "Lead the exhaust outside at the tailpipe; open doors are not enough. Diesel exhaust "
        "causes cancer, and carbon monoxide kills unnoticed.",
        "IARC group 1 (2012); national guidance on motor vehicle repair; from memory",
    ),
    Caution(
        "Burn at standstill",
        "Exhaust gas far hotter than normal, some 600 °C inside the filter. Outdoors, well clear "
        "of grass, paint, plastics, fuel and vehicles; no leak of oil, fuel or hydraulic fluid; "
        "oil not above its maximum; extinguisher at hand; somebody beside it the whole time. "
        "Never in a pit or under a lift, and do not stop it half-way. Let it cool for long before "
        "anybody touches or jacks it: soot can go on glowing.",
        "workers' compensation board fire advisory on filter systems (hydraulic fluid, 600 °C); "
        "the rest common practice, no source",
    ),
    Caution(
        "Taking a filter off",
        "Engine and exhaust cold. Support the weight: 5 to 15 kg on a car, above 40 kg on a heavy "
        "vehicle. Springs, clamps and broken studs: protect eyes and hands.",
        PRACTICE,
    ),
    Caution(
        "Soot and ash",
        "Fine dust with metals in it. No dry sweeping or blowing: work wet or with a vacuum for "
        "hazardous dust, fine-dust mask, gloves, goggles, sealed container; hazardous waste until "
        "tested.",
        PRACTICE,
    ),
    Caution(
        "Compressed air, pressure hoses",
        "Below 30 psi (207 kPa) at the nozzle for cleaning, guarded, never at people. Sensor hoses "
        "can hold hot soot: away from the face, and never blow into the sensor.",
        "29 CFR 1910.242(b) for the pressure; the rest common practice, no source",
    ),
)
_GENERAL = (
    Caution(
        "Any work under or around a vehicle",
        "Support it on stands before anybody goes under it, let hot parts cool, disconnect what "
        "can move or discharge, and wear what the task asks for.",
        PRACTICE,
    ),
)


def cautions_for(system: str) -> tuple[Caution, ...]:
    """The cautions of the work on one system."""
    return _EXHAUST if system == System.EXHAUST_AFTERTREATMENT else _GENERAL


#: What the keeper of a vehicle ought to know when it leaves. Common practice, no source.
_FOR_THE_KEEPER = (
    "A filter that burns itself free makes the exhaust far hotter: park clear of dry grass.",
    "If the filter lamp comes on again, come back soon: a full filter is ruined by a long drive.",
)


def keeper_cautions_for(system: str) -> tuple[str, ...]:
    """What the sheet that a customer takes home says of the work on one system."""
    return _FOR_THE_KEEPER if system == System.EXHAUST_AFTERTREATMENT else ()
