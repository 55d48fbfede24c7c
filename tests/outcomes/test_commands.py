"""The commands part_life, comebacks, early_failures and report: tables, JSON, filters, refusals."""

import json
from datetime import date
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from garage.outcomes.filters import (
    comebacks_section,
    early_failures_section,
    part_life_section,
)
from garage.outcomes.models import ReportSnapshot
from garage.outcomes.report import report_make
from garage.outcomes.wire import Wire, report_to_wire
from garage.records.models import Organisation, PartKind, Vehicle
from tests.outcomes.conftest import Region
from tests.outcomes.histories import History, filter_kind, settle
from tests.records.factories import (
    FitmentFactory,
    JobFactory,
    OrganisationFactory,
    PartKindFactory,
)

COMMANDS = ["part_life", "comebacks", "early_failures"]
SECTIONS = {
    "part_life": part_life_section,
    "comebacks": comebacks_section,
    "early_failures": early_failures_section,
}


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Any:
    """Run a command and hand back what it printed."""

    def run(*words: str) -> str:
        capsys.readouterr()
        call_command(*words)
        return capsys.readouterr().out

    return run


def report(*organisations: Organisation, as_of: date = date(2018, 1, 5)) -> Wire:
    return report_to_wire(
        report_make(
            organisations=list(organisations or Organisation.objects.all()),
            part_kind=filter_kind(),
            as_of=as_of,
        )
    )


# --- JSON ---


@pytest.mark.parametrize("command", COMMANDS)
def test_json_is_the_section_of_the_report_up_to_the_newest_record(
    region: Region, run: Any, command: str
) -> None:
    told = json.loads(run(command, "--json"))
    assert told == SECTIONS[command](report())
    assert told["as_of"] == "2018-01-05"
    for sign in ("NaN", "Infinity"):
        assert sign not in run(command, "--json")


@pytest.mark.parametrize("command", COMMANDS)
def test_as_of_leaves_out_later_records(region: Region, run: Any, command: str) -> None:
    told = json.loads(run(command, "--json", "--as-of", "2016-03-01"))
    assert told == SECTIONS[command](report(as_of=date(2016, 3, 1)))
    assert told != json.loads(run(command, "--json"))


@pytest.mark.parametrize("command", COMMANDS)
def test_organisation_takes_its_records_alone_and_may_be_repeated(
    region: Region, run: Any, command: str
) -> None:
    one = json.loads(run(command, "--json", "--organisation", "birch-fleet"))
    assert one["organisations"] == ["birch-fleet"]
    both = ("--organisation", "birch-fleet", "--organisation", "alder-yard")
    assert run(command, "--json", *both) == run(command, "--json")


@pytest.mark.parametrize("command", COMMANDS)
def test_part_kind_takes_another_part_kind(region: Region, run: Any, command: str) -> None:
    PartKindFactory(code="injector", system="fuel", name="injector")
    told = json.loads(run(command, "--json", "--part-kind", "injector"))
    assert (told["part_kind"], told["system"]) == ("injector", "fuel")


def test_engine_family_and_origin_take_their_rows(region: Region, run: Any) -> None:
    told = json.loads(
        run("part_life", "--json", "--engine-family", "birch 20", "--origin", "cleaned")
    )
    assert [(row["engine_family"], row["origin"]) for row in told["part_life"]] == [
        ("Birch 20", "cleaned")
    ]
    told = json.loads(run("comebacks", "--json", "--engine-family", "Alder 16"))
    assert {row["engine_family"] for row in told["comebacks"]} == {"Alder 16"}
    told = json.loads(run("early_failures", "--json", "--engine-family", "Birch 20"))
    assert "Van 7" not in {flag["vehicle_ref"] for flag in told["early_failures"]["flags"]}


# --- tables ---


def test_part_life_is_a_table_with_the_account_of_lives(region: Region, run: Any) -> None:
    for _ in range(4):
        van = History(
            region.fleet,
            engine_family=region.ruined.vehicle.engine_family,
            watched_from_new=True,
        )
        van.service("2017-01-05", 90_000)
    settle()
    out = run("part_life")
    assert out.startswith("Part life: particulate filter, records to 2018-01-05")
    row = next(line for line in out.splitlines() if line.startswith("Alder 16"))
    assert row.split()[2:6] == ["factory", "expected", "11", "1"]
    assert "vehicles came again; 20 are needed to learn how they come and leave." in out
    assert "presumed" in out
    assert "Account of lives: 22 fitments are known" in out
    assert "birch-fleet sees all repairs of its vehicles." in out
    assert "of failures come here" in out
    assert "half fail by 320 000 km" in out
    assert max(len(line) for line in out.splitlines() if line.startswith("Alder")) < 200


def test_comebacks_are_a_table_of_operations(region: Region, run: Any) -> None:
    out = run("comebacks")
    rows = {line[:8]: line for line in out.splitlines()}
    assert rows["replace "].split()[1:3] == ["3", "2"]
    assert "7 days" in out
    assert "20 000 km" in out
    assert "burn while driving" in out


def test_early_failures_tell_one_entry_a_vehicle(region: Region, run: Any) -> None:
    out = run("early_failures")
    assert "EARLY REPEAT FAILURE  Van 7 (alder-yard), Alder 16" in out
    assert "3 failures in" in out
    assert "likelier cause:" in out


@pytest.mark.parametrize("command", COMMANDS)
def test_a_table_says_so_where_there_is_nothing_to_show(
    region: Region, run: Any, command: str
) -> None:
    PartKindFactory(code="injector", system="fuel", name="injector")
    out = run(command, "--part-kind", "injector")
    assert {
        "part_life": "No part life can be given yet",
        "comebacks": "No closed unplanned job on this system yet.",
        "early_failures": "no life was watched",
    }[command] in out


# --- refusals ---


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--organisation", "cedar"), "got cedar"),
        (("--engine-family", "Cedar 9"), "got 'Cedar 9'. Known: Alder 16, Birch 20"),
        (("--part-kind", "alternator"), "got 'alternator'. Known: "),
        (("--as-of", "2018-13-01"), "must be a date such as 2025-12-31; got '2018-13-01'"),
        (("--origin", "homemade"), "invalid choice: 'homemade'"),
    ],
)
def test_what_is_not_known_is_refused_by_name(
    region: Region, command: str, words: tuple[str, ...], said: str
) -> None:
    with pytest.raises(CommandError) as refusal:
        call_command(command, *words)
    assert said in str(refusal.value)


@pytest.mark.parametrize("command", COMMANDS)
def test_without_records_it_says_what_to_do(db: None, command: str) -> None:
    OrganisationFactory(code="alder-yard")
    with pytest.raises(CommandError, match=r"no records yet.*import_history.*load_demo"):
        call_command(command)


def test_comebacks_are_not_counted_by_origin_and_say_so(region: Region) -> None:
    with pytest.raises(CommandError, match="counted by operation"):
        call_command("comebacks", "--origin", "factory")


# --- the whole report ---


def test_report_prints_all_three_and_keeps_the_report(region: Region, run: Any) -> None:
    out = run("report")
    places = [out.index(start) for start in ("Early failures:", "Part life:", "Comebacks:")]
    assert places == sorted(places)
    kept = ReportSnapshot.objects.get()
    assert kept.report == report()
    assert run("report") == out
    assert ReportSnapshot.objects.get().made_at == kept.made_at


def test_report_is_of_the_filter_and_names_the_other_parts(region: Region, run: Any) -> None:
    vehicle = Vehicle.objects.filter(organisation=region.workshop).first()
    for code in ("turbocharger", "injector", "injector"):
        job = JobFactory(vehicle=vehicle)
        FitmentFactory(
            vehicle=vehicle,
            part_kind=PartKind.objects.get(code=code),
            fitted_at=job,
            position=job.ref,
        )
    out = run("report")
    assert "Early failures: particulate filter" in out
    assert "Early failures: injector" not in out
    assert "Also followed: injector, turbocharger." in out
    assert ReportSnapshot.objects.count() == 1


def test_report_without_records_says_what_to_do(db: None, run: Any) -> None:
    out = run("report")
    assert "There are no records yet" in out
    assert "add_organisation" in out
    assert not ReportSnapshot.objects.exists()
