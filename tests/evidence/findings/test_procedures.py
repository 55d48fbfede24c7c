"""Cautions: there for every procedure that a finding names, and saying what must be said."""

import pytest

from garage.evidence.findings.procedures import OTHERS, procedure, procedures
from garage.evidence.findings.vocabulary import NEEDS, vocabulary


def test_every_need_of_the_vocabulary_has_cautions_and_a_source() -> None:
    """Fails if a check could be shown without the cautions that come before it."""
    needs = {each.needs for each in vocabulary().findings if each.needs is not None}
    assert needs == set(NEEDS)
    for each in procedures():
        assert each.cautions
        assert each.source
        assert "law" in each.deference
    assert {each.key for each in procedures()} == {*NEEDS, *OTHERS}


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ("burn", "oil within its marks"),
        ("burn", "no leak"),
        ("burn", "one person stays"),
        ("engine_running", "extractor"),
        ("pressure_hoses", "never blow into the sensor"),
        ("filter_removal", "cold"),
        ("filter_removal", "not used on the road without"),
        ("ash_and_soot", "never sweep dry"),
        ("compressed_air", "Below 30 psi"),
        ("software", "never reset before reading"),
        ("road_drive", "do not switch off"),
    ],
)
def test_caution_is_said(key: str, said: str) -> None:
    """Fails if a caution that guards life or law is lost in an edit."""
    assert any(said in each for each in procedure(key).cautions)


def test_procedure_not_known_is_refused() -> None:
    """Fails if a misspelt procedure passes for one without cautions."""
    with pytest.raises(ValueError, match="got `luck`"):
        procedure("luck")


def test_look_underneath_asks_for_every_fluid_that_a_burn_could_light() -> None:
    """Fails if hydraulic fluid, which the advisory on burns names first, is not looked for."""
    check = vocabulary().finding("underneath").check
    assert all(each in check for each in ("fuel", "oil", "hydraulic fluid", "coolant"))
