"""Who keeps records: a workshop, a fleet, an adviser; and who may act for it."""

from django.conf import settings
from django.db import models

from garage.records.choices import OrganisationKind, Role


class Organisation(models.Model):
    """An owner of records. Every vehicle, job and reading belongs to exactly one."""

    code = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=10, choices=OrganisationKind.choices)
    sees_all_repairs = models.BooleanField(
        default=False,
        help_text="Every repair of its vehicles is in these records (a fleet with its own "
        "workshop), so no failure is missed: the capture share is 1.",
    )
    verdict_margin = models.FloatField(
        default=0.2,
        help_text="A cause is named only where its share leads the next by this much.",
    )
    recheck_days = models.PositiveIntegerField(
        default=7, help_text="A recheck is due this long after a filter operation."
    )
    recheck_km = models.PositiveIntegerField(
        default=300, help_text="… or this far, whichever comes first."
    )
    keep_personal_months = models.PositiveIntegerField(
        null=True,
        blank=True,
        help_text="Personal data is erased this long after a vehicle's last job. Empty: on "
        "request only.",
    )
    records_version = models.PositiveBigIntegerField(
        default=0,
        help_text="Counts the changes of its records: what a kept report is held against.",
    )

    class Meta:
        ordering = ["code"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(verdict_margin__gte=0) & models.Q(verdict_margin__lte=1),
                name="organisation_verdict_margin_a_share",
            ),
            models.CheckConstraint(
                condition=models.Q(recheck_days__gt=0) & models.Q(recheck_km__gt=0),
                name="organisation_recheck_positive",
            ),
            models.CheckConstraint(
                condition=models.Q(keep_personal_months__isnull=True)
                | models.Q(keep_personal_months__gt=0),
                name="organisation_keeps_personal_positive",
            ),
            models.CheckConstraint(
                condition=models.Q(kind__in=OrganisationKind.values),
                name="organisation_kind_known",
            ),
        ]

    def __str__(self) -> str:
        return self.code


class Membership(models.Model):
    """A person's part in an organisation."""

    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="memberships"
    )
    organisation = models.ForeignKey(
        Organisation, on_delete=models.CASCADE, related_name="memberships"
    )
    role = models.CharField(max_length=12, choices=Role.choices)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["user", "organisation"], name="membership_once_per_organisation"
            ),
            models.CheckConstraint(
                condition=models.Q(role__in=Role.values), name="membership_role_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.organisation_id}:{self.user_id}"
