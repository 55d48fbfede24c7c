"""Job lines on their pages: the queue, an answer, several, nothing, and taking it back."""

import re
from datetime import UTC, datetime

import pytest
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext

from garage.records.models import LineAnswer, LineToReview
from garage.records.services.job_lines import lines_queue
from tests.api.scene import Scene
from tests.pages.conftest import ClientOf
from tests.pages.reading import leaks_in, text_of
from tests.records.job_lines.lines import unread

#: Queries of the queue, whether few lines wait or many.
QUEUE = 8


AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


def waiting(scene: Scene, *texts: str) -> list[LineToReview]:
    lines = [unread(text, 50 - nth) for nth, text in enumerate(texts)]
    lines_queue(organisation=scene.cast.alder, lines=lines, at=AT)
    return list(LineToReview.objects.order_by("-seen"))


def row(nth: int = 0, **said: str) -> dict[str, str]:
    return {f"means-{nth}-{name}": value for name, value in said.items()}


def rows(*each: dict[str, str]) -> dict[str, str]:
    said = {"means-TOTAL_FORMS": str(len(each)), "means-INITIAL_FORMS": "0"}
    for nth, one in enumerate(each):
        said |= row(nth, **one)
    return said


CLEANED = {
    "status": "done",
    "operation": "clean_off_vehicle",
    "part_kind": "particulate_filter",
}


def test_queue_shows_the_commonest_first_with_guess_and_question(
    scene: Scene, alder: Client
) -> None:
    waiting(scene, "regen done", "DPF cleaned")
    answer = alder.get("/job-lines/")
    told = text_of(answer)
    assert told.index("regen done") < told.index("DPF cleaned")
    assert "burned free at standstill or while driving?" in told
    assert "particulate filter: Was it cleaned on the vehicle or off it?" in told
    assert leaks_in(answer) == []


def test_queue_without_lines_says_so(scene: Scene, alder: Client) -> None:
    assert "No line waits" in text_of(alder.get("/job-lines/"))
    assert "Nothing has been learnt" in text_of(alder.get("/job-lines/answers/"))


def test_line_is_answered_learnt_and_taken_back(scene: Scene, technician: Client) -> None:
    (line,) = waiting(scene, "DPF cleaned")
    answer = technician.post(f"/job-lines/{line.pk}/", rows(CLEANED), follow=True)
    assert "That is learnt" in text_of(answer)
    learnt = LineAnswer.objects.get()
    assert (learnt.operation, learnt.part_kind.code) == ("clean_off_vehicle", "particulate_filter")

    answers = technician.get("/job-lines/answers/")
    assert "done: clean off the vehicle, particulate filter" in text_of(answers)
    assert leaks_in(answers) == []

    technician.post(f"/job-lines/answers/{learnt.pk}/back/")
    assert not LineAnswer.objects.exists()
    assert "dpf cleaned" in text_of(technician.get("/job-lines/"))


def test_one_of_two_operations_is_one_tap(scene: Scene, technician: Client) -> None:
    """The form that the button sends answers the whole line, with what was understood of it."""
    (line,) = waiting(scene, "DPF cleaned, turbo replaced")
    sent = _forms(technician.get("/job-lines/"))["Clean off the vehicle"]
    technician.post(f"/job-lines/{line.pk}/", sent)
    learnt = LineAnswer.objects.values_list("operation", "part_kind__code")
    assert set(learnt) == {
        ("clean_off_vehicle", "particulate_filter"),
        ("replace", "turbocharger"),
    }


def test_what_was_not_asked_with_two_choices_has_no_tap(scene: Scene, technician: Client) -> None:
    waiting(scene, "DPF cleaned and regen done", "filter sensor replaced")
    assert _forms(technician.get("/job-lines/")) == {}


def _forms(answer: HttpResponse) -> dict[str, dict[str, str]]:
    """What each button with hidden answers sends, by its label."""
    found = {}
    for form in re.findall(r"<form.*?</form>", answer.content.decode(), re.DOTALL):
        hidden = dict(re.findall(r'type="hidden" name="(means-[^"]+)" value="([^"]*)"', form))
        label = re.search(r"<button>([^<]*)<", form)
        if "means-0-operation" in hidden and label:
            found[label[1]] = hidden
    return found


def test_line_may_tell_of_several_things(scene: Scene, technician: Client) -> None:
    (line,) = waiting(scene, "DPF cleaned and something")
    advised = {"status": "advised", "operation": "replace", "part_kind": "turbocharger"}
    technician.post(f"/job-lines/{line.pk}/", rows(CLEANED, advised, {"status": ""}))
    assert list(LineAnswer.objects.values_list("status", flat=True)) == ["done", "advised"]


def test_line_may_be_nothing_to_record(scene: Scene, technician: Client) -> None:
    (line,) = waiting(scene, "DPF cleaned")
    technician.post(f"/job-lines/{line.pk}/", {"nothing": "yes"})
    assert "nothing to record" in text_of(technician.get("/job-lines/answers/"))


@pytest.mark.parametrize(
    ("said", "words"),
    [
        (rows(CLEANED | {"operation": ""}), "names its operation"),
        (rows({"status": ""}), "Say what the line tells of"),
    ],
)
def test_answer_that_says_too_little_is_refused(
    scene: Scene, technician: Client, said: dict[str, str], words: str
) -> None:
    (line,) = waiting(scene, "DPF cleaned")
    assert words in text_of(technician.post(f"/job-lines/{line.pk}/", said))
    assert not LineAnswer.objects.exists()


def test_viewer_reads_and_stranger_finds_nothing(scene: Scene, client_of: ClientOf) -> None:
    (line,) = waiting(scene, "DPF cleaned")
    viewer, stranger = client_of(scene.cast.viewer), client_of(scene.cast.stranger)
    assert "It means this" not in text_of(viewer.get("/job-lines/"))
    assert viewer.post(f"/job-lines/{line.pk}/", rows(CLEANED)).status_code == 403
    assert "DPF cleaned" not in text_of(stranger.get("/job-lines/"))
    assert stranger.post(f"/job-lines/{line.pk}/", rows(CLEANED)).status_code == 404
    assert not LineAnswer.objects.exists()


@pytest.mark.parametrize("lines", [3, 15])
def test_queue_asks_the_database_as_often_for_many_lines(
    scene: Scene, alder: Client, lines: int
) -> None:
    waiting(scene, *(f"regen done by person {'abcdefghijklmnopq'[nth]}" for nth in range(lines)))
    with CaptureQueriesContext(connection) as asked:
        alder.get("/job-lines/")
    assert len(asked) == QUEUE
