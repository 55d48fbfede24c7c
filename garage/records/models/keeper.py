"""Who keeps a vehicle: personal data, held apart so that it can be erased alone."""

from django.db import models

from garage.records.models.vehicle import Vehicle


class Keeper(models.Model):
    """A keeper of a vehicle and how to reach them. All of it is personal."""

    vehicle = models.ForeignKey(Vehicle, on_delete=models.CASCADE, related_name="keepers")
    name = models.CharField(max_length=120)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    from_on = models.DateField(null=True, blank=True)
    until_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["vehicle_id", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["vehicle"],
                condition=models.Q(until_on__isnull=True),
                name="keeper_one_current",
            ),
            models.CheckConstraint(condition=~models.Q(name=""), name="keeper_named"),
            models.CheckConstraint(
                condition=models.Q(from_on__isnull=True)
                | models.Q(until_on__isnull=True)
                | models.Q(until_on__gte=models.F("from_on")),
                name="keeper_until_not_before_from",
            ),
        ]

    def __str__(self) -> str:
        return f"keeper {self.pk}"
