"""A table of somebody else's that was sent in and is being mapped."""

from django.conf import settings
from django.db import models

from garage.records.models.organisation import Organisation


class TableUpload(models.Model):
    """The file lies in the document storage until it is imported or discarded."""

    organisation = models.ForeignKey(
        Organisation, on_delete=models.CASCADE, related_name="table_uploads"
    )
    source_name = models.CharField(max_length=80, help_text="Where the file comes from.")
    file_name = models.CharField(max_length=120, help_text="As it was sent.")
    stored_as = models.CharField(max_length=120)
    mapping = models.JSONField(help_text="garage.records.tabular.mapping, as a person has it now.")
    uploaded_at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta:
        ordering = ["organisation_id", "-uploaded_at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(source_name=""), name="table_upload_source_named"
            ),
        ]
        indexes = [
            models.Index(fields=["organisation", "-uploaded_at"], name="table_upload_by_day"),
        ]

    def __str__(self) -> str:
        return f"table upload {self.pk}"
