"""How figures and codes are written on a page. What is not known is a word, never 0."""

import re
from datetime import date

from garage.lifetimes.status import Status
from garage.lifetimes.wording import spoken
from garage.outcomes.choices import Ending
from garage.outcomes.wire import Wire
from garage.outcomes.wording import OPERATIONS, ORIGINS

__all__ = ["OPERATIONS", "ORIGINS"]

NO_BREAK = "\u00a0"
_BLANK_IN_A_NUMBER = re.compile(r"(?<=\d) (?=\d{3}\b|km\b|%)")
UNKNOWN = "not known"
STRATA = {
    "together": "Together",
    "seen_before_trouble": "Seen before trouble",
    "on_arrivals": "Arrived in trouble",
}
CURVES = {"expected": "expected", "seen": "seen", "presumed": "presumed"}
RULES = {"early_failure": "early failure", "early_repeat_failure": "early repeat failure"}
NORMAL_RULES = {
    "own": "the organisation's own value",
    "register": "this register's sound vehicles",
    "catalogue": "common practice, no source",
}
#: What made a flag: one part's short life, or so many failures in so few km.
FIRED_BY = {
    "life": "a part failed too soon",
    "count": "too many failed in too few km",
}
CAUSES = {
    "vehicle": "the vehicle",
    "repair": "the repair",
    "design": "the design",
    "chance": "chance",
}
CAUSE_MEANINGS = {
    "vehicle": "a fault upstream on this vehicle that ruins every part fitted to it",
    "repair": "the part was badly fitted or badly cleaned",
    "design": "parts of this engine family fail earlier than normal",
    "chance": "an ordinary failure that happened to come early",
}
ENDINGS = {
    Ending.FAILED: "failed",
    Ending.FAILED_BY_OTHER_FAULT: "failed, damaged by another fault",
    Ending.COUNTED_FAILED: "counted as failed (unplanned removal, no reason given)",
    Ending.REMOVED_UNFAILED: "removed unfailed",
    Ending.COUNTED_UNFAILED: "counted as unfailed (planned removal, no reason given)",
    Ending.REPLACED_ELSEWHERE: "replaced elsewhere",
    Ending.REMOVAL_KM_NOT_KNOWN: "removed, odometer not known",
    Ending.STILL_IN_PLACE: "still in place",
}
#: What stands in a cell whose figure cannot be given; the reason stands below the table.
ABSENT = {
    Status.NO_LIVES: "no lives",
    Status.NO_FAILURES: "no failures yet",
    Status.ALL_FAILED: "all failed",
    Status.FEW_FAILURES: "too few failures",
    Status.ONE_DISTANCE: "too few distances",
    Status.FEW_CLUSTERS: "too few vehicles",
    Status.SMALL_RISK_SET: "too few at risk",
    Status.NOT_REACHED: "not reached",
    Status.BEYOND_WATCH: "not watched so far",
    Status.NOT_CONVERGED: "no fit found",
    Status.CANNOT_TELL_APART: "cannot be told",
    Status.WITHIN_A_RANGE: "only a range",
    Status.UNEQUAL_CAPTURE: "unequally seen",
    Status.RUNS_OFF: "no end found",
}


def spaced(number: float) -> str:
    """A number with its thousands apart, which no line break parts: 141 250."""
    return spoken(number).replace(" ", NO_BREAK)


def count(number: int | None) -> str:
    return UNKNOWN if number is None else spaced(number)


def counted(number: int, one: str, more: str) -> str:
    """1 life, 2 lives."""
    return f"{count(number)} {one if number == 1 else more}"


def kilometres(distance_km: float | None) -> str:
    return UNKNOWN if distance_km is None else f"{spaced(round(distance_km))}{NO_BREAK}km"


def about_kilometres(distance_km: float | None) -> str:
    """A distance to the thousand, as good as a median deserves."""
    return UNKNOWN if distance_km is None else kilometres(round(distance_km, -3))


def percent(share: float | None) -> str:
    """A share in per cent; what rounds to 0 or 100 without being it says so."""
    if share is None:
        return UNKNOWN
    if 0.0 < share < 0.005:
        return f"under 1{NO_BREAK}%"
    if 0.995 < share < 1.0:
        return f"over 99{NO_BREAK}%"
    return f"{100 * share:.0f}{NO_BREAK}%"


def absent(figure: Wire) -> str:
    """What stands where a figure cannot be given."""
    return ABSENT.get(Status(figure["status"]), UNKNOWN)


def share_with_interval(figure: Wire) -> str:
    """A share with its interval: 71 % (64 to 78)."""
    if figure["value"] is None:
        return absent(figure)
    return f"{percent(figure['value'])} {_between(figure, 100)}"


def distance_with_interval(figure: Wire) -> str:
    """A distance in thousand km with its interval: 288 000 km (250 to … thousand)."""
    if figure["value"] is None:
        return absent(figure)
    between = _between(figure, 1 / 1000, f"{NO_BREAK}thousand")
    return f"{about_kilometres(figure['value'])} {between}"


def _between(figure: Wire, scale: float, unit: str = "") -> str:
    lower, upper = (figure["lower"], figure["upper"])
    if lower is None and upper is None:
        return "(interval not known)"
    if lower is None:
        return f"({scale * upper:.0f}{unit} or less)".replace(" ", NO_BREAK)
    if upper is None:
        return f"({scale * lower:.0f}{unit} or more)".replace(" ", NO_BREAK)
    return f"({scale * lower:.0f} to {scale * upper:.0f}{unit})".replace(" ", NO_BREAK)


def note_of(figure: Wire) -> str:
    """Why a figure is missing or weak; empty where it stands."""
    if figure["status"] == Status.OK:
        return ""
    reason = str(figure["reason"] or figure["status"].replace("_", " "))
    return _BLANK_IN_A_NUMBER.sub(NO_BREAK, reason)


def odds(value: float | None) -> str:
    """A probability as a reader can weigh it: 3 in 100, 1 in 12 000."""
    if value is None:
        return UNKNOWN
    if value >= 0.995:
        return "almost certain"
    if value >= 0.1:
        return f"{round(10 * value)} in 10".replace(" ", NO_BREAK)
    if value >= 0.01:
        return f"{round(100 * value)} in 100".replace(" ", NO_BREAK)
    if value < 1e-9:
        return "under 1 in 1 000 000 000".replace(" ", NO_BREAK)
    return f"1 in {spaced(float(f'{1 / value:.2g}'))}".replace(" ", NO_BREAK)


def day(value: date | None) -> str:
    """A day in words: 5 March 2024."""
    return UNKNOWN if value is None else f"{value.day}{NO_BREAK}{value:%B}{NO_BREAK}{value.year}"


def times(number: int) -> str:
    """A small number as a word, as one says it of failures."""
    words = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
    return words[number] if number < len(words) else spaced(number)
