"""A pure function's refusal as the records refuse it: nothing of its words is lost."""

import pytest

from garage.evidence.codes.form import parse_code
from garage.evidence.codes.heavy import parse_heavy
from garage.evidence.refused import broken_from


@pytest.mark.parametrize(
    ("text", "rule", "do"),
    [
        ("P2O63", "a trouble code has no letter O", "If a zero is meant, send P2063."),
        ("P2", "a trouble code is five characters", "2 characters. Read the display again."),
        ("P0000", "P0000 stands for no code", "Leave it out."),
    ],
)
def test_refusal_keeps_rule_and_what_to_do(text: str, rule: str, do: str) -> None:
    with pytest.raises(ValueError, match="got") as wrong:
        parse_code(text)
    broken = broken_from(wrong.value, got=text, column="text")
    assert broken.rule.startswith(rule)
    assert (broken.got, broken.do, broken.column) == (text, do, "text")


def test_refusal_of_a_heavy_code_keeps_what_to_do() -> None:
    with pytest.raises(ValueError, match="FMI") as wrong:
        parse_heavy("3251/99")
    assert broken_from(wrong.value, got="3251/99", column="code").do == "Read it again."


def test_words_of_another_shape_are_the_rule() -> None:
    broken = broken_from("not a code", got="x", column="code")
    assert broken.rule == "not a code"
    assert broken.do == "Correct it, or leave it out."
