"""What a request about a job's evidence may say."""

from typing import Any

from rest_framework import serializers

from api.parameters import ChosenField, ViewQuery
from garage.records.choices import JobPhase


class EvidenceQuery(ViewQuery):
    """At which phase of the job."""

    phase = ChosenField(
        JobPhase,
        required=False,
        default=JobPhase.ARRIVAL.value,
        help_text=f"When it was read and found; left out: {JobPhase.ARRIVAL.value}.",
    )


class FindingBody(serializers.Serializer[Any]):
    """What somebody found at a job."""

    finding = serializers.CharField(max_length=40, help_text="A key of /findings/.")
    state = serializers.CharField(max_length=40, help_text="One of the finding's states.")
    phase = ChosenField(
        JobPhase,
        required=False,
        default=JobPhase.ARRIVAL.value,
        help_text=f"When it was found; left out: {JobPhase.ARRIVAL.value}.",
    )
    note = serializers.CharField(
        required=False,
        allow_blank=True,
        max_length=200,
        help_text="More, in words; at most 200 characters.",
    )
