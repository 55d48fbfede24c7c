"""A vehicle that stands ready for a burn, to be changed by one thing at a time."""

from dataclasses import replace

from garage.evidence.findings.situation import Situation

CODES = dict.fromkeys(
    (
        "codes_air",
        "codes_recirculation",
        "codes_fuel",
        "codes_thermal",
        "codes_temperature",
        "codes_catalyst",
    ),
    "absent",
)
IN_ORDER = {"zero": "within", "hoses": "sound", "response": "prompt", **CODES}
READY = Situation(
    findings=IN_ORDER,
    leaks=(),
    oil_above_max=False,
    shell_cracked=False,
    hot_work_area_ready=True,
    soot_g=12.0,
    litres=3.0,
    conditions_met=True,
)


def with_(at: Situation, **found: str) -> Situation:
    return replace(at, findings={**at.findings, **found})
