"""Who changed what: an append-only trail, each row sealed with the one before it."""

from django.conf import settings
from django.db import models

from garage.records.choices import AuditVerb
from garage.records.models.organisation import Organisation


class AuditEntry(models.Model):
    """One change. Rows are only ever added: the database refuses to change or delete one.

    `changes` names fields and their old and new values; of personal data it names the field and
    never a value, so that nothing has to be erased from the trail.
    """

    organisation = models.ForeignKey(
        Organisation, on_delete=models.PROTECT, related_name="audit_entries"
    )
    serial = models.PositiveBigIntegerField(help_text="1, 2, 3 … within the organisation.")
    at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="+",
        help_text="Empty: the register itself, or the terminal.",
    )
    verb = models.CharField(max_length=20, choices=AuditVerb.choices)
    thing = models.CharField(max_length=40, help_text="The kind of record, such as job.")
    thing_id = models.PositiveBigIntegerField(null=True, blank=True)
    changes = models.JSONField(default=dict, blank=True)
    reason = models.CharField(max_length=300, blank=True)
    seal = models.CharField(
        max_length=64, help_text="SHA-256 over this row and the seal of the row before."
    )

    class Meta:
        verbose_name_plural = "audit entries"
        ordering = ["organisation_id", "serial"]
        constraints = [
            models.UniqueConstraint(
                fields=["organisation", "serial"], name="audit_entry_serial_once"
            ),
            models.CheckConstraint(
                condition=models.Q(serial__gte=1), name="audit_entry_serial_from_one"
            ),
            models.CheckConstraint(
                condition=models.Q(verb__in=AuditVerb.values), name="audit_entry_verb_known"
            ),
        ]
        indexes = [
            models.Index(fields=["organisation", "thing", "thing_id"], name="audit_entry_by_thing")
        ]

    def __str__(self) -> str:
        return f"audit {self.organisation_id}:{self.serial}"
