"""Rows of the records for tests: each factory makes the least that the constraints allow."""

from datetime import date
from decimal import Decimal

import factory
from django.contrib.auth import get_user_model
from factory.django import DjangoModelFactory

from garage.records.choices import (
    DistanceUnit,
    FitmentStart,
    OperationKind,
    OrganisationKind,
    Origin,
    ReadingSource,
    Role,
    System,
)
from garage.records.distance import to_km
from garage.records.models import (
    ClusterReplacement,
    EngineFamily,
    EngineFamilyAlias,
    Fitment,
    Job,
    Membership,
    OdometerReading,
    Operation,
    Organisation,
    OwnNormalLife,
    PartKind,
    RegistrationMark,
    Vehicle,
)


def invented_vin(number: int) -> str:
    """A VIN of the right form whose maker code begins with the unassigned region 0."""
    return f"0ABTEST00{number:08d}"


class UserFactory(DjangoModelFactory):
    class Meta:
        model = get_user_model()

    username = factory.Sequence(lambda n: f"member{n}")


class OrganisationFactory(DjangoModelFactory):
    class Meta:
        model = Organisation

    code = factory.Sequence(lambda n: f"workshop-{n}")
    name = factory.LazyAttribute(lambda row: f"Workshop {row.code}")
    kind = OrganisationKind.WORKSHOP


class MembershipFactory(DjangoModelFactory):
    class Meta:
        model = Membership

    user = factory.SubFactory(UserFactory)
    organisation = factory.SubFactory(OrganisationFactory)
    role = Role.TECHNICIAN


class EngineFamilyFactory(DjangoModelFactory):
    class Meta:
        model = EngineFamily

    # No number that a test names by hand.
    name = factory.Sequence(lambda n: f"Hazel {1000 + n}")
    reviewed = True


class EngineFamilyAliasFactory(DjangoModelFactory):
    class Meta:
        model = EngineFamilyAlias

    family = factory.SubFactory(EngineFamilyFactory)
    name = factory.Sequence(lambda n: f"H{1000 + n}-TD")


class PartKindFactory(DjangoModelFactory):
    """A part kind of its own code; the particulate filter is in the catalogue already."""

    class Meta:
        model = PartKind
        django_get_or_create = ("code",)

    code = factory.Sequence(lambda n: f"part_{n}")
    name = factory.LazyAttribute(lambda row: row.code.replace("_", " "))
    system = System.EXHAUST_AFTERTREATMENT


class OwnNormalLifeFactory(DjangoModelFactory):
    class Meta:
        model = OwnNormalLife

    organisation = factory.SubFactory(OrganisationFactory)
    part_kind = factory.SubFactory(PartKindFactory)
    origin = Origin.FACTORY
    median_km = 300_000
    source = "invented for a test"


class VehicleFactory(DjangoModelFactory):
    class Meta:
        model = Vehicle

    organisation = factory.SubFactory(OrganisationFactory)
    ref = factory.Sequence(lambda n: f"V{n:05d}")
    engine_family = factory.SubFactory(EngineFamilyFactory)


class RegistrationMarkFactory(DjangoModelFactory):
    class Meta:
        model = RegistrationMark

    vehicle = factory.SubFactory(VehicleFactory)
    mark = factory.Sequence(lambda n: f"QX {n:04d}")
    mark_key = factory.LazyAttribute(
        lambda row: "".join(sign for sign in row.mark.upper() if sign.isalnum())
    )


class JobFactory(DjangoModelFactory):
    class Meta:
        model = Job

    vehicle = factory.SubFactory(VehicleFactory)
    organisation = factory.SelfAttribute("vehicle.organisation")
    ref = factory.Sequence(lambda n: f"J{n:06d}")
    opened_on = date(2024, 5, 6)
    planned = False
    system = System.EXHAUST_AFTERTREATMENT


class OperationFactory(DjangoModelFactory):
    class Meta:
        model = Operation

    job = factory.SubFactory(JobFactory)
    line = factory.LazyAttribute(lambda row: row.job.operations.count() + 1 if row.job.pk else 1)
    kind = OperationKind.INSPECT
    system = factory.SelfAttribute("job.system")


class OdometerReadingFactory(DjangoModelFactory):
    class Meta:
        model = OdometerReading

    vehicle = factory.SubFactory(VehicleFactory)
    read_on = date(2024, 5, 6)
    typed = Decimal(120_000)
    unit = DistanceUnit.KM
    source = ReadingSource.INSPECTION
    km = factory.LazyAttribute(lambda row: to_km(Decimal(row.typed), row.unit))


class ClusterReplacementFactory(DjangoModelFactory):
    class Meta:
        model = ClusterReplacement

    vehicle = factory.SubFactory(VehicleFactory)
    done_on = date(2024, 5, 6)
    typed_offset = Decimal(100_000)
    unit = DistanceUnit.KM
    offset_km = factory.LazyAttribute(lambda row: to_km(Decimal(row.typed_offset), row.unit))


class FitmentFactory(DjangoModelFactory):
    """A part found in place, its fitting not known; give `start` and `fitted_at` for more."""

    class Meta:
        model = Fitment

    vehicle = factory.SubFactory(VehicleFactory)
    part_kind = factory.SubFactory(PartKindFactory, code="particulate_filter")
    start = FitmentStart.UNKNOWN
