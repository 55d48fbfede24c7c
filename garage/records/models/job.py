"""A job: one visit of a vehicle to the workshop, with the operations done on it."""

from django.conf import settings
from django.db import models

from garage.records.choices import (
    Cause,
    FoundInPlace,
    OperationKind,
    Origin,
    RemovedBecause,
    System,
)
from garage.records.models.organisation import Organisation
from garage.records.models.part_kind import PartKind
from garage.records.models.vehicle import Vehicle


class Job(models.Model):
    # An index of their own would repeat the beginning of those below, at every row written.
    organisation = models.ForeignKey(
        Organisation, on_delete=models.CASCADE, related_name="jobs", db_index=False
    )
    vehicle = models.ForeignKey(
        Vehicle, on_delete=models.CASCADE, related_name="jobs", db_index=False
    )
    ref = models.CharField(max_length=60)
    opened_on = models.DateField()
    closed_on = models.DateField(null=True, blank=True)
    planned = models.BooleanField(null=True, help_text="Empty: not known.")
    system = models.CharField(
        max_length=24, choices=System.choices, help_text="The system the job is about."
    )
    complaint = models.CharField(max_length=300, blank=True)
    trouble_codes = models.CharField(max_length=300, blank=True)
    repaired_elsewhere = models.JSONField(
        null=True,
        blank=True,
        help_text="Systems that the keeper says were repaired elsewhere since the last job "
        "here, as a list; an empty list means none; null means not asked.",
    )
    findings = models.CharField(max_length=1000, blank=True)
    cause = models.CharField(
        max_length=24,
        blank=True,
        choices=Cause.choices,
        help_text="Why it failed; without one no filter replacement or cleaning is closed.",
    )
    cause_note = models.CharField(max_length=300, blank=True)
    technician = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="+",
        db_index=False,
    )

    class Meta:
        ordering = ["vehicle_id", "opened_on", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["organisation", "ref"], name="job_ref_once_per_organisation"
            ),
            models.CheckConstraint(condition=~models.Q(ref=""), name="job_ref_given"),
            models.CheckConstraint(
                condition=models.Q(closed_on__isnull=True)
                | models.Q(closed_on__gte=models.F("opened_on")),
                name="job_closed_not_before_opened",
            ),
            models.CheckConstraint(
                condition=models.Q(system__in=System.values), name="job_system_known"
            ),
            models.CheckConstraint(
                condition=models.Q(cause="") | models.Q(cause__in=Cause.values),
                name="job_cause_known",
            ),
        ]
        indexes = [
            models.Index(fields=["vehicle", "opened_on"], name="job_by_vehicle_day"),
            models.Index(fields=["organisation", "opened_on"], name="job_by_organisation_day"),
            # Imported jobs name nobody.
            models.Index(
                fields=["technician"],
                condition=models.Q(technician__isnull=False),
                name="job_by_technician",
            ),
        ]

    def __str__(self) -> str:
        return f"job {self.pk}"


class Operation(models.Model):
    """One line of a job: what was done, on which system, to which part."""

    # The constraint of its lines has its index.
    job = models.ForeignKey(
        Job, on_delete=models.CASCADE, related_name="operations", db_index=False
    )
    line = models.PositiveIntegerField(help_text="Order within the job, from 1.")
    kind = models.CharField(max_length=24, choices=OperationKind.choices)
    system = models.CharField(max_length=24, choices=System.choices)
    part_kind = models.ForeignKey(
        PartKind, null=True, blank=True, on_delete=models.PROTECT, related_name="operations"
    )
    part_named = models.CharField(
        max_length=60, blank=True, help_text="The part as named, where the catalogue lacks it."
    )
    position = models.CharField(max_length=40, blank=True)
    part_origin = models.CharField(max_length=16, blank=True, choices=Origin.choices)
    part_brand = models.CharField(max_length=60, blank=True)
    part_mark = models.CharField(
        max_length=60, blank=True, help_text="Number or mark on the part fitted or found."
    )
    removed_because = models.CharField(max_length=24, blank=True, choices=RemovedBecause.choices)
    found_in_place = models.CharField(max_length=8, blank=True, choices=FoundInPlace.choices)
    last_sound_km = models.PositiveIntegerField(null=True, blank=True)
    labour_cost = models.DecimalField(max_digits=12, decimal_places=2, null=True, blank=True)
    parts_cost = models.DecimalField(max_digits=12, decimal_places=2, null=True, blank=True)
    tax_cost = models.DecimalField(max_digits=12, decimal_places=2, null=True, blank=True)
    currency = models.CharField(max_length=3, blank=True)
    note = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = ["job_id", "line"]
        constraints = [
            models.UniqueConstraint(fields=["job", "line"], name="operation_line_once_per_job"),
            models.CheckConstraint(
                condition=models.Q(kind__in=OperationKind.values), name="operation_kind_known"
            ),
            models.CheckConstraint(
                condition=models.Q(system__in=System.values), name="operation_system_known"
            ),
            models.CheckConstraint(
                condition=models.Q(part_kind__isnull=True) | models.Q(part_named=""),
                name="operation_part_named_only_outside_catalogue",
            ),
            models.CheckConstraint(
                condition=(
                    models.Q(
                        labour_cost__isnull=True, parts_cost__isnull=True, tax_cost__isnull=True
                    )
                    | ~models.Q(currency="")
                ),
                name="operation_cost_has_currency",
            ),
            models.CheckConstraint(
                condition=(
                    (models.Q(labour_cost__isnull=True) | models.Q(labour_cost__gte=0))
                    & (models.Q(parts_cost__isnull=True) | models.Q(parts_cost__gte=0))
                    & (models.Q(tax_cost__isnull=True) | models.Q(tax_cost__gte=0))
                ),
                name="operation_cost_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return f"operation {self.pk}"
