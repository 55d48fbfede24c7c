"""A random sample of silent keepers who are asked what became of the vehicle, and the answers."""

from django.db import models

from garage.records.choices import CallOutcome, CallState
from garage.records.models.organisation import Organisation
from garage.records.models.part_kind import PartKind
from garage.records.models.vehicle import Vehicle


class CallList(models.Model):
    """One draw. Seed and population are kept, so that anyone can see that it was random."""

    organisation = models.ForeignKey(
        Organisation, on_delete=models.CASCADE, related_name="call_lists"
    )
    drawn_on = models.DateField()
    silent_since_days = models.PositiveIntegerField(
        help_text="Drawn among vehicles whose last job is at least this long ago."
    )
    part_kind = models.ForeignKey(
        PartKind, on_delete=models.PROTECT, related_name="+", help_text="The part asked about."
    )
    population = models.PositiveIntegerField(help_text="How many silent vehicles there were.")
    seed = models.PositiveBigIntegerField()

    class Meta:
        ordering = ["organisation_id", "-drawn_on", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(silent_since_days__gt=0), name="call_list_silence_positive"
            ),
        ]

    def __str__(self) -> str:
        return f"call list {self.pk}"


class Call(models.Model):
    """One vehicle of a call list, and what its keeper answered."""

    call_list = models.ForeignKey(CallList, on_delete=models.CASCADE, related_name="calls")
    vehicle = models.ForeignKey(Vehicle, on_delete=models.CASCADE, related_name="calls")
    order = models.PositiveIntegerField(help_text="The order of the draw, from 1.")
    state = models.CharField(max_length=12, choices=CallState.choices, default=CallState.WAITING)
    called_on = models.DateField(null=True, blank=True)
    outcome = models.CharField(max_length=16, blank=True, choices=CallOutcome.choices)
    part_replaced_elsewhere = models.BooleanField(
        null=True,
        help_text="Whether the part asked about was replaced elsewhere. Empty: not known.",
    )
    repaired_elsewhere = models.JSONField(
        null=True, blank=True, help_text="Systems repaired elsewhere; null: not asked."
    )
    will_return = models.BooleanField(null=True, help_text="Whether they mean to come again.")
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["call_list_id", "order"]
        constraints = [
            models.UniqueConstraint(
                fields=["call_list", "vehicle"], name="call_vehicle_once_per_list"
            ),
            models.UniqueConstraint(fields=["call_list", "order"], name="call_order_once_per_list"),
            models.CheckConstraint(
                condition=models.Q(state__in=CallState.values), name="call_state_known"
            ),
            models.CheckConstraint(
                condition=models.Q(outcome="") | models.Q(outcome__in=CallOutcome.values),
                name="call_outcome_known",
            ),
            models.CheckConstraint(
                condition=~models.Q(state=CallState.ANSWERED)
                | (models.Q(called_on__isnull=False) & ~models.Q(outcome="")),
                name="call_answered_has_day_and_outcome",
            ),
        ]

    def __str__(self) -> str:
        return f"call {self.pk}"
