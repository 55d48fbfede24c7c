"""How the codes of the outcomes are called, in the terminal as on the pages."""

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
