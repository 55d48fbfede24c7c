"""What to check next, and the cautions: what they say and what they never offer."""

import re

import pytest

from garage.lifetimes.verdict.shares import Cause
from garage.pages.cautions import DEFER, cautions_for
from garage.pages.next_steps import BASIS, next_steps
from garage.records.choices import System

LEADERS = [*(cause.value for cause in Cause), None]


@pytest.mark.parametrize("system", System.values)
@pytest.mark.parametrize("leader", LEADERS)
def test_every_leader_has_steps(leader: str | None, system: str) -> None:
    steps = next_steps(leader, system)
    assert steps.headline.endswith(".")
    assert steps.checks


def test_the_vehicle_comes_before_another_filter() -> None:
    told = next_steps("vehicle", System.EXHAUST_AFTERTREATMENT).headline
    assert told == (
        "The vehicle is the likelier cause: find the upstream cause before another filter is "
        "fitted."
    )


def test_steps_defer_to_the_technician_and_cautions_to_the_law() -> None:
    assert "technician" in BASIS
    assert "no source" in BASIS
    assert "Local codes" in DEFER
    assert "unlawful" in DEFER


@pytest.mark.parametrize("system", System.values)
def test_nothing_offers_to_remove_or_disable_emission_equipment(system: str) -> None:
    offered = " ".join(
        [step for leader in LEADERS for step in next_steps(leader, system).checks]
        + [caution.text for caution in cautions_for(system)]
    )
    assert not re.search(r"\b(delete|bypass|disable|defeat|hollow|gut|blank off)", offered, re.I)


@pytest.mark.parametrize("system", System.values)
def test_every_caution_names_its_source(system: str) -> None:
    assert all(caution.source for caution in cautions_for(system))
