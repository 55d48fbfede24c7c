"""The page of a workshop's instruments: added, changed, and confirmed units taken back."""

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client

from garage.records.models import Instrument, UnitConfirmed
from tests.api.scene import Scene
from tests.pages.conftest import ClientOf
from tests.pages.reading import leaks_in, text_of
from tests.records.evidence_factories import (
    InstrumentFactory,
    ReadingFactory,
    UnitConfirmedFactory,
)
from tests.records.factories import JobFactory

PAGE = "/instruments/"


def gauge_sent(scene: Scene, prefix: str = "new", **changed: Any) -> dict[str, Any]:
    sent = {
        "organisation": scene.cast.alder.pk,
        "name": "pump gauge",
        "unit": "mbar",
        "resolution": "0.5",
        "accuracy_share": "1",
        "calibrated_on": "2026-01-05",
        **changed,
    }
    return {f"{prefix}-{name}": value for name, value in sent.items()}


def test_instrument_is_added_from_the_page(scene: Scene, technician: Client) -> None:
    told = text_of(technician.post(PAGE, gauge_sent(scene), follow=True))
    assert "The instrument is kept." in told
    assert "Shows mbar in steps of 0.5 . Largest error: 1 % of the reading" in told
    kept = Instrument.objects.get()
    assert (kept.organisation, kept.accuracy_share) == (scene.cast.alder, 0.01)


def test_what_is_not_known_of_it_says_so(scene: Scene, technician: Client) -> None:
    InstrumentFactory(organisation=scene.cast.alder, name="old reader")
    answer = technician.get(PAGE)
    told = text_of(answer)
    assert "Shows bare numbers. Largest error: not known. Calibration not known." in told
    assert "No unit is confirmed." in told
    assert leaks_in(answer) == []


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"unit": "stone"}, "an instrument's unit is one that is known here"),
        ({"accuracy_share": "100"}, "0 to below 100 % of the reading; got 100"),
        ({"resolution": "0"}, "resolution is above 0"),
        ({"name": "Old Reader"}, "each instrument has a name of its own"),
    ],
)
def test_instrument_refused_comes_back_filled(
    scene: Scene, technician: Client, changed: dict[str, str], words: str
) -> None:
    InstrumentFactory(organisation=scene.cast.alder, name="old reader")
    answer = technician.post(PAGE, gauge_sent(scene, **changed))
    assert words in text_of(answer)
    assert b'value="2026-01-05"' in answer.content
    assert Instrument.objects.count() == 1


def test_instrument_is_changed_and_a_refused_change_comes_back_in_its_place(
    scene: Scene, technician: Client
) -> None:
    kept = InstrumentFactory(organisation=scene.cast.alder, name="old reader")
    prefix = f"instrument-{kept.pk}"
    sent = gauge_sent(scene, prefix, unit="stone")
    answer = technician.post(f"{PAGE}{kept.pk}/", sent)
    assert "known here" in text_of(answer)
    assert b"<details open>" in answer.content
    technician.post(f"{PAGE}{kept.pk}/", {**sent, f"{prefix}-unit": "kPa"})
    kept.refresh_from_db()
    assert (kept.name, kept.unit, kept.resolution) == ("pump gauge", "kPa", Decimal("0.5"))
    # Sent back unchanged, the form changes nothing.
    answer = technician.get(PAGE)
    assert b'value="0.5"' in answer.content
    assert b'value="1"' in answer.content


def test_unit_is_taken_back(scene: Scene, technician: Client) -> None:
    job = JobFactory(vehicle__organisation=scene.cast.alder)
    display = InstrumentFactory(organisation=scene.cast.alder)
    reading = ReadingFactory(
        job=job, instrument=display, unit="", value=Decimal("4.8"), standard_value=48.0
    )
    kept = UnitConfirmedFactory(instrument=display)
    assert "Pressure across the filter: kPa on every vehicle" in text_of(technician.get(PAGE))
    told = text_of(technician.post(f"{PAGE}units/{kept.pk}/back/", follow=True))
    assert "The unit is taken back; 1 reading changed by it." in told
    reading.refresh_from_db()
    assert reading.standard_value is None


@pytest.mark.parametrize("who", ["at_birch", "stranger"])
def test_anothers_instruments_answer_as_none(scene: Scene, client_of: ClientOf, who: str) -> None:
    kept = InstrumentFactory(organisation=scene.cast.alder, name="old reader")
    unit = UnitConfirmedFactory(instrument=kept)
    client = client_of(getattr(scene.cast, who))
    assert "old reader" not in text_of(client.get(PAGE)).lower()
    assert client.post(f"{PAGE}{kept.pk}/", {}).status_code == 404
    assert client.post(f"{PAGE}units/{unit.pk}/back/").status_code == 404
    assert UnitConfirmed.objects.exists()


def test_viewer_reads_but_writes_nothing(scene: Scene, client_of: ClientOf) -> None:
    kept = InstrumentFactory(organisation=scene.cast.alder, name="old reader")
    unit = UnitConfirmedFactory(instrument=kept)
    client = client_of(scene.cast.viewer)
    told = text_of(client.get(PAGE))
    assert "Old reader" in told
    assert "Add an instrument" not in told
    assert client.post(f"{PAGE}{kept.pk}/", {}).status_code == 403
    assert client.post(f"{PAGE}units/{unit.pk}/back/").status_code == 403
    client.post(PAGE, gauge_sent(scene))
    assert Instrument.objects.count() == 1


def test_member_of_two_says_for_whom_and_sees_whose(scene: Scene, client_of: ClientOf) -> None:
    client = client_of(scene.cast.at_both)
    client.post(PAGE, gauge_sent(scene, organisation=scene.cast.birch.pk))
    assert Instrument.objects.get().organisation == scene.cast.birch
    assert scene.cast.birch.name in text_of(client.get(PAGE))


@pytest.mark.parametrize("count", [3, 30])
def test_asks_as_often_whatever_is_kept(
    scene: Scene, technician: Client, count: int, django_assert_max_num_queries: Any
) -> None:
    for number in range(count):
        UnitConfirmedFactory(
            instrument=InstrumentFactory(organisation=scene.cast.alder, name=f"reader {number}")
        )
    with django_assert_max_num_queries(12):
        technician.get(PAGE)
