"""What lamp, codes and self-tests of one visit still show of faults and clears before it."""

from garage.evidence.codes.reset_limits import DEFAULTS
from garage.evidence.codes.reset_signs import INNOCENT, Number, ResetSign, Sign, VisitCounts
from garage.evidence.thresholds import Thresholds

_LAMP_WORDS = {
    True: "is on, and has been",
    False: "is off, and was on earlier:",
    None: "was on earlier, or still is:",
}


def lamp_lit_earlier(visit: VisitCounts, limits: Thresholds = DEFAULTS) -> ResetSign:
    """Did a fault light the lamp before this visit?

    Shown by a distance with the lamp on while it is off, or by a long engine time with it. Distance
    in km, time in min. Common practice, no source; how long is long is judgement.

    Examples
    --------
    >>> lamp_lit_earlier(VisitCounts(lamp_on=False, lamp_km=120)).words
    'the fault lamp is off, and was on earlier: for 120 km'
    """
    rule, km, minutes = "lamp_lit_earlier", visit.lamp_km, visit.lamp_min
    by_distance = km is not None and km > 0 and visit.lamp_on is False
    by_time = minutes is not None and minutes >= limits["lamp_time_long_min"]
    numbers = tuple(
        Number(title, value, unit)
        for title, value, unit in (
            ("distance with the fault lamp on", km, "km"),
            ("engine time with the fault lamp on", minutes, "min"),
        )
        if value is not None
    )
    if by_distance or by_time:
        how_long = " and ".join(f"{each.value:.0f} {each.unit}" for each in numbers)
        return ResetSign(
            rule,
            Sign.SHOWN,
            f"the fault lamp {_LAMP_WORDS[visit.lamp_on]} for {how_long}",
            ("a fault that was put right, and whose lamp then went out by itself",),
            "Ask which fault lit it, and what was done.",
            numbers,
        )
    if km is None or (km > 0 and visit.lamp_on is None):
        words = "needs the distance with the fault lamp on, and whether it is on now"
        return ResetSign(rule, Sign.CANNOT_BE_TOLD, words, numbers=numbers)
    return ResetSign(rule, Sign.NOT_SHOWN, "no sign of a lamp lit earlier", numbers=numbers)


def filter_test_not_run(visit: VisitCounts) -> ResetSign:
    """Has the filter's own self-test yet to run while all others have?

    Then that no fault is stored says nothing of the filter. Common practice, no source.

    Examples
    --------
    >>> told = VisitCounts(filter_test_incomplete=True, other_tests_incomplete=False)
    >>> filter_test_not_run(told).words
    "the filter's own self-test has not run while all others have: not known, and not a pass"
    """
    rule, of_filter, others = (
        "filter_test_not_run",
        visit.filter_test_incomplete,
        visit.other_tests_incomplete,
    )
    if of_filter is False:
        return ResetSign(rule, Sign.NOT_SHOWN, "the filter's own self-test has run")
    if of_filter is None or others is None:
        words = "needs the filter's own self-test, where the vehicle has one, and the others"
        return ResetSign(rule, Sign.CANNOT_BE_TOLD, words)
    if others:
        words = "the filter's own self-test has not run, and neither have others: not known"
        return ResetSign(rule, Sign.NOT_SHOWN, words)
    return ResetSign(
        rule,
        Sign.SHOWN,
        "the filter's own self-test has not run while all others have: not known, and not a pass",
        ("it can take hundreds of km, or a whole burn, in a sound vehicle", *INNOCENT),
        "Read again after a longer drive with a whole burn.",
    )


def permanent_without_stored(visit: VisitCounts) -> ResetSign:
    """Is there a permanent code while no code is stored?

    Then memory was cleared before the test of that fault ran and passed. From memory of SAE J1979
    and 13 CCR 1968.2; vehicles outside the United States need not keep permanent codes.

    Examples
    --------
    >>> permanent_without_stored(VisitCounts(permanent_codes=2, stored_codes=0)).words
    'permanent codes (2) and none stored: cleared before the test of that fault ran and passed'
    """
    rule, permanent, stored = "permanent_without_stored", visit.permanent_codes, visit.stored_codes
    none_permanent = permanent == 0
    some_stored = stored is not None and stored > 0
    if none_permanent or some_stored:
        words = "no permanent code without a stored one"
        return ResetSign(rule, Sign.NOT_SHOWN, words)
    if permanent is None or stored is None:
        words = "needs the numbers of permanent and of stored codes"
        return ResetSign(rule, Sign.CANNOT_BE_TOLD, words)
    return ResetSign(
        rule,
        Sign.SHOWN,
        f"permanent codes ({permanent}) and none stored: cleared before the test of that fault ran "
        "and passed",
        INNOCENT,
        "Ask what was put right; read again when the self-tests have run.",
        (
            Number("permanent codes", permanent, "times"),
            Number("stored codes", stored, "times"),
        ),
    )
