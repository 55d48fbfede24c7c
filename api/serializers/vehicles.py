"""A vehicle and its history as answers."""

from typing import Any

from rest_framework import serializers

from api.serializers.early_failures import FlagAnswer
from api.serializers.fields import (
    Answer,
    day,
    given_code,
    given_text,
    one_of,
    text,
    whole,
    yes_no,
)
from api.serializers.part_life import NormalLifeAnswer
from garage.outcomes.choices import Ending, LifeClass, Stratum
from garage.records.choices import (
    DistanceUnit,
    Doubt,
    Duty,
    EndedBecause,
    FitmentStart,
    FoundInPlace,
    OperationKind,
    Origin,
    ReadingSource,
    RemovedBecause,
    System,
)


def _money(meaning: str) -> serializers.DecimalField:
    return serializers.DecimalField(
        max_digits=12, decimal_places=2, allow_null=True, read_only=True, help_text=meaning
    )


class MarkAnswer(Answer):
    """A registration mark that the vehicle bore."""

    mark = text("The mark as written.")
    from_on = day("First day it bore this mark; null: not known.", null=True)
    until_on = day("Last day; null: it still does.", null=True)


class VehicleAnswer(Answer):
    """A vehicle as one organisation knows it."""

    id = whole("Id within this register.")
    organisation = text("Code of the organisation that keeps it.", source="organisation.code")
    ref = text("The organisation's own name for it.")
    vin = given_text("Vehicle identification number, ISO 3779; null: not known.")
    marks = MarkAnswer(many=True, source="marks.all", help_text="Registration marks over time.")
    engine_family = text(
        "Name of the engine family; null: not known.", null=True, source="engine_family.name"
    )
    engine_family_id = whole("Id of the engine family.", null=True)
    first_used_on = day("Day of first use.", null=True)
    watched_from_new = yes_no("Seen by the organisation since it was new.", null=True)
    duty = given_code(Duty, "What it is used for.")
    ended_on = day("Day it was sold, scrapped or left; null: it has not.", null=True)
    ended_because = given_code(EndedBecause, "Why it ended.")


class ReadingAnswer(Answer):
    """An odometer reading, as typed and as understood."""

    id = whole("Id of the reading.")
    read_on = day("Day of the reading.")
    typed = serializers.DecimalField(
        max_digits=12, decimal_places=2, read_only=True, help_text="The number as typed."
    )
    unit = one_of(DistanceUnit, "The unit it was typed in.")
    km = whole("True distance it stands for, km.")
    source = one_of(ReadingSource, "Where it comes from.")  # type: ignore[assignment]
    doubt = given_code(Doubt, "Why it is set aside; null: it stands.")
    doubt_reason = given_text("What it contradicts, in plain words.")


class ClusterReplacementAnswer(Answer):
    """The instrument was replaced: from that day, true distance is what it shows plus offset."""

    done_on = day("Day of the replacement.")
    offset_km = whole("What is added to what the new instrument shows, km.")
    document = given_text("What proves it.")


class OperationAnswer(Answer):
    """One thing done in a job."""

    line = whole("Order within the job, from 1.")
    kind = one_of(OperationKind, "What was done.")
    system = one_of(System, "On which system.")
    part_kind = text(
        "Code of the part kind; null: none, or not in the catalogue.",
        null=True,
        source="part_kind.code",
    )
    part_named = given_text("The part as named, where the catalogue lacks it.")
    position = given_text("Where on the vehicle, if there is more than one.")
    part_origin = given_code(Origin, "Where the fitted part came from.")
    part_brand = given_text("Make of the fitted part.")
    removed_because = given_code(RemovedBecause, "Why the part in place was removed.")
    found_in_place = given_code(FoundInPlace, "Whether the part in place was the one recorded.")
    last_sound_km = whole("Where it was last known sound, km.", null=True)
    labour_cost = _money("Labour.")
    parts_cost = _money("Parts.")
    currency = given_text("Currency of both.")
    note = given_text("What else was written.")


class JobAnswer(Answer):
    """One visit to the workshop."""

    id = whole("Id of the job.", source="job.pk")
    ref = text("The organisation's own name for it.", source="job.ref")
    opened_on = day("Day it was opened.", source="job.opened_on")
    closed_on = day(
        "Day it was closed; null: open, or not known.", null=True, source="job.closed_on"
    )
    planned = yes_no(
        "Agreed beforehand, or brought by trouble; null: not known.",
        null=True,
        source="job.planned",
    )
    system = one_of(System, "What the job is about.", source="job.system")
    complaint = given_text("What the keeper said.", source="job.complaint")
    trouble_codes = serializers.SerializerMethodField(help_text="Trouble codes that were read.")
    repaired_elsewhere = serializers.ListField(
        child=serializers.ChoiceField(System.choices),
        source="job.repaired_elsewhere",
        read_only=True,
        allow_null=True,
        help_text="Systems repaired elsewhere since the job before, as the keeper says; null: "
        "not asked.",
    )
    reading = ReadingAnswer(allow_null=True, help_text="The odometer; null: not read.")
    operations = OperationAnswer(many=True, help_text="What was done.")

    def get_trouble_codes(self, entry: Any) -> list[str]:
        return list(entry.job.trouble_codes.split())


class FitmentAnswer(Answer):
    """One part in one position, from fitting to removal."""

    id = whole("Id of the fitment.")
    position = given_text("Where on the vehicle, if there is more than one.")
    origin = one_of(Origin, "Where it came from.")
    brand = given_text("Its make.")
    start = one_of(FitmentStart, "How it came to be there.")
    fitted_on = day("Day of fitting; null: not known.", null=True)
    fitted_km = whole("Odometer at fitting, km; null: not known or in doubt.", null=True)
    fitted_at = whole(
        "Id of the job that fitted it, or found it.", null=True, source="fitted_at_id"
    )
    removed_on = day("Day of removal; null: in place.", null=True)
    removed_km = whole("Odometer at removal, km; null: in place or in doubt.", null=True)
    removed_at = whole("Id of the job that removed it.", null=True, source="removed_at_id")
    removed_because = given_code(RemovedBecause, "Why it was removed.")
    last_sound_km = whole("Odometer at which it was last known sound, km.", null=True)
    last_seen_same_at = whole(
        "Id of the last job that found it still in place.", null=True, source="last_seen_same_at_id"
    )
    cleaned_from = whole(
        "Id of the fitment it was before it was cleaned.", null=True, source="cleaned_from_id"
    )


class LifeAnswer(Answer):
    """A fitment on its own clock, as far as it was watched."""

    fitment = FitmentAnswer(help_text="The part and its fitting.")
    life_class = one_of(LifeClass, "The one class it has in the account of lives.")
    ending = one_of(Ending, "How it ended, or that it has not.")
    stratum = one_of(Stratum, "Whether the vehicle was first met in trouble.")
    entry_km = whole("Where watching began, km since fitting; null unless used.", null=True)
    exit_km = whole(
        "Where it ended or was last seen, km since fitting; null unless used.", null=True
    )
    normal_life = NormalLifeAnswer(
        allow_null=True, help_text="How long it ought to last; null where nothing is known."
    )


class PartAnswer(Answer):
    """All that is known of one part kind on a vehicle."""

    part_kind = text("Code of the part kind.")
    part_kind_name = text("Its name.")
    system = one_of(System, "The system that it belongs to.")
    lives = LifeAnswer(many=True, help_text="Every part that was in place, by position.")
    flags = FlagAnswer(many=True, help_text="Early failures; empty where there are none.")


class HistoryAnswer(Answer):
    """Everything recorded of a vehicle, and what became of its parts."""

    vehicle = VehicleAnswer(help_text="The vehicle.")
    as_of = day("Day of the newest record of its organisation; null: none.", null=True)
    readings = ReadingAnswer(many=True, help_text="Odometer readings, the oldest first.")
    cluster_replacements = ClusterReplacementAnswer(many=True, help_text="Replaced instruments.")
    jobs = JobAnswer(many=True, help_text="Jobs, the newest first.")
    parts = PartAnswer(many=True, help_text="By part kind.")


class EngineFamilyAnswer(Answer):
    """An engine family of which vehicles are in view."""

    id = whole("Id of the engine family.")
    name = text("Its name.")
    reviewed = yes_no("A person has confirmed that it is not another spelling.")
    vehicles = whole("Vehicles in view.", source="vehicle_count")
