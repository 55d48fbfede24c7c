"""The page of a job's trouble codes: kept, cleared, read empty, and what the vehicle answered."""

from datetime import date
from typing import Any

import pytest
from django.test import Client

from garage.records.choices import OperationKind
from garage.records.models import FindingSeen, Job, Operation, Reading, TroubleCodeRead
from tests.api.scene import Scene, visit
from tests.pages.conftest import ClientOf
from tests.pages.reading import leaks_in, text_of
from tests.pages.test_query_counts import queries_of
from tests.records.evidence_factories import (
    FindingSeenFactory,
    ReadingFactory,
    TroubleCodeReadFactory,
)
from tests.records.factories import VehicleFactory

#: Baseline; a higher number needs a reason, a lower one belongs here.
CODES = 23
ANSWERS = "41 31 01 2C\n41 01 82 08 40 40\n41 1F 00 10\nNO DATA"
SENT = {
    "line": {"text": "P2463, P244B pending", "phase": "arrival", "ecu": "engine"},
    "none": {"phase": "arrival"},
    "values": {"text": ANSWERS},
}


@pytest.fixture
def job(scene: Scene) -> Job:
    vehicle = VehicleFactory(organisation=scene.cast.alder)
    visit(vehicle, date(2024, 3, 6), 137_050, trouble_codes="P242F")
    made = visit(vehicle, date(2024, 5, 6), 141_250, planned=False, trouble_codes="")
    made.closed_on = None
    made.save()
    return made


def page_of(job: Job) -> str:
    return f"/jobs/{job.pk}/codes/"


def send(client: Client, job: Job, what: str, **changed: Any) -> Any:
    said = {**SENT.get(what, {}), **changed}
    sent = {f"{what}-{name}": value for name, value in said.items()}
    return client.post(f"{page_of(job)}{what}/", sent, follow=True)


def test_page_without_codes_says_that_it_knows_nothing(job: Job, technician: Client) -> None:
    answer = technician.get(page_of(job))
    told = text_of(answer)
    assert "That is not “none stored”" in told
    assert "What cannot be told yet" in told
    assert leaks_in(answer) == []


def test_line_is_kept_and_told_with_groups_before(job: Job, technician: Client) -> None:
    answer = send(technician, job, "line", text="P2463-92, P0401 pending, P1999")
    told = text_of(answer)
    assert "The codes are kept." in told
    assert "P2463-92 Filter restricted, soot: performance or wrong operation" in told
    assert "Put right gas recirculation first" in told
    assert "Not known here" in told
    assert "Status byte not read: whether the fault is there now is not known." in told
    assert "61 days ago, 4 200 km ago" in told.replace("\xa0", " ")
    assert leaks_in(answer) == []


def test_what_is_kept_is_shown_at_its_phase(job: Job, technician: Client) -> None:
    # Fails where codes after the work are followed by a form for those on arrival.
    sent = {"line-text": "P2463", "line-phase": "after_work"}
    answer = technician.post(f"{page_of(job)}line/", sent)
    assert answer["Location"] == f"{page_of(job)}?phase=after_work"
    content = technician.get(answer["Location"]).content.decode()
    assert '<option value="after_work" selected>' in content
    assert 'codes/clear/?phase=after_work#clear"' in content
    answer = technician.post(
        f"{page_of(job)}status/?phase=recheck",
        {"status-code": TroubleCodeRead.objects.get().pk, "status-status_byte": "2F"},
    )
    assert answer["Location"] == f"{page_of(job)}?phase=recheck"


def test_line_with_a_part_that_is_no_code_comes_back_whole(job: Job, technician: Client) -> None:
    answer = send(technician, job, "line", text="P2463, P2O63")
    assert "send P2063" in text_of(answer)
    assert b"P2463, P2O63</textarea>" in answer.content
    assert not TroubleCodeRead.objects.exists()


def test_form_starts_from_codes_of_the_jobs_own_line(job: Job, technician: Client) -> None:
    job.trouble_codes = "P2463 lamp"
    job.save()
    answer = technician.get(page_of(job))
    assert b"P2463</textarea>" in answer.content
    assert "lamp: no trouble code" in text_of(answer)


def test_permanent_code_says_that_no_tool_lifts_it(job: Job, technician: Client) -> None:
    code = TroubleCodeReadFactory(job=job, state="permanent")
    told = text_of(technician.get(page_of(job)))
    assert "A permanent code: no tool and no battery job lifts it" in told
    assert "No code stands here that a tool can clear." in told
    code.state = "confirmed"
    code.save()
    assert "no battery job lifts it" not in text_of(technician.get(page_of(job)))


def test_status_byte_is_kept_from_hexadecimal(job: Job, technician: Client) -> None:
    code = TroubleCodeReadFactory(job=job)
    told = text_of(send(technician, job, "status", code=code.pk, status_byte="0x50"))
    assert "Status 50 : not known: the test has not completed since codes were cleared" in told
    assert TroubleCodeRead.objects.get().status_byte == 0x50


def test_status_byte_that_is_none_comes_back_with_its_code(job: Job, technician: Client) -> None:
    codes = [TroubleCodeReadFactory(job=job, code=each) for each in ("P2463", "P2002")]
    answer = send(technician, job, "status", code=codes[1].pk, status_byte="300")
    assert text_of(answer).count("one or two hexadecimal characters") == 1
    assert answer.content.count(b'value="300"') == 1
    assert set(TroubleCodeRead.objects.values_list("status_byte", flat=True)) == {None}


def test_status_of_a_code_of_another_job_is_not_found(job: Job, technician: Client) -> None:
    other = TroubleCodeReadFactory()
    assert send(technician, job, "status", code=other.pk, status_byte="08").status_code == 404


def test_clearing_is_kept_by_name_and_as_an_operation(job: Job, technician: Client) -> None:
    code = TroubleCodeReadFactory(job=job)
    told = text_of(send(technician, job, "clear", codes=[code.pk], name="A. Tester"))
    assert "The clearing is kept, as a clearing." in told
    assert "by A. Tester" in told
    assert "No code stands here that a tool can clear." in told
    assert Operation.objects.get(job=job).kind == OperationKind.CLEAR_CODES


def test_clearing_without_a_name_comes_back(job: Job, technician: Client) -> None:
    code = TroubleCodeReadFactory(job=job)
    answer = send(technician, job, "clear", codes=[code.pk], name=" ")
    assert b"This field is required" in answer.content
    assert not Operation.objects.filter(job=job).exists()


def test_none_stored_is_refused_with_what_to_do_until_tests_are_finished(
    job: Job, technician: Client
) -> None:
    told = text_of(send(technician, job, "none"))
    assert "says nothing until the vehicle's own tests are finished" in told
    FindingSeenFactory(job=job, finding="self_tests", state="finished")
    told = text_of(send(technician, job, "none"))
    assert "It is kept that none was stored." in told
    assert "The memory was read and empty" in told


def test_pasted_answers_are_told_and_nothing_is_kept(job: Job, technician: Client) -> None:
    answer = send(technician, job, "values")
    told = text_of(answer)
    assert "Distance since codes were cleared 300 km 31" in told
    assert "not finished: particulate filter" in told
    assert "NO DATA : no bytes in hexadecimal" in told
    assert "kept as distance since codes were cleared" in told.lower()
    assert leaks_in(answer) == []
    assert not Reading.objects.exists()


def test_values_chosen_are_kept_with_the_state_of_the_tests(job: Job, technician: Client) -> None:
    said = {"text": ANSWERS, "chosen": ["0"], "tests": "on", "phase": "arrival"}
    told = text_of(send(technician, job, "keep", **said))
    assert "The values are kept." in told
    kept = Reading.objects.get(job=job)
    assert (kept.quantity, kept.standard_value) == ("distance_since_clear", 300.0)
    assert FindingSeen.objects.get(job=job).state == "not_finished"


@pytest.mark.parametrize("chosen", [[], ["1"]])
def test_values_that_cannot_be_kept_come_back(
    job: Job, technician: Client, chosen: list[str]
) -> None:
    answer = send(technician, job, "keep", text=ANSWERS, chosen=chosen, phase="arrival")
    assert b'role="alert"' in answer.content or b"errorlist" in answer.content
    assert b"Keep what is ticked" in answer.content
    assert not Reading.objects.exists()


def test_reset_is_told_with_innocent_causes_first(job: Job, technician: Client) -> None:
    ReadingFactory(
        job=job, quantity="distance_since_clear", value="40", unit="km", condition="", layout=""
    )
    told = text_of(technician.get(page_of(job)))
    assert "Unexplained reset: 4 200 km driven between the visits, 40 km since" in told
    assert told.index("Innocent causes first") < told.index("Ask what was done between the visits")


@pytest.mark.parametrize("who", ["at_birch", "at_cedar", "stranger"])
@pytest.mark.parametrize("what", ["line", "values"])
def test_anothers_job_answers_as_none(
    scene: Scene, job: Job, client_of: ClientOf, who: str, what: str
) -> None:
    client = client_of(getattr(scene.cast, who))
    assert client.get(page_of(job)).status_code == 404
    assert send(client, job, what).status_code == 404
    assert not TroubleCodeRead.objects.exists()


def test_viewer_reads_and_asks_but_writes_nothing(
    scene: Scene, job: Job, client_of: ClientOf
) -> None:
    client = client_of(scene.cast.viewer)
    told = text_of(send(client, job, "values"))
    assert "300 km" in told
    assert "Keep the codes" not in told
    assert "Keep what is ticked" not in told
    assert send(client, job, "line").status_code == 403
    assert not TroubleCodeRead.objects.exists()


def test_unknown_form_is_not_found(job: Job, technician: Client) -> None:
    assert send(technician, job, "mood").status_code == 404


def test_page_of_evidence_leads_here(job: Job, technician: Client) -> None:
    assert page_of(job).encode() in technician.get(f"/jobs/{job.pk}/evidence/").content


@pytest.mark.parametrize("count", [3, 30])
def test_codes_read_as_often_whatever_was_read(job: Job, technician: Client, count: int) -> None:
    for number in range(count):
        TroubleCodeReadFactory(job=job, code=f"P24{number:02X}")
        visit(job.vehicle, date(2023, 1, 1 + number % 28), 100_000 + number, trouble_codes="P2463")
    assert queries_of(technician, page_of(job)) <= CODES
