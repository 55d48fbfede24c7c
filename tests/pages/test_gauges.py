"""The page of a job's gauges: pairs taken, a unit confirmed, the sensor and the hoses told."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client

from garage.records.models import (
    CautionConfirmed,
    FindingSeen,
    GaugePair,
    Instrument,
    Job,
    UnitConfirmed,
)
from tests.api.scene import Scene, visit
from tests.pages.conftest import ClientOf
from tests.pages.reading import leaks_in, specs_of, text_of
from tests.records.evidence_factories import (
    GaugePairFactory,
    InstrumentFactory,
    ReadingFactory,
    UnitConfirmedFactory,
)
from tests.records.factories import VehicleFactory

#: Pressures applied in Pa, and what a display in kPa then shows.
IN_KPA = ((0, "0.0"), (10_000, "10.1"), (20_000, "19.9"), (30_000, "30.0"))


@pytest.fixture
def job(scene: Scene) -> Job:
    vehicle = VehicleFactory(organisation=scene.cast.alder, engine_family=scene.family)
    return visit(vehicle, date(2024, 5, 6), 141_250, planned=False)


@pytest.fixture
def display(scene: Scene) -> Instrument:
    return InstrumentFactory(organisation=scene.cast.alder, name="old reader")


def page_of(job: Job) -> str:
    return f"/jobs/{job.pk}/gauges/"


def pairs(job: Job, display: Instrument, factor: float = 1.0) -> None:
    for applied_pa, shown in IN_KPA:
        shown_here = round(Decimal(shown) * Decimal(str(factor)), 1)
        GaugePairFactory(job=job, instrument=display, applied_pa=applied_pa, shown=shown_here)


def confirmed(display: Instrument) -> UnitConfirmed:
    return UnitConfirmedFactory(instrument=display, unit="kPa")


def pair_sent(display: Instrument, **changed: Any) -> dict[str, Any]:
    sent = {
        "pair-display": display.pk,
        "pair-shown": "5.0",
        "pair-applied": "50",
        "pair-applied_unit": "mbar",
        "pair-largest_error": "1",
        "pair-falling": "",
    }
    return {**sent, **{f"pair-{name}": value for name, value in changed.items()}}


# --- what the page tells ---


def test_page_of_a_job_without_anything_says_where_to_begin(job: Job, technician: Client) -> None:
    answer = technician.get(page_of(job))
    told = text_of(answer)
    assert "add the display and the known gauge" in told
    assert "zero not read, so an offset could pass for a hose" in told.lower()
    assert leaks_in(answer) == []


def test_pairs_rank_the_units_and_offer_to_confirm_the_leader(
    job: Job, display: Instrument, technician: Client
) -> None:
    pairs(job, display)
    answer = technician.get(page_of(job))
    told = text_of(answer)
    assert "Its unit is not known yet" in told
    assert "over 99 % kPa" in told
    assert "The slope fits kPa and no other" in told
    assert "Not checked: the display's unit is not known; confirm it first" in told
    assert b'<option value="kPa" selected>' in answer.content
    assert leaks_in(answer) == []


def test_next_pair_is_asked_for_in_mbar(job: Job, display: Instrument, technician: Client) -> None:
    GaugePairFactory(job=job, instrument=display, applied_pa=0, shown=Decimal("0.0"))
    told = text_of(technician.get(page_of(job)))
    assert "all pairs are at one pressure, and an offset alone decides no unit. " in told.lower()
    assert "apply about 300 mbar" in told


def test_bare_numbers_without_pairs_are_told_by_physics(
    job: Job, display: Instrument, technician: Client
) -> None:
    for condition, value in (("engine_off", "0"), ("idle", "5"), ("raised", "20")):
        ReadingFactory(
            job=job, instrument=display, unit="", value=Decimal(value), condition=condition
        )
    told = text_of(technician.get(page_of(job)))
    assert "No known pressure was applied yet" in told
    assert "bar: idle would be 500000 Pa" in told


def test_sensor_is_told_with_limits_and_a_chart(
    job: Job, display: Instrument, technician: Client
) -> None:
    pairs(job, display)
    confirmed(display)
    for value in ("0.4", "0.6"):
        ReadingFactory(job=job, unit="mbar", value=Decimal(value), condition="engine_off")
    answer = technician.get(page_of(job))
    told = text_of(answer)
    assert "The sensor: reads true" in told
    assert "Grading by pressure: may be done" in told
    assert "4 known pressures; zero of 3 readings at rest" in told
    assert "zero 2 mbar (common practice, no source)" in told
    assert "only one direction at each pressure" in told
    (spec,) = specs_of(answer).values()
    assert spec["layer"][2]["data"]["values"][1] == {
        "applied": 100.0,
        "indicated": 101.0,
        "way": "rising",
    }
    assert leaks_in(answer) == []


def test_phase_asked_for_is_the_one_told(job: Job, display: Instrument, technician: Client) -> None:
    ReadingFactory(job=job, unit="mbar", value=Decimal("0.4"), condition="engine_off")
    assert "0.4 mbar" in text_of(technician.get(page_of(job)))
    assert "0.4 mbar" not in text_of(technician.get(page_of(job) + "?phase=recheck"))


def test_hoses_are_told_with_what_the_reading_did(job: Job, technician: Client) -> None:
    for condition, value in (("engine_off", "0"), ("idle", "-4"), ("raised", "-18")):
        ReadingFactory(job=job, value=Decimal(value), condition=condition)
    told = text_of(technician.get(page_of(job) + "?moved=yes&response_s=0.3&phase=arrival"))
    assert "The hoses: swapped" in told
    assert "falls below zero as the engine speed rises" in told.lower()
    assert "reading after a change of engine speed: follows at once" in told.lower()


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("?response_s=-1", "A time is 0 s or more"),
        ("?moved=no&response_s=1", "A reading that did not move has no time"),
        ("?response_s=nan", "a plain number is typed"),
    ],
)
def test_hoses_asked_wrongly_say_so(job: Job, technician: Client, query: str, words: str) -> None:
    told = text_of(technician.get(page_of(job) + query))
    assert words in told
    assert "The hoses: cannot be told yet" in told


# --- what is written from it ---


def test_pair_is_added_from_the_page(job: Job, display: Instrument, technician: Client) -> None:
    told = text_of(technician.post(page_of(job) + "pair/", pair_sent(display), follow=True))
    assert "The pair is kept." in told
    kept = GaugePair.objects.get(job=job)
    assert (kept.applied_pa, kept.shown_resolution, kept.falling) == (5_000, Decimal("0.1"), False)
    technician.post(page_of(job) + "pair/", pair_sent(display, falling="falling"))
    assert GaugePair.objects.filter(falling=True).count() == 1


def test_pair_refused_comes_back_filled_with_every_fault(
    job: Job, display: Instrument, technician: Client
) -> None:
    sent = pair_sent(display, shown="5 kPa", largest_error="")
    answer = technician.post(page_of(job) + "pair/", sent)
    told = text_of(answer)
    assert "a plain number is typed" in told
    assert "how far the gauge may be off is known" in told
    assert b'value="5 kPa"' in answer.content
    assert not GaugePair.objects.exists()


def test_pair_is_taken_out(job: Job, display: Instrument, technician: Client) -> None:
    pair = GaugePairFactory(job=job, instrument=display)
    other = GaugePairFactory(instrument=display)
    assert technician.post(page_of(job) + "remove/", {"remove-pair": other.pk}).status_code == 404
    technician.post(page_of(job) + "remove/", {"remove-pair": pair.pk})
    assert GaugePair.objects.get() == other


@pytest.mark.parametrize(("reach", "family"), [("family", "Alder 16"), ("all", None)])
def test_unit_is_confirmed_for_the_family_or_for_all(
    job: Job, display: Instrument, technician: Client, reach: str, family: str | None
) -> None:
    reading = ReadingFactory(job=job, instrument=display, unit="", value=Decimal("4.8"))
    sent = {"confirm-instrument": display.pk, "confirm-unit": "kPa", "confirm-reach": reach}
    told = text_of(technician.post(page_of(job) + "confirm/", sent, follow=True))
    assert "It shows kPa , confirmed for" in told
    kept = UnitConfirmed.objects.get()
    assert (None if kept.engine_family is None else kept.engine_family.name) == family
    reading.refresh_from_db()
    assert reading.standard_value == 48.0


def test_unit_confirmed_wrongly_comes_back(
    job: Job, display: Instrument, technician: Client
) -> None:
    pairs(job, display)
    sent = {"confirm-instrument": display.pk, "confirm-unit": "stone", "confirm-reach": "all"}
    assert "Select a valid choice" in text_of(technician.post(page_of(job) + "confirm/", sent))
    assert not UnitConfirmed.objects.exists()


def test_vehicle_without_a_family_has_no_unit_of_a_family(
    scene: Scene, display: Instrument, technician: Client
) -> None:
    vehicle = VehicleFactory(organisation=scene.cast.alder, engine_family=None)
    job = visit(vehicle, date(2024, 5, 6), 141_250)
    sent = {"confirm-instrument": display.pk, "confirm-unit": "kPa", "confirm-reach": "family"}
    technician.post(page_of(job) + "confirm/", sent)
    assert not UnitConfirmed.objects.exists()
    technician.post(page_of(job) + "confirm/", {**sent, "confirm-reach": "all"})
    assert UnitConfirmed.objects.exists()


def test_bare_pressures_are_said_to_be_of_a_display(
    job: Job, display: Instrument, technician: Client
) -> None:
    reading = ReadingFactory(job=job, unit="", value=Decimal("4.8"))
    assert "1 pressure of this job has neither a unit nor a display" in text_of(
        technician.get(page_of(job))
    )
    technician.post(page_of(job) + "shown-by/", {"shown-by-instrument": display.pk})
    reading.refresh_from_db()
    assert reading.instrument == display
    assert "Whose are these" not in text_of(technician.get(page_of(job)))


def test_finding_is_kept_by_one_tap(job: Job, display: Instrument, technician: Client) -> None:
    pairs(job, display, factor=1.2)
    confirmed(display)
    assert (
        "sensor against a known gauge: wrong slope" in text_of(technician.get(page_of(job))).lower()
    )
    sent = {"keep-found": "sensor_check:gain", "keep-phase": "recheck"}
    told = text_of(technician.post(page_of(job) + "keep/?phase=recheck", sent, follow=True))
    assert "kept as a finding" in told
    kept = FindingSeen.objects.get(job=job)
    assert (kept.finding, kept.state, kept.phase) == ("sensor_check", "gain", "recheck")


def test_finding_waits_for_its_cautions_and_the_question_is_not_lost(
    job: Job, technician: Client
) -> None:
    asked = "?moved=yes&response_s=0.3&phase=arrival"
    for condition, value in (("engine_off", "0"), ("idle", "-4"), ("raised", "-18")):
        ReadingFactory(job=job, value=Decimal(value), condition=condition)
    sent = {"keep-found": "hoses:swapped", "keep-phase": "arrival"}
    told = text_of(technician.post(page_of(job) + "keep/" + asked, sent))
    assert "are confirmed before the step" in told
    assert "The hoses: swapped" in told
    assert not FindingSeen.objects.exists()
    named = {"caution-procedure": "pressure_hoses", "caution-name": "A. Tester"}
    told = text_of(technician.post(page_of(job) + "caution/" + asked, named, follow=True))
    assert "Confirmed by A. Tester" in told
    assert "The hoses: swapped" in told
    assert CautionConfirmed.objects.get().procedure == "pressure_hoses"
    technician.post(page_of(job) + "keep/" + asked, sent)
    assert FindingSeen.objects.get().state == "swapped"


def test_cautions_stand_before_the_pump(job: Job, technician: Client) -> None:
    told = text_of(technician.get(page_of(job)))
    assert "Never compressed air" in told
    assert told.index("Never compressed air") < told.index("The hoses:")


# --- who may ---


@pytest.mark.parametrize("who", ["at_birch", "at_cedar", "stranger"])
def test_anothers_job_answers_as_none(
    scene: Scene, job: Job, display: Instrument, client_of: ClientOf, who: str
) -> None:
    client = client_of(getattr(scene.cast, who))
    assert client.get(page_of(job)).status_code == 404
    assert client.post(page_of(job) + "pair/", pair_sent(display)).status_code == 404
    assert not GaugePair.objects.exists()


def test_anothers_display_is_no_choice(job: Job, display: Instrument, technician: Client) -> None:
    theirs = InstrumentFactory()
    answer = technician.post(page_of(job) + "pair/", pair_sent(theirs))
    assert "Select a valid choice" in text_of(answer)
    sent = {"confirm-instrument": theirs.pk, "confirm-unit": "kPa", "confirm-reach": "all"}
    assert technician.post(page_of(job) + "confirm/", sent).status_code == 404
    assert not UnitConfirmed.objects.exists()


def test_viewer_reads_but_writes_nothing(
    scene: Scene, job: Job, display: Instrument, client_of: ClientOf
) -> None:
    pairs(job, display)
    client = client_of(scene.cast.viewer)
    told = text_of(client.get(page_of(job)))
    assert "Add a known pressure" not in told
    assert "Confirm the unit" not in told
    assert client.post(page_of(job) + "pair/", pair_sent(display)).status_code == 403


def test_unknown_form_is_not_found(job: Job, technician: Client) -> None:
    assert technician.post(page_of(job) + "mood/", {}).status_code == 404


def test_evidence_page_leads_here(job: Job, technician: Client) -> None:
    content = technician.get(f"/jobs/{job.pk}/evidence/?phase=recheck").content
    assert f'href="{page_of(job)}?phase=recheck"'.encode() in content


@pytest.mark.parametrize("count", [3, 30])
def test_asks_as_often_whatever_was_taken(
    job: Job, technician: Client, count: int, django_assert_max_num_queries: Any
) -> None:
    for number in range(count):
        display = InstrumentFactory(organisation=job.organisation, name=f"reader {number}")
        confirmed(display)
        pairs(job, display)
    with django_assert_max_num_queries(22):
        technician.get(page_of(job))
