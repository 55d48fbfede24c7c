"""The words of the outcomes."""

from enum import StrEnum


class LifeClass(StrEnum):
    """What became of each fitment known from a row; the first that applies (rule 7)."""

    ARRIVED_FAILED = "arrived_failed"
    ODOMETER_IN_DOUBT = "odometer_in_doubt"
    START_UNKNOWN = "start_unknown"
    ENTERED_IN_TROUBLE = "entered_in_trouble"
    NO_WATCHED_TIME = "no_watched_time"
    USED = "used"


class Stratum(StrEnum):
    """How the vehicle first came into view."""

    TOGETHER = "together"
    SEEN_BEFORE_TROUBLE = "seen_before_trouble"
    ON_ARRIVALS = "on_arrivals"


class Ending(StrEnum):
    """How a life left the watch.

    Counted failed or unfailed: nobody said why it was removed, and the job decides (rule 8).
    """

    FAILED = "failed"
    FAILED_BY_OTHER_FAULT = "failed_by_other_fault"
    COUNTED_FAILED = "counted_failed"
    REMOVED_UNFAILED = "removed_unfailed"
    COUNTED_UNFAILED = "counted_unfailed"
    REPLACED_ELSEWHERE = "replaced_elsewhere"
    REMOVAL_KM_NOT_KNOWN = "removal_km_not_known"
    STILL_IN_PLACE = "still_in_place"


FAILURES = frozenset({Ending.FAILED, Ending.FAILED_BY_OTHER_FAULT, Ending.COUNTED_FAILED})


class Curve(StrEnum):
    """Whose silence counts how (rule 3), in the order in which they are shown."""

    EXPECTED = "expected"
    SEEN = "seen"
    PRESUMED = "presumed"
