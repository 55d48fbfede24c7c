"""What the technician measured or read at a job, and a vehicle's own reference values."""

from django.db import models

from garage.records.choices import (
    BaselineBecause,
    EngineCondition,
    JobPhase,
    ReadingKind,
    SensorLayout,
)
from garage.records.models.instrument import Instrument
from garage.records.models.job import Job


class Reading(models.Model):
    """One value at a job. Value and unit are kept as they were shown."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="technical_readings")
    quantity = models.CharField(
        max_length=40, help_text="What was read, such as pressure_across_filter."
    )
    value = models.DecimalField(max_digits=14, decimal_places=4)
    unit = models.CharField(max_length=16, blank=True, help_text="Empty: the display shows none.")
    instrument = models.ForeignKey(
        Instrument, null=True, blank=True, on_delete=models.SET_NULL, related_name="readings"
    )
    standard_value = models.FloatField(
        null=True, blank=True, help_text="In the quantity's standard unit; empty: not known."
    )
    kind = models.CharField(
        max_length=10, choices=ReadingKind.choices, default=ReadingKind.MEASURED
    )
    phase = models.CharField(max_length=10, choices=JobPhase.choices)
    condition = models.CharField(
        max_length=20, blank=True, choices=EngineCondition.choices, help_text="Empty: not said."
    )
    speed_rpm = models.PositiveIntegerField(null=True, blank=True)
    minutes_since_burn = models.PositiveIntegerField(null=True, blank=True)
    km_since_burn = models.PositiveIntegerField(null=True, blank=True)
    layout = models.CharField(
        max_length=10, blank=True, choices=SensorLayout.choices, help_text="Empty: not said."
    )
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["job_id", "id"]
        constraints = [
            models.CheckConstraint(condition=~models.Q(quantity=""), name="reading_quantity_named"),
            models.CheckConstraint(
                condition=models.Q(phase__in=JobPhase.values), name="reading_phase_known"
            ),
            models.CheckConstraint(
                condition=models.Q(kind__in=ReadingKind.values), name="reading_kind_known"
            ),
            models.CheckConstraint(
                condition=models.Q(condition="") | models.Q(condition__in=EngineCondition.values),
                name="reading_condition_known",
            ),
            models.CheckConstraint(
                condition=models.Q(layout="") | models.Q(layout__in=SensorLayout.values),
                name="reading_layout_known",
            ),
        ]
        indexes = [models.Index(fields=["quantity", "job"], name="reading_by_quantity")]

    def __str__(self) -> str:
        return f"technical reading {self.pk}"


class Baseline(models.Model):
    """A reading kept as the vehicle's own reference: the first after a completed burn, or with a
    new part."""

    reading = models.OneToOneField(Reading, on_delete=models.CASCADE, related_name="baseline")
    because = models.CharField(max_length=16, choices=BaselineBecause.choices)
    kept_at = models.DateTimeField()

    class Meta:
        ordering = ["reading_id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(because__in=BaselineBecause.values),
                name="baseline_because_known",
            ),
        ]

    def __str__(self) -> str:
        return f"baseline {self.pk}"
