"""A fitment: one part in one position of one vehicle, from fitting to removal."""

from django.db import models

from garage.records.choices import FitmentStart, Origin, RemovedBecause
from garage.records.models.job import Job
from garage.records.models.part_kind import PartKind
from garage.records.models.vehicle import Vehicle


class Fitment(models.Model):
    """Derived from a vehicle's jobs by services.fitments; re-derived whenever they change.

    The km are true distances from readings that stand. A reading in doubt leaves its km empty,
    while the job it was read at stays named: that is how "in doubt" and "not known" are told
    apart.
    """

    vehicle = models.ForeignKey(Vehicle, on_delete=models.CASCADE, related_name="fitments")
    # The index below begins with it.
    part_kind = models.ForeignKey(
        PartKind, on_delete=models.PROTECT, related_name="fitments", db_index=False
    )
    position = models.CharField(max_length=40, blank=True)
    origin = models.CharField(max_length=16, choices=Origin.choices, default=Origin.UNKNOWN)
    brand = models.CharField(max_length=60, blank=True)
    mark = models.CharField(max_length=60, blank=True, help_text="Number or mark on the part.")
    start = models.CharField(max_length=12, choices=FitmentStart.choices)
    fitted_on = models.DateField(null=True, blank=True)
    fitted_km = models.PositiveIntegerField(null=True, blank=True)
    fitted_at = models.ForeignKey(
        Job,
        null=True,
        blank=True,
        on_delete=models.CASCADE,
        related_name="fitments_begun",
        help_text="The job that fitted it, or at which it was found in place or stated to be the "
        "factory's. Empty: in place since the factory on a vehicle watched from new.",
    )
    removed_on = models.DateField(null=True, blank=True)
    removed_km = models.PositiveIntegerField(null=True, blank=True)
    removed_at = models.ForeignKey(
        Job,
        null=True,
        blank=True,
        on_delete=models.CASCADE,
        related_name="fitments_ended",
        help_text="The job that removed it, or at which another was found in its place.",
    )
    removed_because = models.CharField(max_length=24, blank=True, choices=RemovedBecause.choices)
    last_sound_km = models.PositiveIntegerField(null=True, blank=True)
    last_seen_same_at = models.ForeignKey(
        Job,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="+",
        help_text="The last job that looked and found this part still in place.",
    )
    cleaned_from = models.OneToOneField(
        "self",
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="cleaned_into",
        help_text="The life this part had before it was cleaned and put back.",
    )

    class Meta:
        ordering = ["vehicle_id", "part_kind_id", "position", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["vehicle", "part_kind", "position"],
                condition=models.Q(removed_at__isnull=True),
                name="fitment_one_open_per_position",
            ),
            models.CheckConstraint(
                condition=models.Q(removed_on__isnull=True)
                | models.Q(fitted_on__isnull=True)
                | models.Q(removed_on__gte=models.F("fitted_on")),
                name="fitment_removed_not_before_fitted",
            ),
            models.CheckConstraint(
                condition=models.Q(removed_km__isnull=True)
                | models.Q(fitted_km__isnull=True)
                | models.Q(removed_km__gte=models.F("fitted_km")),
                name="fitment_life_km_not_negative",
            ),
            models.CheckConstraint(
                condition=models.Q(removed_at__isnull=False)
                | (
                    models.Q(removed_on__isnull=True)
                    & models.Q(removed_km__isnull=True)
                    & models.Q(removed_because="")
                ),
                name="fitment_open_has_no_removal",
            ),
            models.CheckConstraint(
                condition=~models.Q(start=FitmentStart.UNKNOWN) | models.Q(fitted_km__isnull=True),
                name="fitment_unknown_start_has_no_km",
            ),
            models.CheckConstraint(
                condition=~models.Q(start=FitmentStart.FITTED_HERE)
                | models.Q(fitted_at__isnull=False),
                name="fitment_fitted_here_names_its_job",
            ),
            models.CheckConstraint(
                condition=models.Q(last_sound_km__isnull=True)
                | models.Q(removed_km__isnull=True)
                | models.Q(last_sound_km__lte=models.F("removed_km")),
                name="fitment_last_sound_not_after_removal",
            ),
        ]
        indexes = [
            models.Index(fields=["part_kind", "vehicle"], name="fitment_by_part_kind"),
        ]

    def __str__(self) -> str:
        return f"fitment {self.pk}"
