"""What became of a statistic: the word that travels with every result."""

from enum import StrEnum


class Status(StrEnum):
    """Why a figure is what it is, or why there is none.

    Anything but ``OK`` comes with a reason in plain words. A figure may be given under a
    status other than ``OK`` (a wide tail, say); a figure that is ``None`` never has ``OK``.
    """

    OK = "ok"
    NO_LIVES = "no_lives"
    """Nothing was watched."""
    NO_FAILURES = "no_failures"
    """Lives were watched and none failed: only a bound can be given."""
    ALL_FAILED = "all_failed"
    """All that were watched failed: only a bound can be given."""
    FEW_FAILURES = "few_failures"
    """Too few failures for what was asked."""
    ONE_DISTANCE = "one_distance"
    """All failures fell on one clock value, so their spread cannot be judged."""
    FEW_CLUSTERS = "few_clusters"
    """Too few vehicles, or groups, to judge how much they differ."""
    SMALL_RISK_SET = "small_risk_set"
    """The figure rests on a number at risk too small to carry it."""
    NOT_REACHED = "not_reached"
    """The curve does not come down that far while lives are watched."""
    BEYOND_WATCH = "beyond_watch"
    """Nobody was watched that far."""
    NOT_CONVERGED = "not_converged"
    """The search for the best fit did not settle."""
    CANNOT_TELL_APART = "cannot_tell_apart"
    """The data hold no contrast between the causes that were asked about."""
    WITHIN_A_RANGE = "within_a_range"
    """The data give a range in which the figure lies, and no figure."""
    UNEQUAL_CAPTURE = "unequal_capture"
    """Groups' failures come to be seen in unequal shares: what is compared is what was seen."""
    RUNS_OFF = "runs_off"
    """The likelihood rises without end along a covariate: no failure speaks against it."""
