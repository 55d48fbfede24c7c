"""Forms that end a recheck."""

from typing import Any

from django import forms
from django.db.models import Model

from garage.records.models import Job, Recheck


class _JobField(forms.ModelChoiceField):
    """A job by its reference and day."""

    def label_from_instance(self, obj: Model) -> str:
        job = vars(obj)
        return f"{job['ref']}, {job['opened_on']}"


class DoneForm(forms.Form):
    done_at = forms.Field()  # keeps its place; what may be chosen is known when it is made

    def __init__(self, *said: Any, recheck: Recheck, **more: Any) -> None:
        super().__init__(*said, **more)
        job = recheck.job
        later = Job.objects.filter(
            vehicle_id=job.vehicle_id,
            organisation_id=job.organisation_id,
            opened_on__gte=job.closed_on or job.opened_on,
        ).exclude(pk=job.pk)
        self.fields["done_at"] = _JobField(
            later.order_by("-opened_on"),
            label="Rechecked at",
            empty_label=None if later.exists() else "no later job is recorded",
        )


class WaiveForm(forms.Form):
    reason = forms.CharField(label="Why no recheck", max_length=300)
