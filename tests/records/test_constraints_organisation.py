"""What the database refuses of organisations and memberships."""

import pytest
from django.db import IntegrityError, transaction

from garage.records.choices import OrganisationKind, Role
from garage.records.models import Organisation
from tests.records.constraints import refused_by
from tests.records.factories import MembershipFactory, OrganisationFactory, UserFactory

pytestmark = pytest.mark.django_db


def test_organisation_code_is_given_once() -> None:
    OrganisationFactory(code="alder")
    OrganisationFactory(code="birch")
    with pytest.raises(IntegrityError, match="code"), transaction.atomic():
        OrganisationFactory(code="birch")


@pytest.mark.parametrize("kind", OrganisationKind.values)
def test_organisation_kind_known(kind: str) -> None:
    OrganisationFactory(kind=kind)
    with refused_by("organisation_kind_known"):
        OrganisationFactory(kind=kind + "s")


def test_organisation_sees_not_all_repairs_unless_it_says_so() -> None:
    assert Organisation.objects.get(pk=OrganisationFactory().pk).sees_all_repairs is False


@pytest.mark.parametrize("margin", [0.0, 1.0])
@pytest.mark.parametrize("fault", [-0.001, 1.001])
def test_organisation_verdict_margin_a_share(margin: float, fault: float) -> None:
    OrganisationFactory(verdict_margin=margin)
    with refused_by("organisation_verdict_margin_a_share"):
        OrganisationFactory(verdict_margin=fault)


def test_membership_once_per_organisation() -> None:
    alder, birch, person = OrganisationFactory(), OrganisationFactory(), UserFactory()
    MembershipFactory(user=person, organisation=alder)
    MembershipFactory(user=person, organisation=birch)
    MembershipFactory(user=UserFactory(), organisation=alder)
    with refused_by("membership_once_per_organisation"):
        MembershipFactory(user=person, organisation=alder, role=Role.VIEWER)


@pytest.mark.parametrize("role", Role.values)
def test_membership_role_known(role: str) -> None:
    MembershipFactory(role=role)
    with refused_by("membership_role_known"):
        MembershipFactory(role="apprentice")


@pytest.mark.parametrize("name", ["recheck_days", "recheck_km"])
def test_organisation_recheck_positive(name: str) -> None:
    OrganisationFactory(**{name: 1})
    with refused_by("organisation_recheck_positive"):
        OrganisationFactory(**{name: 0})


def test_organisation_keeps_personal_positive() -> None:
    OrganisationFactory(keep_personal_months=None)
    OrganisationFactory(keep_personal_months=1)
    with refused_by("organisation_keeps_personal_positive"):
        OrganisationFactory(keep_personal_months=0)
