"""How the codes of the outcomes are called, in the terminal as on the pages."""

from typing import Any

ORIGINS = {
    "factory": "factory",
    "new_original": "new, original",
    "new_aftermarket": "new, aftermarket",
    "reconditioned": "reconditioned",
    "cleaned": "cleaned",
    "used": "used",
    "unknown": "origin not known",
}
OPERATIONS = {
    "replace": "replace",
    "clean_off_vehicle": "clean off the vehicle",
    "clean_on_vehicle": "clean on the vehicle",
    "regenerate_stationary": "burn at standstill",
    "regenerate_driving": "burn while driving",
    "clear_codes": "clear codes alone",
}


def stay_away_told(capture: dict[str, Any]) -> str:
    """What a capture share takes for known of those who never come back, and where it is from."""
    away = capture.get("stay_away")
    if away is None:
        return ""
    share = f"Of those repaired elsewhere {100 * away['value']:.0f} %"
    if away["lower"] is None:
        return f"{share} are held never to come back ({away['source']}; {away['reason']})."
    return (
        f"{share} ({100 * away['lower']:.0f}-{100 * away['upper']:.0f}) never come back "
        f"({away['source']}, {away['told']} told)."
    )
