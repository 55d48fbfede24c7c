"""Questions about gauges over the API: answers as the evidence gives them, refusals whole."""

from typing import Any

import pytest
from rest_framework.test import APIClient

from garage.evidence.gauges.sensor_check import Point, sensor_checked
from tests.api.conformance import departures
from tests.api.scene import Scene

UNIT, SENSOR = "/api/v1/unit-inference/", "/api/v1/sensor-checks/"


def pair(applied: str, shown: str, **changed: Any) -> dict[str, Any]:
    return {
        "applied": applied,
        "applied_unit": "mbar",
        "applied_error": 1,
        "shown": shown,
        **changed,
    }


def point(applied: str, indicated: str, **changed: Any) -> dict[str, Any]:
    return {"applied": applied, "indicated": indicated, "unit": "mbar", **changed}


PAIRS = [pair("0", "0.0"), pair("100", "10.1"), pair("300", "30.0")]
POINTS = [point("0", "0.1"), point("100", "99.8"), point("200", "200.1"), point("300", "300.2")]
REST = [{"indicated": each, "unit": "mbar"} for each in ("0.1", "0.0", "0.2")]
CHECK = {"points": POINTS, "at_rest": REST, "gauge_error_pa": 50}


def asked(client: APIClient, path: str, body: Any) -> Any:
    answer = client.post(path, body, format="json")
    assert departures(answer, path, "post") == []
    return answer


# --- which unit ---


def test_unit_is_told_by_pairs(scene: Scene, alder: APIClient) -> None:
    answer = asked(alder, UNIT, {"pairs": PAIRS})
    assert answer.status_code == 200
    told = answer.json()["by_pairs"]
    assert (told["status"], told["unit"], told["n"]) == ("decided", "kPa", 3)
    assert sum(each["probability"] for each in told["candidates"]) == pytest.approx(1)
    assert told["fit"]["slope_per_pa"] == pytest.approx(0.001, rel=0.01)
    assert told["fit"]["slope_lower_per_pa"] < 0.001 < told["fit"]["slope_upper_per_pa"]
    assert (told["next_applied_pa"], answer.json()["by_physics"]) == (None, None)


def test_pairs_at_one_pressure_ask_for_another(scene: Scene, alder: APIClient) -> None:
    told = asked(alder, UNIT, {"pairs": PAIRS[:1], "sensor_range_pa": 10_000}).json()["by_pairs"]
    assert (told["status"], told["unit"], told["fit"]) == ("cannot be told", None, None)
    assert told["next_applied_pa"] == 10_000


def test_digits_shown_count(scene: Scene, alder: APIClient) -> None:
    """A display of whole figures tells a unit less surely than one with a decimal more."""
    chances = []
    for shown in (("0", "1"), ("0.00", "1.00")):
        body = {"pairs": [pair("0", shown[0]), pair("10", shown[1])]}
        candidates = asked(alder, UNIT, body).json()["by_pairs"]["candidates"]
        chances.append({each["unit"]: each["probability"] for each in candidates}["kPa"])
    assert chances[1] > chances[0]


def test_bare_numbers_are_told_by_physics(scene: Scene, alder: APIClient) -> None:
    body = {"bare": {"zero": "0", "idle": "5", "raised": "20"}}
    answer = asked(alder, UNIT, body).json()
    told = answer["by_physics"]
    assert (answer["by_pairs"], told["status"]) == (None, "several remain")
    assert [each["unit"] for each in told["excluded"]] == ["bar", "psi", "inHg"]
    assert told["settling_applied_pa"] == 30_000


@pytest.mark.parametrize(
    ("body", "name"),
    [
        ({}, "pairs"),
        ({"pairs": [], "bare": {}}, "pairs"),
        ({"pairs": [pair("0", 5.0)]}, "pairs.0.shown"),  # type: ignore[arg-type]
        ({"pairs": [*PAIRS, pair("0", "5 kPa")]}, "pairs.3.shown"),
        ({"pairs": [pair("1,500", "5")]}, "pairs.0.applied"),
        ({"pairs": [pair("9" * 21, "5")]}, "pairs.0.applied"),
        ({"pairs": [pair("0", "5", applied_unit="stone")]}, "pairs.0.applied_unit"),
        ({"pairs": [pair("0", "5", applied_error=-1)]}, "pairs.0.applied_error"),
        ({"pairs": [pair("0", "5", applied_error=1e308)]}, "pairs.0.applied_error"),
        ({"pairs": PAIRS * 17}, "pairs"),
        ({"pairs": PAIRS, "sensor_range_pa": 0}, "sensor_range_pa"),
        ({"pairs": PAIRS, "colour": "red"}, "colour"),
        ({"pairs": [pair("0", "5", colour="red")]}, "pairs.0.colour"),
        ({"pairs": [pair("0", "5", applied_error=True)]}, "pairs.0.applied_error"),
        ({"bare": {"idle": "5", "rest": "0"}}, "bare.rest"),
        ({"bare": {"idle": "soon"}}, "bare.idle"),
    ],
)
def test_unit_question_that_cannot_be_is_refused(
    scene: Scene, alder: APIClient, body: dict[str, Any], name: str
) -> None:
    answer = asked(alder, UNIT, body)
    assert answer.status_code == 400
    assert [each["name"] for each in answer.json()["errors"]] == [name]


def test_unit_question_without_anything_names_both_ways_to_ask(
    scene: Scene, alder: APIClient
) -> None:
    (fault,) = asked(alder, UNIT, {}).json()["errors"]
    assert fault["detail"].startswith("pairs or bare must be given; got neither.")


# --- does it read true ---


def test_sensor_is_checked_as_the_evidence_does(scene: Scene, alder: APIClient) -> None:
    told = asked(alder, SENSOR, CHECK).json()
    assert (told["verdict"], told["finding"], told["grading"]) == ("within", "true", "grade")
    assert (told["n"], told["n_at_rest"]) == (4, 3)
    plain = sensor_checked(
        [Point(0, 10), Point(10_000, 9_980), Point(20_000, 20_010), Point(30_000, 30_020)],
        [10, 0, 20],
    )
    assert told["gain"]["value"] == pytest.approx(plain.gain.value)
    assert told["zero"]["value"] == pytest.approx(10.0)
    assert told["zero"]["lower"] < plain.zero.limits[0]  # type: ignore[index]
    assert told["hysteresis"]["value"] is None


def test_sensor_without_rest_holds_grading(scene: Scene, alder: APIClient) -> None:
    told = asked(alder, SENSOR, {**CHECK, "at_rest": []}).json()
    assert (told["grading"], told["n_at_rest"]) == ("hold", 0)


def test_sensor_let_down_is_a_direction_of_its_own(scene: Scene, alder: APIClient) -> None:
    falling = [{**each, "rising": False} for each in POINTS]
    told = asked(alder, SENSOR, {**CHECK, "points": [*POINTS, *falling]}).json()
    assert told["hysteresis"]["value"] == 0


def test_tolerance_sent_stands_in_place_of_the_shipped(scene: Scene, alder: APIClient) -> None:
    steep = [point("0", "0.0"), point("100", "103.1"), point("200", "206.0"), point("300", "309.1")]
    body = {**CHECK, "points": steep}
    assert asked(alder, SENSOR, body).json()["gain"]["verdict"] == "within"
    strict = asked(alder, SENSOR, {**body, "tolerance_share": 0.01}).json()
    assert (strict["gain"]["verdict"], strict["finding"]) == ("outside", "gain")


def test_tolerance_as_narrow_as_an_own_limit_may_be_is_taken(
    scene: Scene, alder: APIClient
) -> None:
    assert asked(alder, SENSOR, {**CHECK, "tolerance_share": 0.005}).status_code == 200


def test_sound_idle_sent_holds_a_zero_as_large(scene: Scene, alder: APIClient) -> None:
    assert asked(alder, SENSOR, {**CHECK, "sound_idle_pa": 10}).json()["grading"] == "hold"
    assert asked(alder, SENSOR, {**CHECK, "sound_idle_pa": 500}).json()["grading"] == "grade"


@pytest.mark.parametrize(
    ("changed", "name"),
    [
        ({"points": []}, "points"),
        ({"points": [point("0", "x")]}, "points.0.indicated"),
        ({"points": [point("0", "0", unit="kg")]}, "points.0.unit"),
        ({"points": [point("0", "0", rising="up")]}, "points.0.rising"),
        ({"at_rest": [{"indicated": 0, "unit": "mbar"}]}, "at_rest.0.indicated"),
        ({"gauge_error_pa": -1}, "gauge_error_pa"),
        ({"gauge_error_pa": None}, "gauge_error_pa"),
        ({"points": [point("0", "0", risng=False)]}, "points.0.risng"),
        ({"tolerance_share": 0}, "tolerance_share"),
        ({"tolerance_share": 0.004}, "tolerance_share"),
        ({"tolerance_share": 0.6}, "tolerance_share"),
        ({"sound_idle_pa": -1}, "sound_idle_pa"),
    ],
)
def test_sensor_question_that_cannot_be_is_refused(
    scene: Scene, alder: APIClient, changed: dict[str, Any], name: str
) -> None:
    answer = asked(alder, SENSOR, {**CHECK, **changed})
    assert answer.status_code == 400
    assert [each["name"] for each in answer.json()["errors"]] == [name]


# --- who may ---


@pytest.mark.parametrize(("path", "body"), [(UNIT, {"pairs": PAIRS}), (SENSOR, CHECK)])
def test_question_is_for_who_is_signed_in(scene: Scene, path: str, body: dict[str, Any]) -> None:
    answer = APIClient().post(path, body, format="json")
    assert answer.status_code == 401
    assert departures(answer, path, "post") == []
