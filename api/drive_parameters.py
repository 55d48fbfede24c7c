"""What a request says of a log of a drive or a burn."""

from typing import Any

from rest_framework import serializers

from api.number_fields import NumberField
from api.parameters import ChosenField
from garage.evidence.services.drives import BYTES_MOST, TITLE_CHARACTERS
from garage.records.choices import JobPhase


def _log() -> serializers.CharField:
    return serializers.CharField(
        trim_whitespace=False,
        max_length=BYTES_MOST,
        help_text="The table as text: a head with the names of columns and their units, such as "
        "time_s, distance_km, soot_g, inlet_c, then a line for each moment. Commas, semicolons "
        f"or tabs. At most {BYTES_MOST // 1000} kB.",
    )


def _size(meaning: str) -> NumberField:
    return NumberField(required=False, help_text=meaning)


class DriveQuestionBody(serializers.Serializer[Any]):
    """A log, and what is known of the filter."""

    log = _log()
    trigger_g = _size("Soot at which this vehicle's burns start, g; left out: what is usual.")
    limit_g = _size("The vehicle's own limit of soot for a burn, g; left out: by litres.")
    litres = _size("Volume of the filter, L; left out: not known.")
    silicon_carbide = serializers.BooleanField(
        required=False,
        allow_null=True,
        default=None,
        help_text="Whether the filter is of silicon carbide; left out: not known.",
    )


class DriveBody(serializers.Serializer[Any]):
    """A log to keep at a job."""

    log = _log()
    title = serializers.CharField(max_length=TITLE_CHARACTERS, help_text="What was driven.")
    phase = ChosenField(JobPhase.values, help_text="When it was made.")
