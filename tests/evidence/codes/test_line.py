"""Several codes typed into one line: none is lost, and what is no code is told."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage.evidence.codes.line import parse_line


def told(text: str) -> list[tuple[str, str]]:
    return [(each.code.printed, each.state.value) for each in parse_line(text).codes]


@pytest.mark.parametrize(
    ("text", "codes"),
    [
        ("P2463 P244B", [("P2463", "not_said"), ("P244B", "not_said")]),
        ("P2463, P244B pend.; p2002 (perm)", None),
        ("stored: P2463, P244B", [("P2463", "confirmed"), ("P244B", "confirmed")]),
        ("P2463 and P0401 pending", [("P2463", "not_said"), ("P0401", "pending")]),
        ("SPN 3251 FMI 0, P2463", [("3251/0", "not_said"), ("P2463", "not_said")]),
        ("P2463-92", [("P2463-92", "not_said")]),
        ("P2463/P244B", [("P2463", "not_said"), ("P244B", "not_said")]),
        ("", []),
    ],
)
def test_codes_of_a_line(text: str, codes: list[tuple[str, str]] | None) -> None:
    if codes is None:
        codes = [("P2463", "not_said"), ("P244B", "pending"), ("P2002", "permanent")]
    assert told(text) == codes


def test_what_is_no_code_is_told_with_its_reason() -> None:
    line = parse_line("P2O63, lamp on, P2463 P2463")
    assert [each.code.printed for each in line.codes] == ["P2463"]
    assert [each.written for each in line.unread] == ["P2O63", "lamp", "on", "P2463"]
    assert "letter O" in line.unread[0].reason


def test_negated_state_is_not_applied() -> None:
    line = parse_line("P2463 not pending")
    assert [each.state.value for each in line.codes] == ["not_said"]
    assert any("pending" in each.written for each in line.unread)


def test_a_date_is_no_heavy_code() -> None:
    line = parse_line("12/3 P2463")
    assert [each.code.printed for each in line.codes] == ["P2463"]
    assert line.unread[0].written == "12/3"


_CODES = st.from_regex(r"[PCBU][0-3][0-9A-F]{3}", fullmatch=True).filter(
    lambda code: code != "P0000"
)


@given(st.lists(_CODES, unique=True, max_size=6), st.sampled_from([" ", ", ", "; ", "\n", " and "]))
def test_no_code_of_a_list_is_lost(codes: list[str], sign: str) -> None:
    line = parse_line(sign.join(codes))
    assert [each.code.printed for each in line.codes] == codes
    assert line.unread == ()


def test_number_of_more_figures_than_any_is_told_as_unread() -> None:
    """Fails if its size is asked for before its length."""
    assert len(parse_line("1" * 5000 + "/1").unread) == 1
