"""Short words of codes, their groups, own words in their place, and what comes first."""

import pytest

from garage.evidence.codes.failure_types import failure_type_words
from garage.evidence.codes.form import parse_code
from garage.evidence.codes.heavy import parse_heavy
from garage.evidence.codes.meanings import (
    Meaning,
    first_to_fix,
    grouped,
    groups,
    meaning_of,
)
from garage.evidence.codes.meanings import _shipped as shipped


def test_every_shipped_code_has_its_form_words_group_and_source() -> None:
    for code, meaning in shipped().items():
        if "/" in code:
            assert parse_heavy(code).printed == code
        else:
            assert code.isdigit() or parse_code(code).code == code
        assert meaning.words
        assert meaning.source
        assert meaning.group in groups()


def test_code_that_is_not_listed_is_not_known() -> None:
    assert meaning_of("P1234") is None
    assert grouped(["P1234"]) == {"": ["P1234"]}


def test_own_words_take_the_place_of_those_shipped() -> None:
    own = {"P244C": Meaning("P244C", "burn takes too long", "burn", "own list")}
    assert meaning_of("P244C", own) == own["P244C"]
    assert meaning_of("P244C") != own["P244C"]


def test_heavy_code_is_known_by_its_spn_whatever_the_fmi() -> None:
    assert grouped(["3719/0", "3719/16"]) == {"loading": ["3719/0", "3719/16"]}


@pytest.mark.parametrize(
    ("fmi", "group"),
    [
        *((fmi, "loading") for fmi in (0, 15, 16)),
        *((fmi, "efficiency") for fmi in (1, 17, 18)),
        *((fmi, "sensor") for fmi in (2, 3, 4, 5, 10, 13, 19, 31)),
    ],
)
def test_heavy_code_of_the_pressure_is_the_filters_where_its_value_is_true(
    fmi: int, group: str
) -> None:
    """By the words of the FMI: above normal, below normal, else the sensor or its circuit."""
    assert grouped([f"3251/{fmi}"]) == {group: [f"3251/{fmi}"]}


@pytest.mark.parametrize("group", ["sensor", "temperature", "air", "recirculation", "fuel"])
def test_loading_is_a_consequence_while_another_stands_open(group: str) -> None:
    order = first_to_fix(["loading", group])
    assert (order.first, order.consequence) == ((group,), ("loading",))
    assert order.words


@pytest.mark.parametrize("present", [["loading"], ["fuel"], ["loading", "burn"], []])
def test_nothing_is_a_consequence_of_itself(present: list[str]) -> None:
    assert first_to_fix(present).consequence == ()


def test_failure_type_without_words_is_none_and_out_of_range_refused() -> None:
    assert failure_type_words(0x00) == "no failure type"
    assert failure_type_words(0xE0) is None
    with pytest.raises(ValueError, match="one byte"):
        failure_type_words(256)
