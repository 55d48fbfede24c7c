"""What logs of drives and burns tell, in answers."""

from rest_framework import serializers

from api.serializers.fields import Answer, number, one_of, text, texts, whole
from garage.evidence.drives.burn import BurnStatus
from garage.evidence.drives.rate_band import RateBand
from garage.evidence.drives.soot_rate import RateStatus
from garage.records.choices import JobPhase


class RowFaultAnswer(Answer):
    """A cell or a row of the table that was not used."""

    line = whole("Its line in the text, the head being 1.")
    column = text("The column; null for the whole row.", null=True)
    reason = text("Why, with what came.")


class SootPerKmAnswer(Answer):
    """Soot that the vehicle reckons to add per km between burns."""

    status = one_of(RateStatus, "Whether it is told.")
    reason = text("The figure in words, or why it is not known.")
    value_g_per_km = number("Soot per km, g/km; null where the log is too short.", null=True)
    lower_g_per_km = number("Lower 95 % limit, g/km.", null=True)
    upper_g_per_km = number("Upper 95 % limit, g/km.", null=True)
    covered_km = number("Distance between burns that it rests on, km.")
    needed_km = number(
        "About what a longer log would have to cover, km; null where it is long enough or that "
        "cannot be told.",
        null=True,
    )
    stretches = whole("Stretches whose rises were taken as observations.")
    band = one_of(RateBand, "How much that is for a car; said where both limits agree.")
    band_words = text("The same in words.")


class TargetAnswer(Answer):
    """A mass of soot, as a range where it is not known better."""

    least_g = number("Least, g.")
    most_g = number("Most, g.")
    words = text("What it rests on.")


class ReachAnswer(Answer):
    """Distance to a mass of soot, at the limits of soot per km."""

    near_km = number("Nearest, km; null where it is not reached or not known.", null=True)
    far_km = number("Farthest, km; null where it is not reached or not known.", null=True)
    reason = text("The range in words, or why there is none.")


class BurnAnswer(Answer):
    """A burn, or what looks like one."""

    status = one_of(BurnStatus, "What it was.")
    reason = text("Why, with the figures.")
    fall_g = number("How far soot fell, g; null where it did not.", null=True)
    end_g = number("To what it fell, g.", null=True)
    fall_min = number("In which time, min.", null=True)
    fastest_g_per_min = number("Greatest fall within a minute, g/min.", null=True)
    soot_fall_inlet_c = number(
        "Highest temperature before the filter while soot fell, °C; null where none was logged.",
        null=True,
    )
    hot_min = number("Time above the heat of a burn, min.", null=True)
    start_s = number("When soot began to fall, s since the first row.", null=True)
    end_s = number("When it was lowest, s since the first row.", null=True)
    end_km = number("The distance column then, km; null where none was read.", null=True)


class DriveAnswer(Answer):
    """All that one log tells."""

    rows = whole("Rows read.")
    fault_count = whole("Cells and rows that were not used.")
    faults = RowFaultAnswer(many=True, help_text="The first hundred of them.")
    remarks = texts("Units taken as given, and columns that were not used.")
    soot_per_km = SootPerKmAnswer(help_text="Soot per km.")
    soot_now_g = number("The last soot in the log, g; null where none was read.", null=True)
    trigger = TargetAnswer(help_text="Soot at which a burn starts.")
    limit = TargetAnswer(allow_null=True, help_text="Most soot for a burn; null: not known.")
    limit_reason = text("Why the limit is not known; null where it is.", null=True)
    to_burn = ReachAnswer(help_text="From the end of the log to the next burn.")
    to_limit = ReachAnswer(help_text="From the end of the log to the most soot for a burn.")
    between_burns = ReachAnswer(help_text="From no soot to a burn: what this rate lets expect.")
    burns = BurnAnswer(many=True, help_text="In order; one that says so where soot did not fall.")
    no_burns = text("Why no burn can be judged; null where one was looked for.", null=True)
    next = texts("What to do next, in order.")


class JobDriveAnswer(Answer):
    """A log that is kept at a job."""

    id = whole("Its number.")
    title = text("What was driven.")
    phase = one_of(JobPhase, "When it was made.")
    added_at = serializers.DateTimeField(read_only=True, help_text="When it was added.")
    told = DriveAnswer(
        allow_null=True,
        help_text="What it tells, by the job's readings; null where it can no longer be read.",
    )
    unread = text("Why it can no longer be read; null where it can.", null=True)
