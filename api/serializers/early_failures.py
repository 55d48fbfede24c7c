"""Flags and their verdicts as answers."""

from rest_framework import serializers

from api.serializers.fields import Answer, number, numbers, one_of, text, texts, whole, yes_no
from garage.lifetimes.status import Status
from garage.lifetimes.verdict.shares import Cause
from garage.outcomes.early_failures import FiredBy, FlagRule
from garage.outcomes.normal_life import NormalLifeRule
from garage.records.choices import Origin


class EarlyLifeAnswer(Answer):
    """One part of a flag that failed."""

    fitment = whole("Id of the fitment.")
    origin = one_of(Origin, "Where the part came from.")
    length_km = whole("How far it went, km.")
    normal_median_km = number("Median of the normal life it was held against, km.")
    normal_rule = one_of(NormalLifeRule, "Whose normal life that is.")
    normal_source = text("Where that normal life comes from.")
    p = number("Normal life's chance of failing by this length.")
    p_adjusted = number("The same with regard to how many lives were looked at.")
    alone = yes_no("This life by itself is early; if not, it is one of too many failures.")


class CountAnswer(Answer):
    """How likely so many failures within so far a distance are."""

    failures = whole("Failures, from the first known fitting to the last early failure.")
    distance_km = whole("The distance between, km.")
    probability_normal = number("Chance of so many or more by normal life.")
    probability_family = number(
        "The same by this engine family's own rate; null where it is not known.", null=True
    )
    p_adjusted = number(
        "The first with regard to how many vehicles were looked at; null where it was not tested.",
        null=True,
    )


class FitQualityAnswer(Answer):
    """How well a workshop's fits last on sound vehicles."""

    n = whole("Fits of the workshop.")
    bad_share = number("Share of them that were bad fits.")
    bad_share_lower = number("Lower 95 % limit.")
    bad_share_upper = number("Upper 95 % limit.")
    wear_rate = number("How fast the others wear, as a multiple of normal.")
    wear_rate_lower = number("Lower 95 % limit.")
    wear_rate_upper = number("Upper 95 % limit.")


class FamilyRateAnswer(Answer):
    """How often parts of an engine family fail, against normal life."""

    value = number("Multiple of normal life's rate.")
    lower = number("Lower 95 % limit.")
    upper = number("Upper 95 % limit.")
    n = whole("Lives of the family.")
    failed = number("Wear failures among them; expected, so it may be a fraction.")
    expected = number("Failures that normal life expects.")


class BasisAnswer(Answer):
    """The numbers behind a verdict."""

    early_failures = whole("Early failures that the verdict is about.")
    vehicle_lives = whole("Lives of the vehicle.")
    vehicle_failures = whole("Failures among them.")
    faulty_vehicle_share = number("Share of all vehicles held to be faulty upstream.")
    bad_fit_chances = numbers(
        "For each early failure: the chance that the fit was bad, were the vehicle sound."
    )
    fit_qualities = FitQualityAnswer(many=True, help_text="Of the workshops that fitted them.")
    family_rates = FamilyRateAnswer(many=True, help_text="Of the engine families.")


class VerdictAnswer(Answer):
    """Vehicle, repair, design or chance: four shares that add to 1."""

    vehicle = number("Share of a fault of this vehicle.", null=True)
    repair = number("Share of bad fitting or cleaning.", null=True)
    design = number("Share of the engine family's own rate.", null=True)
    chance = number("Share of chance.", null=True)
    leader = one_of(Cause, "The cause that leads by the margin; null where none does.", null=True)
    margin = number("How far a cause must lead, set by the organisation.")
    n = whole("Lives of the vehicle.")
    failed = whole("Failures among them.")
    status = one_of(Status, "ok, or a word for what the verdict lacks.")
    reason = text("The status in plain words; empty where it is ok.")
    rests_on = BasisAnswer(
        allow_null=True, help_text="The numbers behind it; null where there is no verdict."
    )


class FlagAnswer(Answer):
    """One vehicle's early failures of one part kind and position."""

    rule = one_of(FlagRule, "The rule: an early failure, or one with a failure before it.")
    fired_by = serializers.ListField(
        child=serializers.ChoiceField([(each.value, each.name) for each in FiredBy]),
        read_only=True,
        help_text="What made the flag: one life, the count of failures, or both.",
    )
    vehicle = whole("Id of the vehicle.")
    vehicle_ref = text("The organisation's own name for it.")
    organisation = text("Code of the organisation that keeps it.")
    engine_family = text("Name of the engine family; (not known) where the vehicle has none.")
    position = text("Where on the vehicle; empty where there is only one.")
    early = EarlyLifeAnswer(many=True, help_text="The parts that failed.")
    watched_lives = whole("Lives of this part kind and position that were watched.")
    failed_at_arrival = whole(
        "Parts already failed when the vehicle was first seen: named, not counted."
    )
    failed_uncounted = whole(
        "Other earlier failures, at a distance not known or at another position: not counted."
    )
    count = CountAnswer(
        allow_null=True, help_text="How unlikely the repeats are; null without an earlier failure."
    )
    verdict = VerdictAnswer(help_text="What is the likelier cause.")


class EarlyFailuresAnswer(Answer):
    """The flags, and what they were chosen among."""

    watched_lives = whole("Lives watched: what the step-up rule runs over.")
    failed_lives = whole("Failures among them.")
    false_discovery_level = number("Share of the flags that may be chance, on average.")
    reason = text("Why there can be no flags, where there can be none; else empty.")
    causes_not_told_apart = texts("Causes that these records cannot keep apart.")
    flags = FlagAnswer(many=True, help_text="Repeat failures first, the least likely first.")
