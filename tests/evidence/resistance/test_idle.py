"""What an idle pressure alone can say."""

import pytest

from garage.evidence.resistance.idle import idle_judged


def test_idle_of_4_8_mbar_is_unremarkable() -> None:
    """Fails where it alarms, or where it is given for a grade."""
    found = idle_judged(4.8)
    assert found.unremarkable is True
    assert "grades nothing" in found.reason


@pytest.mark.parametrize(
    ("idle_mbar", "unremarkable"), [(-1.0, False), (8.0, True), (12.0, None), (18.0, False)]
)
def test_idle_by_common_practice(idle_mbar: float, unremarkable: bool | None) -> None:
    """Fails where a limit is misplaced or the middle passes for an answer."""
    assert idle_judged(idle_mbar).unremarkable is unremarkable
