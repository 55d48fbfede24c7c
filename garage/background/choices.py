"""The states of queued work."""

from django.db import models


class WorkState(models.TextChoices):
    """queued -> running -> done or failed; running -> queued when its worker was lost."""

    QUEUED = "queued"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"
