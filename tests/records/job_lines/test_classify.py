"""One line at a time: what is read, what is asked, what never lands."""

import tomllib
from pathlib import Path

import pytest

from garage.records.choices import LineStatus, OperationKind
from garage.records.job_lines.classify import lines_classify, phrase_classify
from garage.records.job_lines.folding import LONGEST, phrase_fold
from garage.records.job_lines.lexicon import LexiconInvalid, lexicon, lexicon_made
from garage.records.job_lines.results import ACCEPTANCE, LineResult, Question


def one(text: str) -> LineResult:
    (result,) = lines_classify(text, {})
    return result


def test_cleaning_without_a_place_is_asked_and_does_not_land() -> None:
    assert one("DPF cleaned").ask is Question.PLACE
    assert not one("DPF cleaned").lands
    assert one("DPF cleaned off vehicle").operation == OperationKind.CLEAN_OFF_VEHICLE
    assert one("DPF cleaned in situ").operation == OperationKind.CLEAN_ON_VEHICLE


def test_burn_without_a_kind_is_asked() -> None:
    assert one("regen carried out").ask is Question.BURN
    assert one("static regen carried out").operation == OperationKind.REGENERATE_STATIONARY
    assert one("regen carried out on motorway").operation == OperationKind.REGENERATE_DRIVING


def test_broken_off_burn_is_a_burn() -> None:
    result = one("static regen aborted")

    assert result.lands
    assert result.operation == OperationKind.REGENERATE_STATIONARY


@pytest.mark.parametrize(
    "text",
    ["dpf delete", "DPF gutted", "egr blanked off", "egr delete and remap", "dpf mapped out"],
)
def test_taking_an_emission_part_out_of_use_is_for_a_person(text: str) -> None:
    results = lines_classify(text, {})

    assert Question.REMOVAL in {each.ask for each in results}
    assert not any(each.lands for each in results)


def test_deleted_codes_are_cleared_codes() -> None:
    assert one("deleted fault codes").operation == OperationKind.CLEAR_CODES


@pytest.mark.parametrize(
    ("text", "status"),
    [
        ("DPF replaced", LineStatus.DONE),
        ("DPF not replaced", LineStatus.NEGATED),
        ("no need to replace DPF", LineStatus.NEGATED),
        ("advise DPF replaced", LineStatus.ADVISED),
        ("quoted DPF replacement", LineStatus.QUOTED),
        ("new DPF ordered", LineStatus.ORDERED),
        ("customer declined DPF replacement", LineStatus.DECLINED),
    ],
)
def test_status_is_what_lets_it_land(text: str, status: LineStatus) -> None:
    result = one(text)

    assert (result.status, result.operation) == (status, OperationKind.REPLACE)
    assert result.lands == (status == LineStatus.DONE)


def test_each_numbered_position_is_a_result() -> None:
    results = lines_classify("replaced injectors 1 and 3", {})

    assert [each.position for each in results] == ["cyl 1", "cyl 3"]


def test_finding_alone_is_nothing_done() -> None:
    assert lines_classify("DPF blocked", {}) == ()


def test_unknown_words_take_it_below_acceptance() -> None:
    assert one("frobbed the wibble quux zork with DPF replaced blarg").confidence < ACCEPTANCE
    assert one("DPF replaced").confidence >= ACCEPTANCE


def test_answer_wins_over_the_words() -> None:
    answered = (LineResult(LineStatus.DONE, OperationKind.INSPECT, "turbocharger"),)

    assert lines_classify("DPF, replaced 120.00", {"dpf , replaced": answered}) == answered
    assert lines_classify("DPF, replaced", {"dpf , replaced": ()}) == ()


def test_money_hours_and_spelling_of_signs_fold_alike() -> None:
    folded = {
        phrase_fold(text)
        for text in (
            "R&R DPF 2.5 hrs £410.00",
            "r & r  dpf",
            "R+R DPF - 3 hours @ 65.00",
            "R/R dpf.",
        )
    }

    assert folded == {"rr dpf"}


def test_fold_is_bounded_and_folds_to_itself() -> None:
    folded = phrase_fold("replaced injector " * 60)

    assert len(folded) <= LONGEST
    assert phrase_fold(folded) == folded


@pytest.mark.parametrize(
    "text", ["", "   ", "...", "£12.00", "&&&", "漢字", "no", "and and", "x 4", "1 2 3"]
)
def test_lines_without_words_say_nothing(text: str) -> None:
    assert lines_classify(text, {}) == ()


def test_lexicon_refuses_a_phrase_of_two_meanings_and_unknown_codes(repo: Path) -> None:
    file = repo / "garage/records/job_lines/lexicon.toml"
    data = tomllib.loads(file.read_text(encoding="utf-8"))
    lexicon_made(data)

    data["acts"]["repair"].append("renew")
    with pytest.raises(LexiconInvalid, match="'renew' is act replace and act repair"):
        lexicon_made(data)

    data["acts"]["repair"].remove("renew")
    data["acts"]["mangle"] = ["mangle"]
    with pytest.raises(LexiconInvalid, match="'mangle' is not an act"):
        lexicon_made(data)


@pytest.mark.django_db
def test_parts_of_the_lexicon_are_the_catalogues() -> None:
    from garage.records.models import PartKind

    catalogue = dict(PartKind.objects.values_list("code", "system"))
    named = {
        sense.value: sense.system
        for sense in lexicon().phrases.values()
        if sense.role.name == "PART" and sense.value
    }

    assert named == catalogue


def test_phrase_is_read_once() -> None:
    phrase_classify.cache_clear()
    for _ in range(3):
        lines_classify("DPF replaced", {})

    assert phrase_classify.cache_info().hits == 2
