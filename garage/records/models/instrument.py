"""Instruments that show a reading, and how they compared with a known gauge."""

from django.conf import settings
from django.db import models
from django.db.models.functions import Lower

from garage.records.models.engine_family import EngineFamily
from garage.records.models.job import Job
from garage.records.models.organisation import Organisation


class Instrument(models.Model):
    """A gauge or a display of the workshop's own. No unit: its display shows bare numbers."""

    organisation = models.ForeignKey(
        Organisation, on_delete=models.CASCADE, related_name="instruments"
    )
    name = models.CharField(max_length=80)
    unit = models.CharField(max_length=16, blank=True, help_text="Empty: the display shows none.")
    resolution = models.DecimalField(
        max_digits=12, decimal_places=6, null=True, blank=True, help_text="Last digit it shows."
    )
    accuracy_share = models.FloatField(
        null=True, blank=True, help_text="Largest error as a share of the reading; empty: not said."
    )
    calibrated_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["organisation_id", "name", "id"]
        constraints = [
            models.UniqueConstraint("organisation", Lower("name"), name="instrument_name_once"),
            models.CheckConstraint(condition=~models.Q(name=""), name="instrument_named"),
            models.CheckConstraint(
                condition=models.Q(resolution__isnull=True) | models.Q(resolution__gt=0),
                name="instrument_resolution_positive",
            ),
            models.CheckConstraint(
                condition=models.Q(accuracy_share__isnull=True)
                | models.Q(accuracy_share__gte=0, accuracy_share__lt=1),
                name="instrument_accuracy_is_a_share",
            ),
        ]

    def __str__(self) -> str:
        return f"instrument {self.pk}"


class GaugePair(models.Model):
    """A known pressure applied, and the bare number that a display showed for it."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="gauge_pairs")
    instrument = models.ForeignKey(Instrument, on_delete=models.CASCADE, related_name="pairs")
    applied_pa = models.FloatField()
    applied_typed = models.CharField(max_length=40, help_text="As typed, with its unit.")
    applied_error_pa = models.FloatField(help_text="Standard uncertainty of the gauge there.")
    shown = models.DecimalField(max_digits=14, decimal_places=6)
    shown_resolution = models.DecimalField(
        max_digits=14, decimal_places=6, help_text="Last digit that the display shows."
    )
    falling = models.BooleanField(default=False, help_text="Pressure was let down to it.")
    taken_at = models.DateTimeField()
    taken_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta:
        ordering = ["job_id", "id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(applied_error_pa__gt=0), name="gauge_pair_has_uncertainty"
            ),
            models.CheckConstraint(
                condition=models.Q(shown_resolution__gt=0), name="gauge_pair_has_resolution"
            ),
        ]

    def __str__(self) -> str:
        return f"gauge pair {self.pk}"


class UnitConfirmed(models.Model):
    """The unit of a display that shows none, on vehicles of one engine family or on all, as a
    person confirmed it."""

    instrument = models.ForeignKey(Instrument, on_delete=models.CASCADE, related_name="units")
    engine_family = models.ForeignKey(
        EngineFamily, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    quantity = models.CharField(max_length=40)
    unit = models.CharField(max_length=16)
    confirmed_at = models.DateTimeField()
    confirmed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta:
        verbose_name_plural = "units confirmed"
        ordering = ["instrument_id", "quantity", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["instrument", "quantity", "engine_family"], name="unit_confirmed_once"
            ),
            models.UniqueConstraint(
                fields=["instrument", "quantity"],
                condition=models.Q(engine_family__isnull=True),
                name="unit_confirmed_once_for_all",
            ),
            models.CheckConstraint(
                condition=~models.Q(unit="") & ~models.Q(quantity=""), name="unit_confirmed_named"
            ),
        ]

    def __str__(self) -> str:
        return f"unit confirmed {self.pk}"
