"""Kinds of part whose lives are tracked, and what is held to be their normal life."""

from django.db import models

from garage.records.choices import Origin, System, WearsBy
from garage.records.models.organisation import Organisation


class PartKind(models.Model):
    """A kind of part: a row here, not code, makes the register track it."""

    code = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=80)
    system = models.CharField(max_length=24, choices=System.choices)
    normal_life_km = models.PositiveIntegerField(
        null=True, blank=True, help_text="Median life of the part fitted from new, km."
    )
    normal_life_source = models.CharField(max_length=200, blank=True)
    fitted_from_new = models.BooleanField(default=False)
    wears_by = models.CharField(max_length=8, choices=WearsBy.choices, default=WearsBy.KM)
    normal_life_months = models.PositiveIntegerField(
        null=True, blank=True, help_text="Median life in months, where time wears it."
    )
    positions = models.JSONField(
        default=list, blank=True, help_text="Usual positions, such as bank 1; empty: one only."
    )
    failed_means = models.CharField(
        max_length=300, blank=True, help_text="What counts as failed, in the trade's words."
    )

    class Meta:
        ordering = ["code"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(normal_life_km__isnull=True) | models.Q(normal_life_km__gt=0),
                name="part_kind_normal_life_positive",
            ),
            models.CheckConstraint(
                condition=models.Q(normal_life_km__isnull=True, normal_life_months__isnull=True)
                | ~models.Q(normal_life_source=""),
                name="part_kind_normal_life_has_source",
            ),
            models.CheckConstraint(
                condition=models.Q(system__in=System.values), name="part_kind_system_known"
            ),
            models.CheckConstraint(
                condition=models.Q(wears_by__in=WearsBy.values), name="part_kind_wears_by_known"
            ),
        ]

    def __str__(self) -> str:
        return self.code


class OwnNormalLife(models.Model):
    """An organisation's own value for the normal life of a part kind and origin."""

    organisation = models.ForeignKey(
        Organisation, on_delete=models.CASCADE, related_name="own_normal_lives"
    )
    part_kind = models.ForeignKey(PartKind, on_delete=models.CASCADE, related_name="own_values")
    origin = models.CharField(max_length=16, choices=Origin.choices)
    median_km = models.PositiveIntegerField()
    shape = models.FloatField(default=2.5)
    source = models.CharField(max_length=200)

    class Meta:
        verbose_name_plural = "own normal lives"
        constraints = [
            models.UniqueConstraint(
                fields=["organisation", "part_kind", "origin"], name="own_normal_life_once"
            ),
            models.CheckConstraint(
                condition=models.Q(median_km__gt=0) & models.Q(shape__gt=0),
                name="own_normal_life_positive",
            ),
            models.CheckConstraint(
                condition=~models.Q(source=""), name="own_normal_life_has_source"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.organisation_id}:{self.part_kind_id}:{self.origin}"
