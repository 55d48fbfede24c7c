"""How long a text may be."""

import pytest

from garage.records.errors import RuleBroken
from garage.records.texts import refuse_long, text_needed

SAID = {"column": "text", "most": 5, "rule": "advice has", "do": "Say it."}


def test_text_needed_has_single_blanks() -> None:
    assert text_needed("  a \n b ", **SAID) == "a b"


@pytest.mark.parametrize("text", ["", " \t", "abcdef"])
def test_text_needed_that_is_empty_or_too_long_is_refused(text: str) -> None:
    assert text_needed("abcde", **SAID) == "abcde"
    with pytest.raises(RuleBroken, match="advice has 1 to 5 characters") as refused:
        text_needed(text, **SAID)
    assert refused.value.column == "text"


def test_text_that_is_too_long_is_refused_by_its_column() -> None:
    refuse_long("note", "", 3)
    refuse_long("note", "abc", 3)
    with pytest.raises(RuleBroken, match="note has at most 3 characters"):
        refuse_long("note", "abcd", 3)
