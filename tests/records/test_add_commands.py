"""`add_organisation` and `add_part_kind`: what they record, what they refuse."""

import pytest
from django.core.management import CommandError, call_command

from garage.records.models import AuditEntry, Fitment, Operation, Organisation, PartKind
from tests.records.factories import (
    JobFactory,
    OperationFactory,
    OrganisationFactory,
    PartKindFactory,
    VehicleFactory,
)

pytestmark = pytest.mark.django_db


def test_organisation_is_added(capsys: pytest.CaptureFixture[str]) -> None:
    call_command("add_organisation", "birch-lane", "--kind", "workshop")
    organisation = Organisation.objects.get()
    assert (organisation.code, organisation.name, organisation.kind) == (
        "birch-lane",
        "birch-lane",
        "workshop",
    )
    assert organisation.sees_all_repairs is False
    assert "import_history --organisation birch-lane" in capsys.readouterr().out


def test_fleet_that_sees_all_repairs_is_added() -> None:
    call_command(
        "add_organisation",
        "cedar",
        "--kind",
        "fleet",
        "--sees-all-repairs",
        "--name",
        "Cedar Rounds",
    )
    organisation = Organisation.objects.get()
    assert (organisation.name, organisation.kind) == ("Cedar Rounds", "fleet")
    assert organisation.sees_all_repairs is True


def test_organisation_is_added_once() -> None:
    OrganisationFactory(code="birch-lane")
    with pytest.raises(CommandError, match="one code belongs to one organisation") as refusal:
        call_command("add_organisation", "birch-lane", "--kind", "workshop")
    assert refusal.value.returncode == 2
    assert Organisation.objects.count() == 1


@pytest.mark.parametrize("code", ["", "Birch", "birch lane", "-birch", "birch-", "é", "x" * 41])
def test_code_of_another_form_is_refused(code: str) -> None:
    with pytest.raises(CommandError, match="a code has 1 to 40 small letters"):
        call_command("add_organisation", "--kind", "workshop", "--", code)
    assert not Organisation.objects.exists()


@pytest.mark.parametrize(
    "arguments",
    [["birch"], ["birch", "--kind", "shop"]],
)
def test_organisation_without_a_known_kind_is_refused(arguments: list[str]) -> None:
    with pytest.raises(CommandError, match="--kind"):
        call_command("add_organisation", *arguments)


def test_long_name_is_refused() -> None:
    with pytest.raises(CommandError, match="at most 120 characters"):
        call_command("add_organisation", "birch", "--kind", "workshop", "--name", "x" * 121)


def test_part_kind_is_added_with_what_is_known() -> None:
    call_command(
        "add_part_kind",
        "supercharger",
        "--system=air",
        "--name=Super charger",
        "--normal-life-km=250000",
        "--source=maker's handbook, page 4",
        "--fitted-from-new",
    )
    part_kind = PartKind.objects.get(code="supercharger")
    assert (part_kind.system, part_kind.name) == ("air", "Super charger")
    assert (part_kind.normal_life_km, part_kind.normal_life_source) == (
        250_000,
        "maker's handbook, page 4",
    )
    assert part_kind.fitted_from_new is True


def test_part_kind_that_is_added_stands_in_every_trail() -> None:
    organisations = {OrganisationFactory().pk, OrganisationFactory().pk}
    call_command("add_part_kind", "charge_cooler", "--system", "recirculation")
    told = AuditEntry.objects.values_list("organisation", "verb", "changes__code__1")
    assert set(told) == {(each, "add", "charge_cooler") for each in organisations}


def test_part_kind_is_added_with_the_least() -> None:
    call_command("add_part_kind", "charge_cooler", "--system", "recirculation")
    part_kind = PartKind.objects.get(code="charge_cooler")
    assert (part_kind.name, part_kind.normal_life_km, part_kind.normal_life_source) == (
        "charge cooler",
        None,
        "",
    )
    assert part_kind.fitted_from_new is False


def test_part_kind_that_wears_by_time_and_place_is_added() -> None:
    call_command(
        "add_part_kind",
        "heater_plug",
        "--system=ignition_aid",
        "--wears-by=both",
        "--normal-life-months=120",
        "--source=maker's handbook, page 9",
        "--position=Cyl  1",
        "--position=cyl 2",
        "--failed-means=Open circuit.",
    )
    part_kind = PartKind.objects.get(code="heater_plug")
    assert (part_kind.wears_by, part_kind.normal_life_months) == ("both", 120)
    assert part_kind.positions == ["cyl 1", "cyl 2"]
    assert part_kind.failed_means == "Open circuit."


def test_catalogue_says_of_every_part_how_it_wears_and_what_counts_as_failed() -> None:
    kinds = list(PartKind.objects.all())
    assert {"particulate_filter", "pressure_sensor", "egr_valve", "glow_plug"} <= {
        kind.code for kind in kinds
    }
    for kind in kinds:
        assert kind.failed_means
        assert kind.normal_life_km is not None
        assert kind.normal_life_source
        assert (kind.normal_life_months is None) == (kind.wears_by == "km")


def test_normal_life_without_source_says_so() -> None:
    call_command("add_part_kind", "battery", "--system=electrical", "--normal-life-km=150000")
    assert "no source named" in PartKind.objects.get(code="battery").normal_life_source


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--normal-life-km=0"], "1 to 10000000 km"),
        (["--normal-life-km=10000001"], "1 to 10000000 km"),
        (["--source=handbook"], "belongs to a normal life"),
        ([f"--name={'x' * 81}"], "at most 80 characters"),
        (["--normal-life-km=1", f"--source={'x' * 201}"], "at most 200 characters"),
        (["--normal-life-km=many"], "invalid int value"),
        (["--wears-by=months", "--normal-life-months=601"], "1 to 600 months"),
        (["--normal-life-months=12"], "wears by time"),
        ([f"--position={'x' * 41}"], "1 to 40 characters"),
        (["--position= "], "1 to 40 characters"),
        ([f"--failed-means={'x' * 301}"], "at most 300 characters"),
    ],
)
def test_part_kind_that_does_not_hold_is_refused(options: list[str], said: str) -> None:
    with pytest.raises(CommandError, match=said):
        call_command("add_part_kind", "battery", "--system=electrical", *options)
    assert not PartKind.objects.filter(code="battery").exists()


def test_part_kind_is_added_once_and_of_a_known_system() -> None:
    PartKindFactory(code="battery")
    with pytest.raises(CommandError, match="one code belongs to one part kind"):
        call_command("add_part_kind", "battery", "--system=electrical")
    with pytest.raises(CommandError, match="--system"):
        call_command("add_part_kind", "gearbox", "--system=chassis")


def test_operations_that_named_the_part_before_are_joined_to_it() -> None:
    named = OperationFactory(kind="replace", part_named="Battery", system="electrical")
    other = OperationFactory(kind="replace", part_named="battery clamp", system="electrical")
    call_command("add_part_kind", "battery", "--system=electrical")
    part_kind = PartKind.objects.get(code="battery")
    named.refresh_from_db()
    other.refresh_from_db()
    assert (named.part_kind, named.part_named) == (part_kind, "")
    assert (other.part_kind, other.part_named) == (None, "battery clamp")
    assert set(Fitment.objects.values_list("vehicle", "part_kind")) == {
        (named.job.vehicle_id, part_kind.pk)
    }
    assert Fitment.objects.count() == 2  # the one removed and the one fitted


@pytest.mark.parametrize("from_new", [True, False])
def test_part_fitted_from_new_is_in_vehicles_watched_from_new(from_new: bool) -> None:
    watched = VehicleFactory(watched_from_new=True)
    VehicleFactory(watched_from_new=False)
    VehicleFactory(watched_from_new=None)
    options = ["--fitted-from-new"] if from_new else []
    call_command("add_part_kind", "battery", "--system=electrical", *options)
    fitted = Fitment.objects.filter(part_kind__code="battery").values_list("vehicle", flat=True)
    assert list(fitted) == ([watched.pk] if from_new else [])


def test_refused_part_kind_leaves_operations_alone() -> None:
    PartKindFactory(code="battery")
    operation = OperationFactory(job=JobFactory(), part_named="battery")
    with pytest.raises(CommandError):
        call_command("add_part_kind", "battery", "--system=electrical")
    assert Operation.objects.get(pk=operation.pk).part_named == "battery"
