"""Photos and documents of a job or a claim: real files, kept outside the web root."""

from django.conf import settings
from django.db import models

from garage.records.choices import DocumentKind
from garage.records.models.job import Job
from garage.records.models.organisation import Organisation
from garage.records.models.warranty import Claim


class Document(models.Model):
    """A stored file. `stored_as` is a name of our own making; `content_type` is what the content
    says, whatever the sender called it."""

    organisation = models.ForeignKey(
        Organisation, on_delete=models.CASCADE, related_name="documents"
    )
    job = models.ForeignKey(
        Job, null=True, blank=True, on_delete=models.CASCADE, related_name="documents"
    )
    claim = models.ForeignKey(
        Claim, null=True, blank=True, on_delete=models.CASCADE, related_name="documents"
    )
    kind = models.CharField(max_length=16, choices=DocumentKind.choices)
    title = models.CharField(max_length=120)
    stored_as = models.CharField(max_length=80, unique=True)
    content_type = models.CharField(max_length=60)
    size_bytes = models.PositiveBigIntegerField()
    sha256 = models.CharField(max_length=64)
    added_at = models.DateTimeField()
    added_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta:
        ordering = ["organisation_id", "id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(job__isnull=False) | models.Q(claim__isnull=False),
                name="document_belongs_to_something",
            ),
            models.CheckConstraint(
                condition=models.Q(kind__in=DocumentKind.values), name="document_kind_known"
            ),
            models.CheckConstraint(condition=models.Q(size_bytes__gt=0), name="document_not_empty"),
        ]

    def __str__(self) -> str:
        return f"document {self.pk}"
