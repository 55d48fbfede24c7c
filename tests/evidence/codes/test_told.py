"""A code in words: those shipped, own ones in their place, and what is not known."""

from garage.evidence.codes.form import TroubleCode
from garage.evidence.codes.heavy import HeavyCode
from garage.evidence.codes.meanings import Meaning
from garage.evidence.codes.told import code_told


def test_code_has_words_group_and_who_says_so() -> None:
    told = code_told(TroubleCode("P244B", 0x92))
    assert (told.printed, told.code) == ("P244B-92", "P244B")
    assert (told.group, told.group_title) == ("loading", "loading of the filter")
    assert "check against the licensed list" in told.source
    assert told.failure_words == "performance or wrong operation"
    assert told.definer == "defined by ISO/SAE, alike on every vehicle"


def test_code_of_heavy_vehicle_is_told_by_its_own_numbers() -> None:
    told = code_told(HeavyCode(3251, 0))
    assert (told.printed, told.group) == ("3251/0", "loading")
    assert told.failure_words == "above normal, most severe"
    assert "J1939" in told.definer
    assert "J1939" in told.source


def test_code_that_is_not_known_says_nothing_but_its_definer() -> None:
    told = code_told(TroubleCode("P1999", 0xE0))
    assert (told.words, told.group, told.source, told.failure_words) == ("", "", "", "")
    assert not told.is_known
    assert told.definer == "defined by the vehicle's maker"


def test_own_words_take_the_place_of_those_shipped() -> None:
    own = {"P244C": Meaning("P244C", "burn too long", "burn", "own experience")}
    told = code_told(TroubleCode("P244C"), own)
    assert (told.words, told.source) == ("burn too long", "own experience")
    assert code_told(TroubleCode("P244C")).words != told.words
