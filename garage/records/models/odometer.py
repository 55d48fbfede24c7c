"""Odometer readings, never overwritten, and replaced instrument clusters."""

from django.conf import settings
from django.db import models

from garage.records.choices import DistanceUnit, Doubt, ReadingSource, Remark, ResolvedAs
from garage.records.models.vehicle import Vehicle


class OdometerReading(models.Model):
    """One reading as it was typed, its unit, and what it means in km of true distance.

    `km` is derived: the typed value in km plus the offset of the instrument in place on that
    day. `doubt` is derived too: the verdict of garage.records.odometers over all readings of the
    vehicle. Both are set by services.odometer.odometers_settle and nowhere else.
    """

    # The index by day begins with it.
    vehicle = models.ForeignKey(
        Vehicle, on_delete=models.CASCADE, related_name="readings", db_index=False
    )
    job = models.OneToOneField(
        "records.Job", null=True, blank=True, on_delete=models.CASCADE, related_name="reading"
    )
    read_on = models.DateField()
    typed = models.DecimalField(max_digits=12, decimal_places=2)
    unit = models.CharField(max_length=2, choices=DistanceUnit.choices)
    source = models.CharField(max_length=12, choices=ReadingSource.choices)
    km = models.PositiveIntegerField()
    doubt = models.CharField(max_length=20, blank=True, choices=Doubt.choices)
    doubt_reason = models.CharField(max_length=300, blank=True)
    remark = models.CharField(
        max_length=20, blank=True, choices=Remark.choices, help_text="Worth a look; it stands."
    )
    explanations = models.JSONField(
        default=list, blank=True, help_text="What would mend it, the likeliest first."
    )

    class Meta:
        ordering = ["vehicle_id", "read_on", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["vehicle", "read_on", "typed", "unit", "source"],
                condition=models.Q(job__isnull=True),
                name="odometer_reading_once",
            ),
            models.CheckConstraint(
                condition=models.Q(typed__gte=0), name="odometer_reading_not_negative"
            ),
            models.CheckConstraint(
                condition=models.Q(unit__in=DistanceUnit.values),
                name="odometer_reading_unit_known",
            ),
            models.CheckConstraint(
                condition=models.Q(source__in=ReadingSource.values),
                name="odometer_reading_source_known",
            ),
            models.CheckConstraint(
                condition=models.Q(doubt="") | ~models.Q(doubt_reason=""),
                name="odometer_reading_doubt_has_reason",
            ),
        ]
        indexes = [
            models.Index(fields=["vehicle", "read_on"], name="odometer_reading_by_day"),
            models.Index(
                fields=["vehicle"], condition=~models.Q(doubt=""), name="odometer_reading_in_doubt"
            ),
        ]

    def __str__(self) -> str:
        return f"reading {self.pk}"


class ClusterReplacement(models.Model):
    """An instrument cluster was replaced: from that day, true distance = shown + offset.

    The offset is the whole difference in force from that day until the next replacement.
    """

    vehicle = models.ForeignKey(
        Vehicle, on_delete=models.CASCADE, related_name="cluster_replacements"
    )
    done_on = models.DateField()
    typed_offset = models.DecimalField(max_digits=12, decimal_places=2)
    unit = models.CharField(max_length=2, choices=DistanceUnit.choices)
    offset_km = models.IntegerField()
    document = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["vehicle_id", "done_on"]
        constraints = [
            models.UniqueConstraint(
                fields=["vehicle", "done_on"], name="cluster_replacement_once_a_day"
            ),
            models.CheckConstraint(
                condition=models.Q(unit__in=DistanceUnit.values),
                name="cluster_replacement_unit_known",
            ),
        ]

    def __str__(self) -> str:
        return f"cluster replacement {self.pk}"


class ReadingResolution(models.Model):
    """What a person decided of a reading: it binds the fit until it is withdrawn."""

    reading = models.ForeignKey(
        OdometerReading, on_delete=models.CASCADE, related_name="resolutions"
    )
    resolved_as = models.CharField(max_length=12, choices=ResolvedAs.choices)
    typed = models.DecimalField(max_digits=12, decimal_places=2, null=True, blank=True)
    unit = models.CharField(max_length=2, blank=True, choices=DistanceUnit.choices)
    read_on = models.DateField(null=True, blank=True)
    reason = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["reading_id", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["reading"],
                condition=models.Q(withdrawn_at__isnull=True),
                name="reading_resolution_one_in_force",
            ),
            models.CheckConstraint(
                condition=models.Q(resolved_as__in=ResolvedAs.values),
                name="reading_resolution_known",
            ),
            models.CheckConstraint(
                condition=~models.Q(reason=""), name="reading_resolution_has_reason"
            ),
            models.CheckConstraint(
                condition=~models.Q(resolved_as=ResolvedAs.MENDED)
                | (models.Q(typed__isnull=False, typed__gte=0) & ~models.Q(unit=""))
                | models.Q(read_on__isnull=False),
                name="reading_resolution_mended_says_how",
            ),
        ]

    def __str__(self) -> str:
        return f"reading resolution {self.pk}"
