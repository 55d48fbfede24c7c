"""Clock values at which no law has a hazard."""

import pytest

from garage.lifetimes.laws.families import FAMILIES, FamilyName


@pytest.mark.parametrize("family", list(FAMILIES))
@pytest.mark.parametrize("clock", [0.0, -1.0, [5.0, -2.0]])
def test_hazard_at_no_distance_or_below_is_refused(
    family: FamilyName, clock: float | list[float]
) -> None:
    law = FAMILIES[family].make(1.0, 100.0)
    with pytest.raises(ValueError, match="above 0; got"):
        law.hazard(clock)
