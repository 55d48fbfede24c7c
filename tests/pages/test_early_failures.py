"""The list of early failures."""

import copy
from typing import Any

import pytest
from django.test import Client

from garage.outcomes.models import ReportSnapshot
from tests.api.scene import Scene
from tests.pages.reading import leaks_in, text_of

LIST = "/early-failures/"


@pytest.fixture
def flag(scene: Scene, alder: Client) -> dict[str, Any]:
    alder.get(LIST)  # makes the report
    flags = ReportSnapshot.objects.get().report["early_failures"]["flags"]
    return copy.deepcopy(flags[0])


def keep(flags: list[dict[str, Any]]) -> None:
    """These flags in the place of the report's own."""
    snapshot = ReportSnapshot.objects.get()
    snapshot.report["early_failures"]["flags"] = flags
    snapshot.save()


def test_it_tells_the_failures_the_odds_and_the_shares(scene: Scene, alder: Client) -> None:
    answer = alder.get(LIST)
    told = text_of(answer).replace("\u00a0", " ")
    assert leaks_in(answer) == []
    assert "1 vehicle on which" in told
    assert "Three failures in 50 000 km" in told
    assert "at or below 5 %" in told
    assert "the vehicle" in told
    assert f'href="/vehicles/{scene.van.pk}/"' in answer.content.decode()


def test_what_fits_the_question_is_kept_and_what_does_not_is_left_out(
    alder: Client, flag: dict[str, Any]
) -> None:
    leader = flag["verdict"]["leader"] or "none"
    other = "design" if leader != "design" else "chance"
    for name, right, wrong in (
        ("rule", "early_repeat_failure", "early_failure"),
        ("cause", leader, other),
    ):
        assert "QZ-77-KL" in text_of(alder.get(LIST, {name: right}))
        answer = text_of(alder.get(LIST, {name: wrong}))
        assert "QZ-77-KL" not in answer
        assert "None fits these filters" in answer
    assert "QZ-77-KL" in text_of(alder.get(LIST, {"engine_family": "Alder 16"}))


@pytest.mark.parametrize("name", ["rule", "engine_family", "cause"])
def test_a_question_that_makes_no_sense_is_named_not_obeyed(
    alder: Client, flag: dict[str, Any], name: str
) -> None:
    told = text_of(alder.get(LIST, {name: "no-such-thing"}))
    assert "All are shown" in told
    assert "QZ-77-KL" in told


def test_a_verdict_that_cannot_be_told_is_words_not_zeros(
    alder: Client, flag: dict[str, Any]
) -> None:
    flag["verdict"] |= {
        "vehicle": None,
        "repair": None,
        "design": None,
        "chance": None,
        "leader": None,
        "status": "few_failures",
        "reason": "too few failures to tell faults from wear",
        "rests_on": None,
    }
    keep([flag])
    answer = alder.get(LIST)
    told = text_of(answer)
    assert leaks_in(answer) == []
    assert "cannot be told (too few failures to tell faults from wear)" in told
    assert "the vehicle 0" not in told


def test_a_verdict_without_a_clear_leader_names_none(alder: Client, flag: dict[str, Any]) -> None:
    flag["verdict"] |= {"vehicle": 0.3, "repair": 0.3, "design": 0.2, "chance": 0.2, "leader": None}
    keep([flag])
    assert "No cause leads clearly" in text_of(alder.get(LIST))
    assert "QZ-77-KL" in text_of(alder.get(LIST, {"cause": "none"}))


def test_a_probability_that_is_not_known_is_a_word(alder: Client, flag: dict[str, Any]) -> None:
    flag["count"]["probability_family"] = None
    keep([flag])
    answer = alder.get(LIST)
    assert leaks_in(answer) == []
    assert "not known under this engine family" in text_of(answer)


def test_a_vehicle_that_has_left_the_records_has_no_link(
    scene: Scene, alder: Client, flag: dict[str, Any]
) -> None:
    keep([flag | {"vehicle": 987_654_321}])
    answer = alder.get(LIST)
    assert "no longer on record" in text_of(answer)
    assert "/vehicles/987654321/" not in answer.content.decode()


def test_a_long_list_has_further_pages_that_keep_the_question(
    alder: Client, flag: dict[str, Any]
) -> None:
    keep([flag] * 30)
    first = alder.get(LIST, {"rule": "early_repeat_failure"})
    assert "Page 1 of 2" in text_of(first)
    assert "?rule=early_repeat_failure&amp;page=2" in first.content.decode()
    second = alder.get(LIST, {"rule": "early_repeat_failure", "page": "2"})
    assert second.context["shown"].number == 2
    assert len(second.context["flags"]) == 5


def test_without_any_flag_it_says_so(alder: Client, flag: dict[str, Any]) -> None:
    keep([])
    assert "No particulate filter in view has failed early" in text_of(alder.get(LIST))
