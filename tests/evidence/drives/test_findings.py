"""Findings from burns and their intervals, in the words of the vocabulary."""

import pytest

from garage.evidence.drives.burn import BurnJudged, BurnStatus
from garage.evidence.drives.findings import burn_grades, interval_grade
from garage.evidence.drives.intervals import burn_intervals
from garage.evidence.drives.limits import DEFAULTS, LIMITS
from garage.evidence.findings.limits import DEFAULTS as SHIPPED
from garage.evidence.findings.vocabulary import vocabulary
from garage.evidence.thresholds import Basis
from tests.evidence.drives.test_intervals import FALLING, odometers


@pytest.mark.parametrize(
    ("status", "fall", "end"),
    [
        (BurnStatus.COMPLETED, "burned", "completed"),
        (BurnStatus.BROKEN_OFF, "burned", "broken_off"),
        (BurnStatus.RESET_WITHOUT_BURN, "without_heat", None),
        (BurnStatus.CANNOT_BE_TOLD, None, None),
    ],
)
def test_burn_judged_becomes_findings(
    status: BurnStatus, fall: str | None, end: str | None
) -> None:
    """Fails if a value set back counts as an end of a burn, or what is open as a state."""
    grades = burn_grades(BurnJudged(status, "16.0 g in 18.0 min", 1, fall_g=16.0))
    assert [(grade.finding, grade.state) for grade in grades] == [
        ("soot_fall", fall),
        ("burn_end", end),
    ]
    assert all("16.0 g in 18.0 min" in grade.words for grade in grades)
    for grade in grades:
        if grade.state is not None:
            assert vocabulary().finding(grade.finding).words(grade.state)


def test_burn_broken_off_before_soot_fell_says_nothing_of_a_fall() -> None:
    """Fails if heat alone counts as a fall."""
    fall, end = burn_grades(BurnJudged(BurnStatus.BROKEN_OFF, "hot and cool again", 0))
    assert (fall.state, end.state) == (None, "broken_off")


@pytest.mark.parametrize(
    ("gaps", "state"),
    [
        ((150.0, 160.0, 155.0), "short"),
        ((400.0, 410.0, 395.0), "usual"),
        ((1400.0, 1410.0, 1395.0), "long"),
        ((150.0,), "short"),
        ((400.0,), "usual"),
        ((190.0, 220.0, 205.0), None),
        ((100.0, 1300.0), None),
        (FALLING, "shrinking"),
        ((199.0, 180.0, 160.0, 140.0, 120.0), "shrinking"),
    ],
)
def test_intervals_become_a_finding(gaps: tuple[float, ...], state: str | None) -> None:
    """Fails if a mean whose limits hold 200 km is called short or usual."""
    grade = interval_grade(burn_intervals(odometers(gaps)))
    assert (grade.finding, grade.state) == ("burn_interval", state)
    if state is not None:
        assert vocabulary().finding("burn_interval").words(state)


@pytest.mark.parametrize("key", ["burn_proven_c", "interval_short_km", "interval_long_km"])
def test_shared_limits_are_those_of_the_findings(key: str) -> None:
    """Fails if a limit has two places."""
    assert DEFAULTS.told(key) is SHIPPED.told(key)


def test_every_threshold_says_where_it_is_from() -> None:
    """Fails if a remembered value names nothing that is remembered."""
    assert all(told.basis is Basis.JUDGEMENT or told.source for told in LIMITS)
    assert not {told.key for told in LIMITS} & set(SHIPPED)
