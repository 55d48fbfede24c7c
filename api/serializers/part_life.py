"""The account of lives, normal life and part life as answers."""

from api.serializers.fields import (
    Answer,
    day,
    number,
    numbers,
    one_of,
    text,
    whole,
    yes_no,
)
from api.serializers.figures import CaptureAnswer, FigureAnswer, FigureAtKmAnswer
from garage.lifetimes.status import Status
from garage.outcomes.choices import Curve, Stratum
from garage.outcomes.normal_life import NormalLifeRule
from garage.records.choices import Origin


class ClassesAnswer(Answer):
    """Fitments by class: each has one, the first that applies."""

    arrived_failed = whole("Had failed before the vehicle was first seen.")
    odometer_in_doubt = whole("The reading at fitting is in doubt.")
    start_unknown = whole("Not known at which odometer it was fitted.")
    entered_in_trouble = whole("Found on a vehicle that came first for trouble in this system.")
    no_watched_time = whole("Never watched while it ran.")
    used = whole("Used in the statistics.")


class EndingsAnswer(Answer):
    """How the used lives ended."""

    failed = whole("Removed because it failed.")
    failed_by_other_fault = whole("Destroyed by another fault: failed, and counted apart.")
    counted_failed = whole("Removed on an unplanned job, nobody said why: counted as failed.")
    removed_unfailed = whole("Removed sound or as planned.")
    counted_unfailed = whole("Removed on a planned job, nobody said why: counted as unfailed.")
    replaced_elsewhere = whole("Found replaced elsewhere; it leaves at the last look before.")
    removal_km_not_known = whole("Removed at an odometer in doubt; it leaves before.")
    still_in_place = whole("Not removed.")


class AccountAnswer(Answer):
    """The account of lives: every known fitment has one class, and the classes add up."""

    fitments = whole("All fitments known from a row.")
    classes = ClassesAnswer(help_text="How many of each class; they add up to the fitments.")
    endings = EndingsAnswer(help_text="How the used lives ended; they add up to the used.")
    closes = yes_no("Whether both add up.")


class FamilyAccountAnswer(AccountAnswer):
    engine_family = text("Name of the engine family; (not known) where the vehicle has none.")
    origin = one_of(Origin, "Where the parts came from.")


class LooksAnswer(Answer):
    """Looks at the part in place, taken and missing, and what the missing ones would tell."""

    since = day("Visits are counted from the day after this one.")
    visits = whole("Visits since, for something else than the part's system.")
    looked = whole("Of them, those at which somebody looked whether it is the one last recorded.")
    missed = whole(
        "Failures repaired here, ever, whose vehicle came again for something else unlooked at."
    )
    limits = numbers(
        "Lower and upper 95 % limit of the capture share; null where it has none.", null=True
    )
    limits_with_all = numbers(
        "The same at today's share, had those failures all been looked at.", null=True
    )
    surviving = number("A share of surviving parts, as an example.")
    survival_limits = numbers(
        "Limits of that share that doubt about the capture share alone leaves; null without any.",
        null=True,
    )
    survival_limits_with_all = numbers(
        "The same, had those failures all been looked at.", null=True
    )


class OrganisationCaptureAnswer(Answer):
    """What part of an organisation's failures and comebacks comes to it."""

    organisation = text("Code of the organisation.")
    sees_all_repairs = yes_no("Sees every repair of its vehicles, so that its shares are 1.")
    failures = CaptureAnswer(help_text="Of failures of the part kind.")
    comebacks = CaptureAnswer(help_text="Of comebacks.")
    looks = LooksAnswer(
        allow_null=True, help_text="Looks of the part kind; null where all repairs are seen."
    )


class OrganisationVisitsAnswer(Answer):
    """How an organisation's vehicles come and leave, learnt from their visits and silences."""

    organisation = text("Code of the organisation.")
    vehicles = whole("Its vehicles that have been here.")
    of_all = yes_no("Whether the law is that of all in view, its own vehicles being too few.")
    gap_days = number("Usual time between visits, days; null where there is no law.", null=True)
    leaving_a_year = number(
        "Share of the customers that leaves in a year; null where there is no law.", null=True
    )
    leaving_a_year_lower = number("Lower 95 % limit; null where there is none.", null=True)
    leaving_a_year_upper = number("Upper 95 % limit; null where there is none.", null=True)
    still_customers = number(
        "Of the vehicles that have been here, the share held to be customers still.", null=True
    )
    n = whole("Vehicles that the law was learnt from.")
    status = one_of(Status, "ok, or a word for why there is no law.")
    reason = text("The status in plain words; empty where it is ok.")


class NormalLifeAnswer(Answer):
    """How long a part of one origin ought to last, and the law behind it."""

    origin = one_of(Origin, "Origin that it holds for.")
    rule = one_of(
        NormalLifeRule,
        "Whose value it is: the organisation's own, the register's "
        "(from sound vehicles in view), or the catalogue's.",
    )
    source = text("Where it comes from.")  # type: ignore[assignment]
    median_km = number("The distance by which half have failed, km.")
    median_lower_km = number("Lower 95 % limit, km; null where it was given.", null=True)
    median_upper_km = number("Upper 95 % limit, km; null where it was given.", null=True)
    weibull_shape = number("Shape of the Weibull law.")
    weibull_scale_km = number("Scale of the Weibull law, km.")
    n = whole("Lives behind it; 0 where it was given.")
    failed = number("Wear failures among them; expected, so it may be a fraction.")


class OwnNormalLifeAnswer(NormalLifeAnswer):
    organisation = text("Code of the organisation whose value it is.")


class NormalLivesAnswer(Answer):
    """Normal life of each origin."""

    reason = text("Why nothing is known, where nothing is; else empty.")
    by_origin = NormalLifeAnswer(many=True, help_text="For each origin.")
    own = OwnNormalLifeAnswer(many=True, help_text="Organisations' own values, which go first.")


class WeibullAnswer(Answer):
    """A Weibull law fitted to the same lives."""

    shape = FigureAnswer(help_text="Above 1: parts wear out; below 1: they fail young.")
    scale_km = FigureAnswer(help_text="The distance by which 63 % have failed, km.")
    tenth_failed_km = FigureAnswer(help_text="The distance by which a tenth have failed, km.")


class CurvePointAnswer(Answer):
    """One point of the drawn curve."""

    km = whole("Distance, km.")
    survival = number("Share that has not failed; null where too few were at risk.", null=True)
    lower = number("Lower 95 % limit.", null=True)
    upper = number("Upper 95 % limit.", null=True)


class CurveAnswer(Answer):
    """One survival curve, with its figures."""

    curve = one_of(
        Curve,
        "expected, the one to use: after its last job a vehicle counts with the chance that it "
        "is still a customer; seen: it leaves at its last job, mostly too low; presumed: it "
        "drives on unfailed to today, too high.",
    )
    given_survival_to_km = whole(
        "Where the curve begins, km, if not at 0: it holds for parts that have come so far.",
        null=True,
    )
    survival = FigureAtKmAnswer(many=True, help_text="Share that has not failed at given km.")
    median_km = FigureAnswer(help_text="The distance by which half have failed, km.")
    weibull = WeibullAnswer(help_text="The law fitted to the same lives.")
    drawn = CurvePointAnswer(many=True, help_text="The curve for drawing, every 10 000 km.")


class IntervalAnswer(Answer):
    """Failures known only to lie between a last sound odometer and where they were found."""

    last_sound_km = whole("Last known sound, km since fitting.")
    found_failed_km = whole("Found failed, km since fitting.")
    count = whole("How many.")


class GroupAnswer(Answer):
    """Part life of one engine family, origin and stratum."""

    engine_family = text("Name of the engine family; (not known) where the vehicle has none.")
    origin = one_of(Origin, "Where the parts came from.")
    stratum = one_of(
        Stratum, "Vehicles first met in trouble (on_arrivals), the others, or both together."
    )
    lives = whole("Used lives.")
    failed = whole("Failures among them.")
    vehicles = whole("Vehicles that they were on.")
    watched_km = whole("Distance watched, km.")
    covered_share = number(
        "Share of the watching time really covered by visits; null where there is none.", null=True
    )
    curves = CurveAnswer(
        many=True,
        help_text="Expected, seen and presumed; expected without figures, but with the reason, "
        "where too little is known of visits.",
    )
    intervals = IntervalAnswer(
        many=True,
        help_text="Failures with a last sound odometer; the curves count them where found.",
    )
