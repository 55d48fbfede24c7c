"""Where the work can hurt: short cautions, each with where it comes from."""

from dataclasses import dataclass

from garage.evidence.findings.procedures import procedure, procedures
from garage.records.choices import System

#: What stands under every list of cautions.
DEFER = procedures()[0].deference
PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Caution:
    work: str
    text: str
    source: str


#: What work on the exhaust may come to, in the order in which it comes.
_EXHAUST = tuple(
    Caution(each.title.capitalize(), " ".join(each.cautions), each.source)
    for each in map(
        procedure,
        (
            "engine_running",
            "pressure_hoses",
            "burn",
            "hot_exhaust",
            "filter_removal",
            "ash_and_soot",
            "compressed_air",
        ),
    )
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
