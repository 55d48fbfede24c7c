"""Warranty terms of a part that was fitted, and the claims that follow when it fails in them."""

from django.db import models

from garage.records.choices import ClaimState, WarrantyGiver
from garage.records.models.job import Job, Operation
from garage.records.models.organisation import Organisation


class Warranty(models.Model):
    """Who answers for this part, for how long and how far; whichever ends first ends it.

    It hangs on the operation that fitted the part, for fitments are derived from operations.
    """

    operation = models.OneToOneField(Operation, on_delete=models.CASCADE, related_name="warranty")
    months = models.PositiveIntegerField(null=True, blank=True)
    distance_km = models.PositiveIntegerField(null=True, blank=True)
    given_by = models.CharField(max_length=10, choices=WarrantyGiver.choices)
    giver_name = models.CharField(max_length=80, blank=True)
    conditions = models.CharField(max_length=500, blank=True)
    claim_within_days = models.PositiveIntegerField(
        null=True,
        blank=True,
        help_text="Days after the failure in which to claim. Empty: not said.",
    )

    class Meta:
        verbose_name_plural = "warranties"
        ordering = ["operation_id"]
        constraints = [
            models.CheckConstraint(
                # Asked for by name: of what is NULL a check says neither yes nor no, and passes.
                condition=models.Q(months__isnull=False, months__gt=0)
                | models.Q(distance_km__isnull=False, distance_km__gt=0),
                name="warranty_has_an_end",
            ),
            models.CheckConstraint(
                condition=models.Q(given_by__in=WarrantyGiver.values),
                name="warranty_giver_known",
            ),
        ]

    def __str__(self) -> str:
        return f"warranty {self.pk}"


class Claim(models.Model):
    """A claim on a warranty: opened by itself when the part fails within its terms."""

    organisation = models.ForeignKey(Organisation, on_delete=models.CASCADE, related_name="claims")
    warranty = models.OneToOneField(Warranty, on_delete=models.CASCADE, related_name="claim")
    failed_at = models.ForeignKey(
        Job, on_delete=models.CASCADE, related_name="claims", help_text="The job that removed it."
    )
    state = models.CharField(max_length=10, choices=ClaimState.choices, default=ClaimState.OPEN)
    opened_on = models.DateField()
    due_on = models.DateField(
        null=True, blank=True, help_text="Last day to claim; empty: not said."
    )
    sent_on = models.DateField(null=True, blank=True)
    decided_on = models.DateField(null=True, blank=True)
    recovered = models.DecimalField(max_digits=12, decimal_places=2, null=True, blank=True)
    currency = models.CharField(max_length=3, blank=True)
    reason = models.CharField(max_length=300, blank=True, help_text="Why refused or dropped.")
    note = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = ["organisation_id", "-opened_on", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(state__in=ClaimState.values), name="claim_state_known"
            ),
            models.CheckConstraint(
                condition=models.Q(recovered__isnull=True)
                | (models.Q(recovered__gte=0) & ~models.Q(currency="")),
                name="claim_recovered_has_currency",
            ),
            models.CheckConstraint(
                condition=~models.Q(state__in=[ClaimState.REFUSED, ClaimState.DROPPED])
                | ~models.Q(reason=""),
                name="claim_refused_has_reason",
            ),
            models.CheckConstraint(
                condition=~models.Q(state=ClaimState.SETTLED)
                | (models.Q(decided_on__isnull=False) & models.Q(recovered__isnull=False)),
                name="claim_settled_has_day_and_money",
            ),
            models.CheckConstraint(
                condition=models.Q(sent_on__isnull=True)
                | models.Q(decided_on__isnull=True)
                | models.Q(decided_on__gte=models.F("sent_on")),
                name="claim_decided_not_before_sent",
            ),
        ]
        indexes = [
            models.Index(fields=["organisation", "state", "due_on"], name="claim_by_state_and_due")
        ]

    def __str__(self) -> str:
        return f"claim {self.pk}"
