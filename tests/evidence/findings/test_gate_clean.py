"""The gate of cleaning: what calls for it, and what it waits for."""

from dataclasses import replace

import pytest

from garage.evidence.findings.gate import Way
from garage.evidence.findings.gates import gates_of
from tests.evidence.findings.ready import READY, with_


@pytest.mark.parametrize(
    ("pressure", "may"), [(40.1, ("burn", "clean")), (40.0, ("burn",)), (39.0, ("burn",))]
)
def test_clean_opens_above_the_family_after_a_burn(pressure: float, may: tuple[str, ...]) -> None:
    """Fails if cleaning opens at or below the family's 90th percentile."""
    at = replace(READY, post_burn_mbar=pressure, family_90th_mbar=40.0)
    assert gates_of(at).may == may


def test_clean_family_not_known_is_unknown() -> None:
    """Fails if a post-burn value is judged against nothing, or by a check that cannot tell."""
    at = replace(READY, post_burn_mbar=60.0)
    gate = gates_of(at).gate("clean")
    assert (gate.way, gate.checks) == (Way.UNKNOWN, ("off_car_flow",))
    assert gates_of(with_(at, off_car_flow="heavy")).gate("clean").way is Way.OPEN
    assert gates_of(with_(at, off_car_flow="as_new")).gate("clean").way is Way.SHUT


@pytest.mark.parametrize(
    ("left", "way", "checks"),
    [
        (None, Way.UNKNOWN, ("proven_burn",)),
        ("to_usual", Way.SHUT, ()),
        ("partly", Way.UNKNOWN, ("off_car_flow",)),
        ("unchanged", Way.UNKNOWN, ("off_car_flow",)),
    ],
)
def test_clean_proven_burn_moves_the_gate_that_asks_for_it(
    left: str | None, way: Way, checks: tuple[str, ...]
) -> None:
    """Fails if the gate waits for a check that was done."""
    at = READY if left is None else with_(READY, proven_burn=left)
    gate = gates_of(at).gate("clean")
    assert (gate.way, gate.checks) == (way, checks)


@pytest.mark.parametrize(
    ("off", "looked", "way"),
    [
        ("heavy", "sound", Way.OPEN),
        ("as_new", "sound", Way.SHUT),
        ("free", "sound", Way.SHUT),
        ("as_new", "faces_blocked", Way.OPEN),
    ],
)
def test_clean_not_where_the_filter_was_measured_as_new(off: str, looked: str, way: Way) -> None:
    """Fails if a filter that is free is cleaned because the pressure is high for another reason."""
    at = with_(READY, raised_pressure="very_high", off_car_flow=off, filter_looked_at=looked)
    assert gates_of(at).gate("clean").way is way


def test_clean_waits_where_reckoned_soot_and_pressure_contradict() -> None:
    """Fails if cleaning is paid for on reckoned soot that the measured pressure contradicts."""
    at = with_(replace(READY, soot_g=30.0), modelled_soot="over_limit", raised_pressure="upper")
    assert gates_of(at).may == ("clean",)
    low = gates_of(with_(at, raised_pressure="low_or_normal")).gate("clean")
    assert (low.way, low.checks) == (
        Way.UNKNOWN,
        ("particle_count", "tailpipe", "new_part_reset"),
    )


@pytest.mark.parametrize(
    ("seen", "way"),
    [
        ({"particle_count": "low"}, Way.OPEN),
        ({"particle_count": "over_limit"}, Way.UNKNOWN),
        ({"particle_count": "over_limit", "particle_recheck": "low"}, Way.OPEN),
        ({"particle_count": "over_limit", "filter_looked_at": "sound"}, Way.OPEN),
        ({"particle_count": "over_limit", "filter_looked_at": "damaged"}, Way.SHUT),
    ],
)
def test_clean_waits_for_a_look_where_particles_say_that_it_is_cracked(
    seen: dict[str, str], way: Way
) -> None:
    """Fails if a filter that lets soot through is cleaned for the soot that is reckoned in it."""
    at = with_(replace(READY, soot_g=30.0), modelled_soot="over_limit", **seen)
    assert gates_of(at).gate("clean").way is way


def test_soot_of_an_old_part_neither_burns_nor_cleans_the_new_one() -> None:
    """Fails if soot that was not set back with a new filter has that filter cleaned."""
    at = with_(replace(READY, soot_g=45.0), modelled_soot="over_limit")
    assert gates_of(with_(at, new_part_reset="reset")).may == ("clean",)
    told = gates_of(with_(at, new_part_reset="not_reset"))
    assert told.may == ()
    assert told.gate("burn").checks == ("off_car_flow",)
