"""The catalogue of quantities: what is shipped, and what it refuses to be."""

from decimal import Decimal
from fractions import Fraction

import pytest

from garage.evidence.quantities.catalogue import (
    KINDS,
    Counting,
    Quantity,
    quantities,
    quantities_from,
    quantity,
)
from garage.records.choices import ReadingKind
from garage.records.models import Reading

#: Rows of these are kept already, so that their words cannot change unseen.
KEPT = {
    "pressure_across_filter": "pressure across the filter",
    "soot_mass": "soot, as the vehicle reckons it",
    "ash_mass": "ash, as the vehicle reckons it",
    "soot_limit": "soot limit for a burn, as the vehicle's maker publishes it",
    "filter_volume": "volume of the filter",
    "exhaust_temperature_before": "exhaust temperature before the filter",
    "exhaust_temperature_after": "exhaust temperature after the filter",
    "engine_speed": "engine speed",
    "coolant_temperature": "coolant temperature",
    "distance_since_burn": "distance since the last burn",
    "distance_since_clear": "distance since codes were cleared",
    "particle_count": "particle count",
    "opacity": "smoke opacity",
    "oil_level": "oil level",
}
WHOLE = {
    "title": '"speed"',
    "dimension": '"rotation"',
    "unit": '"rpm"',
    "least": "0",
    "most": "6000",
    "basis": '"judgement"',
    "why": '"as an example"',
    "kinds": '["measured"]',
}
each_quantity = pytest.mark.parametrize("told", quantities().values(), ids=lambda told: told.key)


def text(**changed: str) -> str:
    return "[speed]\n" + "\n".join(f"{k} = {v}" for k, v in (WHOLE | changed).items())


@pytest.mark.parametrize("key", KEPT)
def test_quantity_recorded_so_far_keeps_its_words_and_usual_kind(key: str) -> None:
    assert quantity(key).title == KEPT[key]
    modelled = quantity(key).default_kind == ReadingKind.MODELLED
    assert modelled == (key in ("soot_mass", "ash_mass"))


def test_kinds_are_those_of_a_reading() -> None:
    assert tuple(ReadingKind.values) == KINDS


def test_quantity_that_is_not_known_is_refused() -> None:
    assert quantity("soot_mass").unit.symbol == "g"
    with pytest.raises(ValueError, match="soot_weight"):
        quantity("soot_weight")


@each_quantity
def test_quantity_fits_where_it_is_kept(told: Quantity) -> None:
    longest = {name: Reading._meta.get_field(name).max_length for name in ("quantity", "unit")}
    assert len(told.key) <= (longest["quantity"] or 0)
    assert len(told.unit.symbol) <= (longest["unit"] or 0)


def test_no_quantity_shares_its_title() -> None:
    titles = [told.title for told in quantities().values()]
    assert len(set(titles)) == len(titles)


def test_pressure_across_the_filter_may_be_negative_and_soot_not() -> None:
    # Swapped hoses show below zero; the difference on the on-board channel is signed.
    assert quantity("pressure_across_filter").may_be_negative
    assert not quantity("soot_mass").may_be_negative


# SAE J1979-DA, from memory: two bytes in whole km, minutes; one byte of warm-ups.
@pytest.mark.parametrize(
    ("key", "bytes_"),
    [("distance_since_clear", 2), ("time_since_clear", 2), ("warm_ups_since_clear", 1)],
)
def test_counter_holds_at_the_end_of_its_bytes(key: str, bytes_: int) -> None:
    assert quantity(key).holds_at == 256**bytes_ - 1
    assert quantity(key).counts is Counting.UNTIL_RESET


# The same source: the largest figure of the bytes, in the unit of the channel.
@pytest.mark.parametrize(
    ("key", "largest"),
    [
        ("air_flow", Decimal(0xFFFF) / 100),
        ("exhaust_flow", Decimal(0xFFFF) / 5),
        ("exhaust_temperature_before", Decimal(0xFFFF) / 10 - 40),
        ("coolant_temperature", Decimal(0xFF) - 40),
        ("barometric_pressure", Decimal(0xFF)),
        ("engine_speed", Decimal(0xFFFF) / 4),
        ("pressure_across_filter", Decimal(0xFFFF) / 100),
        ("pressure_across_filter", Decimal(0x7FFF) / 100),
        ("pressure_across_filter", Decimal(-0x8000) / 100),
        ("odometer_on_board", Decimal(0xFFFFFFFF) / 10),
    ],
)
def test_largest_figure_of_the_bytes_is_a_filler(key: str, largest: Decimal) -> None:
    assert largest in [filler.value for filler in quantity(key).fillers]


def test_whole_quantity_is_read() -> None:
    told = quantities_from(text())["speed"]
    assert (told.least, told.most) == (0, 6000)
    assert (told.fillers, told.holds_at, told.counts) == ((), None, Counting.NOT)


def test_fraction_is_read_exactly() -> None:
    assert quantities_from(text(least="0.1"))["speed"].least == Fraction(1, 10)


@pytest.mark.parametrize(
    ("changed", "match"),
    [
        ({"unit": '"kPa"'}, "a unit"),
        ({"dimension": '"turning"'}, "turning"),
        ({"least": "6000"}, "rises"),
        ({"basis": '"hearsay"'}, "hearsay"),
        ({"kinds": "[]"}, "kinds"),
        ({"kinds": '["guessed"]'}, "kinds"),
        ({"kinds": '["measured", "measured"]'}, "kinds"),
        ({"title": '""'}, "title"),
        ({"why": '""'}, "reason"),
        ({"holds_at": "5999"}, "holds"),
        ({"counts": '"falling"'}, "falling"),
        ({"colour": '"red"'}, "colour"),
        ({"fillers": '[{ value = "1", unit = "kPa", says = "none" }]'}, "a unit"),
        (
            {"holds_at": "6000", "fillers": '[{ value = "6000", unit = "rpm", says = "none" }]'},
            "no filler",
        ),
    ],
)
def test_quantity_that_does_not_hold_together_is_refused(
    changed: dict[str, str], match: str
) -> None:
    with pytest.raises(ValueError, match=match):
        quantities_from(text(**changed))


@pytest.mark.parametrize("name", WHOLE)
def test_quantity_that_lacks_a_name_is_refused(name: str) -> None:
    lacking = "\n".join(line for line in text().splitlines() if not line.startswith(f"{name} ="))
    with pytest.raises(ValueError, match=name):
        quantities_from(lacking)
