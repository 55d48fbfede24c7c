"""A vehicle as one organisation knows it, and its registration marks over time."""

from django.db import models

from garage.records.choices import Duty, EndedBecause
from garage.records.models.engine_family import EngineFamily
from garage.records.models.organisation import Organisation


class Vehicle(models.Model):
    organisation = models.ForeignKey(
        Organisation, on_delete=models.CASCADE, related_name="vehicles"
    )
    ref = models.CharField(max_length=60, help_text="The organisation's own name for it.")
    vin = models.CharField(max_length=17, blank=True)
    engine_family = models.ForeignKey(
        EngineFamily, null=True, blank=True, on_delete=models.PROTECT, related_name="vehicles"
    )
    first_used_on = models.DateField(null=True, blank=True)
    watched_from_new = models.BooleanField(
        null=True,
        help_text="The organisation has seen this vehicle since it was new. Empty: not known.",
    )
    duty = models.CharField(max_length=10, blank=True, choices=Duty.choices)
    ended_on = models.DateField(null=True, blank=True)
    ended_because = models.CharField(max_length=10, blank=True, choices=EndedBecause.choices)
    erased_on = models.DateField(
        null=True, blank=True, help_text="Personal data of this vehicle was erased on this day."
    )

    class Meta:
        ordering = ["organisation_id", "ref"]
        constraints = [
            models.UniqueConstraint(
                fields=["organisation", "ref"], name="vehicle_ref_once_per_organisation"
            ),
            models.UniqueConstraint(
                fields=["organisation", "vin"],
                condition=~models.Q(vin=""),
                name="vehicle_vin_once_per_organisation",
            ),
            models.CheckConstraint(condition=~models.Q(ref=""), name="vehicle_ref_given"),
            models.CheckConstraint(
                condition=models.Q(vin="") | models.Q(vin__regex=r"^[0-9A-HJ-NPR-Z]{17}$"),
                name="vehicle_vin_iso_3779_characters",
            ),
            models.CheckConstraint(
                condition=models.Q(ended_on__isnull=True)
                | models.Q(first_used_on__isnull=True)
                | models.Q(ended_on__gte=models.F("first_used_on")),
                name="vehicle_ended_not_before_first_use",
            ),
            models.CheckConstraint(
                condition=models.Q(ended_because="") | models.Q(ended_on__isnull=False),
                name="vehicle_end_reason_has_date",
            ),
            models.CheckConstraint(
                condition=models.Q(duty="") | models.Q(duty__in=Duty.values),
                name="vehicle_duty_known",
            ),
        ]
        indexes = [
            models.Index(fields=["vin"], name="vehicle_by_vin"),
            models.Index(fields=["organisation", "engine_family"], name="vehicle_by_family"),
        ]

    def __str__(self) -> str:
        return f"vehicle {self.pk}"


class RegistrationMark(models.Model):
    """A mark the vehicle bore. Marks change hands; the dates say when it bore this one."""

    vehicle = models.ForeignKey(Vehicle, on_delete=models.CASCADE, related_name="marks")
    mark = models.CharField(max_length=20)
    mark_key = models.CharField(
        max_length=20, help_text="Upper case, letters and digits only: what a search compares."
    )
    from_on = models.DateField(null=True, blank=True)
    until_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["vehicle_id", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["vehicle"],
                condition=models.Q(until_on__isnull=True),
                name="registration_mark_one_current",
            ),
            models.CheckConstraint(
                condition=models.Q(from_on__isnull=True)
                | models.Q(until_on__isnull=True)
                | models.Q(until_on__gte=models.F("from_on")),
                name="registration_mark_until_not_before_from",
            ),
            models.CheckConstraint(
                condition=~models.Q(mark_key=""), name="registration_mark_given"
            ),
        ]
        indexes = [models.Index(fields=["mark_key"], name="registration_mark_by_key")]

    def __str__(self) -> str:
        return f"mark {self.pk}"
