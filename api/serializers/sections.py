"""The sections of a report as answers: part life, comebacks, early failures."""

from rest_framework import serializers

from api.serializers.early_failures import EarlyFailuresAnswer
from api.serializers.fields import Answer, day, one_of, text, texts, whole
from api.serializers.figures import FigureAtDaysAnswer, FigureAtKmAnswer
from api.serializers.part_life import (
    AccountAnswer,
    FamilyAccountAnswer,
    GroupAnswer,
    NormalLivesAnswer,
    OrganisationCaptureAnswer,
    OrganisationVisitsAnswer,
)
from garage.records.choices import System
from garage.records.index_jobs import STRENGTH


class HeadAnswer(Answer):
    """What every section begins with: of what, whose, as of when."""

    form = whole("Version of this form; raised when it changes in a way readers must know of.")
    as_of = day("Records up to this day are in it.")
    part_kind = text("Code of the part kind.")
    part_kind_name = text("Its name.")
    system = one_of(System, "The system that it belongs to.")
    organisations = texts("Codes of the organisations whose records are in it.")
    vehicles = whole("Vehicles of these organisations.")


class PartLifeSection(HeadAnswer):
    """How long parts last, with the account of lives."""

    account = AccountAnswer(help_text="Account of lives of the whole view.")
    capture = OrganisationCaptureAnswer(many=True, help_text="Capture shares.")
    visits = OrganisationVisitsAnswer(
        many=True, help_text="How vehicles come and leave: what the expected curve rests on."
    )
    accounts = FamilyAccountAnswer(
        many=True, help_text="Accounts of the engine families and origins asked for."
    )
    normal_life = NormalLivesAnswer(help_text="How long parts ought to last.")
    part_life = GroupAnswer(many=True, help_text="By engine family, origin and stratum.")


class ComebackRatesAnswer(Answer):
    """Comebacks after one operation."""

    engine_family = text("Name of the engine family; (all) for all together.")
    operation = one_of(STRENGTH, "Strongest operation of the index jobs.")
    jobs = whole("Index jobs.")
    comebacks = whole("Comebacks seen here.")
    other_ends = whole("Jobs after which the vehicle left for another reason.")
    vehicles = whole("Vehicles of the index jobs.")
    without_km = whole("Jobs without an odometer that stands: not in the figures by km.")
    within_days = FigureAtDaysAnswer(many=True, help_text="Share come back within given days.")
    within_km = FigureAtKmAnswer(many=True, help_text="Share come back within given km.")


class ComebacksSection(HeadAnswer):
    """How often vehicles come back, by operation."""

    capture = OrganisationCaptureAnswer(many=True, help_text="Capture shares.")
    comebacks = ComebackRatesAnswer(many=True, help_text="By operation, the strongest first.")


class EarlyFailuresSection(HeadAnswer):
    """Parts that failed far short of normal life, with verdicts."""

    account = AccountAnswer(help_text="Account of lives of the whole view.")
    normal_life = NormalLivesAnswer(help_text="How long parts ought to last.")
    early_failures = EarlyFailuresAnswer(help_text="The flags.")


class MadeAt(Answer):
    """When the report that an answer was cut from was made: only in the API."""

    made_at = serializers.DateTimeField(
        read_only=True, help_text="When the report was made; imports have it made anew."
    )


class PartLifeResponse(PartLifeSection, MadeAt):
    """Part life, ready made."""


class ComebacksResponse(ComebacksSection, MadeAt):
    """Comebacks, ready made."""


class EarlyFailuresResponse(EarlyFailuresSection, MadeAt):
    """Early failures, ready made."""
