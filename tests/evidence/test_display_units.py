"""The unit of a display as far as somebody confirmed it: the family's own before that for all."""

from decimal import Decimal

import pytest

from garage.evidence.display_units import standard_value_shown, unit_of_display
from garage.records.models import Instrument
from tests.records.evidence_factories import InstrumentFactory, UnitConfirmedFactory
from tests.records.factories import EngineFamilyFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def display() -> Instrument:
    return InstrumentFactory()


def symbol(display: Instrument, family_id: int | None, **more: str) -> str | None:
    told = unit_of_display(instrument=display, engine_family_id=family_id, **more)
    return None if told is None else told.unit.symbol


def test_unit_nobody_confirmed_is_not_known(display: Instrument) -> None:
    assert symbol(display, EngineFamilyFactory().pk) is None


def test_unit_of_the_family_comes_before_that_for_all(display: Instrument) -> None:
    family, other = EngineFamilyFactory(), EngineFamilyFactory()
    UnitConfirmedFactory(instrument=display, unit="mbar")
    UnitConfirmedFactory(instrument=display, unit="kPa", engine_family=family)
    assert symbol(display, family.pk) == "kPa"
    assert symbol(display, other.pk) == symbol(display, None) == "mbar"


def test_unit_of_one_family_tells_nothing_of_another(display: Instrument) -> None:
    family, other = EngineFamilyFactory(), EngineFamilyFactory()
    UnitConfirmedFactory(instrument=display, unit="kPa", engine_family=family)
    assert symbol(display, other.pk) is None
    assert symbol(display, None) is None


def test_unit_of_one_quantity_tells_nothing_of_another(display: Instrument) -> None:
    UnitConfirmedFactory(instrument=display, unit="kPa")
    assert symbol(display, None, quantity="pressure_before_filter") is None
    assert symbol(display, None, quantity="no_such_quantity") is None


def test_unit_that_the_instrument_names_comes_first() -> None:
    gauge = InstrumentFactory(unit="mBar")
    told = unit_of_display(instrument=gauge, engine_family_id=None)
    assert told is not None
    assert (told.unit.symbol, told.confirmed) == ("mbar", None)
    assert symbol(InstrumentFactory(unit="°C"), None) is None


def test_bare_number_is_told_in_the_standard_unit(display: Instrument) -> None:
    """1 kPa is 10 mbar: NIST SP 811, appendix B.8."""
    UnitConfirmedFactory(instrument=display, unit="kPa")
    shown_in = unit_of_display(instrument=display, engine_family_id=None)
    value, bare = Decimal("4.8"), "pressure_across_filter"
    assert standard_value_shown(quantity=bare, value=value, shown_in=shown_in) == 48.0
    assert standard_value_shown(quantity=bare, value=value, shown_in=None) is None
    assert standard_value_shown(quantity="engine_speed", value=value, shown_in=None) == 4.8
    assert standard_value_shown(quantity="mood", value=value, shown_in=None) is None
