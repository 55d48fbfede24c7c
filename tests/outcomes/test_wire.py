"""The report as plain JSON: finite, complete, and in the documented form."""

import json
import math
from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest

from garage.outcomes.choices import Ending, LifeClass
from garage.outcomes.report import report_make
from garage.outcomes.wire import FORM_VERSION, Wire, refuse_non_finite, report_to_wire
from tests.outcomes.conftest import Region
from tests.outcomes.histories import filter_kind

FIGURE = {"value", "lower", "upper", "n", "failed", "status", "reason", "source"}


@pytest.fixture
def wire(region: Region) -> Wire:
    return report_to_wire(
        report_make(
            organisations=[region.workshop, region.fleet],
            part_kind=filter_kind(),
            as_of=date(2019, 1, 1),
        )
    )


def parts_of(value: Any) -> Iterator[Any]:
    yield value
    if isinstance(value, dict):
        for each in value.values():
            yield from parts_of(each)
    elif isinstance(value, list):
        for each in value:
            yield from parts_of(each)


def test_it_passes_through_json_unchanged(wire: Wire) -> None:
    assert json.loads(json.dumps(wire, allow_nan=False)) == wire


def test_it_says_its_form_day_part_kind_and_view(wire: Wire) -> None:
    assert (wire["form"], wire["as_of"], wire["part_kind"]) == (
        FORM_VERSION,
        "2019-01-01",
        "particulate_filter",
    )
    assert wire["system"] == "exhaust_aftertreatment"
    assert (wire["organisations"], wire["vehicles"]) == (["alder-yard", "birch-fleet"], 11)


def test_every_figure_carries_n_failed_interval_source_and_status(wire: Wire) -> None:
    figures = [each for each in parts_of(wire) if isinstance(each, dict) and "source" in each]
    figures = [each for each in figures if "value" in each]
    assert len(figures) > 30
    for figure in figures:
        # A stay-away share is asked for, and no failure is counted for it.
        assert set(figure) - {"at_km", "at_days"} in (FIGURE, FIGURE - {"failed"} | {"told"})
        assert figure["source"]
        assert figure["status"]
        if figure["value"] is None:
            assert figure["reason"]


def test_the_account_closes_for_the_view_and_for_each_family_and_origin(wire: Wire) -> None:
    account = wire["account"]
    assert account["closes"]
    assert sum(account["classes"].values()) == account["fitments"]
    assert list(account["classes"]) == [each.value for each in LifeClass]
    assert list(account["endings"]) == [each.value for each in Ending]
    assert all(row["closes"] for row in wire["accounts"])
    assert sum(row["fitments"] for row in wire["accounts"]) == account["fitments"]


def test_capture_names_each_organisation_and_who_sees_all(wire: Wire) -> None:
    by_code = {row["organisation"]: row for row in wire["capture"]}
    assert by_code["birch-fleet"]["sees_all_repairs"] is True
    assert by_code["birch-fleet"]["failures"]["value"] == 1
    assert by_code["alder-yard"]["comebacks"]["elsewhere"] == 1


def test_part_life_gives_the_curves_with_the_covered_share(wire: Wire) -> None:
    group = wire["part_life"][0]
    assert (group["engine_family"], group["origin"]) == ("Alder 16", "factory")
    assert (group["lives"], group["failed"], group["vehicles"]) == (7, 1, 7)
    assert [curve["curve"] for curve in group["curves"]] == ["expected", "seen", "presumed"]
    assert 0 < group["covered_share"] <= 1
    assert {"shape", "scale_km", "tenth_failed_km"} == set(group["curves"][0]["weibull"])


def test_the_visits_of_each_organisation_say_why_there_is_no_law(wire: Wire) -> None:
    visits = {each["organisation"]: each for each in wire["visits"]}
    assert (visits["alder-yard"]["vehicles"], visits["birch-fleet"]["vehicles"]) == (7, 4)
    assert visits["alder-yard"]["leaving_a_year"] is None
    assert visits["alder-yard"]["status"] == "few_clusters"
    assert "20 are needed" in visits["alder-yard"]["reason"]


def test_a_flag_tells_the_vehicle_the_numbers_and_the_verdict(wire: Wire) -> None:
    (flag,) = [each for each in wire["early_failures"]["flags"] if each["vehicle_ref"] == "Van 7"]
    assert (flag["rule"], flag["organisation"], flag["engine_family"]) == (
        "early_repeat_failure",
        "alder-yard",
        "Alder 16",
    )
    assert flag["early"][0]["normal_source"]
    assert flag["count"]["failures"] == 3
    assert 0 <= flag["count"]["probability_normal"] < 0.01
    shares = [flag["verdict"][cause] for cause in ("vehicle", "repair", "design", "chance")]
    assert sum(shares) == pytest.approx(1)
    assert flag["verdict"]["rests_on"] is not None


def test_comebacks_are_those_of_all_families_and_of_each(wire: Wire) -> None:
    rows = {(row["engine_family"], row["operation"]): row for row in wire["comebacks"]}
    assert rows["(all)", "replace"]["comebacks"] == 2
    assert rows["Alder 16", "regenerate_driving"]["jobs"] == 6
    assert [each["at_days"] for each in rows["(all)", "replace"]["within_days"]] == [7, 30, 90, 365]


@pytest.mark.parametrize("wrong", [math.inf, -math.inf, math.nan])
def test_a_number_that_json_cannot_carry_is_refused_by_its_place(wrong: float) -> None:
    refuse_non_finite({"a": [1.0, {"b": 2.0}], "c": None})
    with pytest.raises(ValueError, match=r"report\.a\[1\]\.b"):
        refuse_non_finite({"a": [1.0, {"b": wrong}]})
