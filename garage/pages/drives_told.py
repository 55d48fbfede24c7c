"""A job's logs as its page tells them: soot per km, reach, each burn, and what to do next."""

from dataclasses import dataclass

from garage.evidence.drives.burn import BurnJudged, BurnStatus
from garage.evidence.drives.burns import BurnFound
from garage.evidence.drives.intervals import BurnIntervals
from garage.evidence.drives.judged import DriveJudged
from garage.evidence.drives.reach_range import ReachRange
from garage.evidence.drives.told import BURN_WORDS, FAULTS_TOLD, fault_words
from garage.evidence.jobs.drives import IntervalFrom, IntervalTold, JobDrives, LogJudged
from garage.pages.cautions import PRACTICE
from garage.pages.charts.chart import Chart, Table
from garage.pages.charts.drive import drive_charts
from garage.pages.words import NO_BREAK, UNKNOWN, day, kilometres

#: Logs that are drawn, the newest; older ones keep their numbers. Judgement.
CHARTS_MOST = 4
INTERVALS_FROM = {
    IntervalFrom.LOGGED: "between two logged burns",
    IntervalFrom.RECKONED: "the vehicle's own mean",
    IntervalFrom.OPEN: "since the last burn, still running",
}


@dataclass(frozen=True)
class BurnTold:
    """A burn in words; figures that were not read say so."""

    verdict: str
    where: str
    reason: str
    told: bool
    facts: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class LogTold:
    """One log; `judged` is None where it can no longer be read."""

    of: LogJudged
    judged: DriveJudged | None
    facts: tuple[tuple[str, str, str], ...]
    burns: tuple[BurnTold, ...]
    faults: tuple[str, ...]
    more_faults: int
    charts: tuple[Chart, ...]


def logs_told(drives: JobDrives, burn_c: float) -> list[LogTold]:
    """The logs, the newest first; `burn_c` is the temperature that proves a burn."""
    newest = list(reversed(drives.logs))
    return [_log_told(each, burn_c, drawn=place < CHARTS_MOST) for place, each in enumerate(newest)]


def rate_words(judged: DriveJudged | None) -> str:
    """Soot per km with its limits: 0.042 g/km (0.040 to 0.043)."""
    if judged is None or judged.rate.rate_g_per_km is None:
        return UNKNOWN
    rate = judged.rate
    return (
        f"{rate.rate_g_per_km:.3f}{NO_BREAK}g/km ({rate.low_g_per_km:.3f} to "
        f"{rate.high_g_per_km:.3f})"
    )


def summary_table(drives: JobDrives) -> Table | None:
    """One row a log, in the order in which they were added; None for fewer than two."""
    if len(drives.logs) < 2:
        return None
    return Table(
        caption="Soot per km with 95 % limits, between burns; as the vehicle reckons it.",
        head=("Log", "When", "Soot per km", "Covered", "Last burn"),
        rows=tuple(_summary_row(each) for each in drives.logs),
        worded=frozenset({1, 4}),
    )


def _summary_row(each: LogJudged) -> tuple[str, ...]:
    judged = each.judged
    burn = judged.burns[-1].burn.status if judged is not None and judged.burns else None
    return (
        each.log.title,
        str(each.log.get_phase_display()),
        rate_words(judged),
        kilometres(None if judged is None else judged.rate.covered_km),
        UNKNOWN if burn is None else BURN_WORDS[burn],
    )


def intervals_table(told: tuple[IntervalTold, ...]) -> Table | None:
    """Distances between burns of the vehicle; None where there is none."""
    if not told:
        return None
    return Table(
        caption="Of this vehicle, up to this job.",
        head=("Job", "Distance", "From"),
        rows=tuple(
            (
                f"{each.job_ref or each.job_id}, {day(each.opened_on)}",
                _interval_words(each),
                INTERVALS_FROM[each.where_from],
            )
            for each in told
        ),
        worded=frozenset({2}),
    )


def _interval_words(told: IntervalTold) -> str:
    words = kilometres(told.km)
    return f"{words} or more" if told.where_from is IntervalFrom.OPEN else words


def trend_words(followed: BurnIntervals) -> str:
    """Mean with its limits and what the order shows, in words."""
    mean = kilometres(followed.mean_km)
    if followed.low_km is None or followed.high_km is None:
        return f"{mean}, one interval; a trend takes five"
    limits = f"{followed.low_km:.0f} to {followed.high_km:.0f}"
    word = followed.trend.value.replace("_", " ")
    return f"{mean} on average (95 % limits {limits}): {word}. {followed.reason.capitalize()}"


def _log_told(each: LogJudged, burn_c: float, *, drawn: bool) -> LogTold:
    judged, drive = each.judged, each.drive
    if judged is None or drive is None:
        return LogTold(each, None, (), (), (), 0, ())
    faults = drive.faults
    return LogTold(
        of=each,
        judged=judged,
        facts=_facts(judged),
        burns=tuple(_burn_told(found) for found in judged.burns),
        faults=tuple(fault_words(fault) for fault in faults[:FAULTS_TOLD]),
        more_faults=max(0, len(faults) - FAULTS_TOLD),
        charts=drive_charts(drive, judged, burn_c, name=f"log-{each.log.pk}") if drawn else (),
    )


def _facts(judged: DriveJudged) -> tuple[tuple[str, str, str], ...]:
    """Name, figure, and what it rests on."""
    rate, targets = judged.rate, judged.targets
    rested = rate.reason
    if rate.rate_g_per_km is not None:
        rested = (
            f"{judged.band.words}; over {rate.covered_km:.0f} km without the burns, from "
            f"{rate.blocks} stretches, 95 % limits"
        )
    limit = targets.limit
    return (
        ("Soot per km", rate_words(judged), rested),
        ("To the next burn", reach_words(judged.to_burn), f"starts at {targets.trigger.words}"),
        (
            "To the limit for a burn",
            reach_words(judged.to_limit),
            judged.to_limit.reason
            if limit is None
            else f"{limit.words}; the filter lamp is usually on before ({PRACTICE})",
        ),
        (
            "Between burns, to expect",
            reach_words(judged.between_burns),
            "from no soot to where a burn starts, at this rate",
        ),
    )


def reach_words(reach: ReachRange) -> str:
    """The range in km; not known, or beyond what is looked at, where there is none."""
    if reach.near_km is None:
        return "not within reach" if "is not reached" in reach.reason else UNKNOWN
    if reach.far_km is None:
        return f"{kilometres(reach.near_km)} or more"
    if reach.far_km == 0:
        return "reached"
    return f"{round(reach.near_km)} to {kilometres(reach.far_km)}"


def _burn_told(found: BurnFound) -> BurnTold:
    burn = found.burn
    fell = burn.fall_g is not None
    return BurnTold(
        verdict=BURN_WORDS[burn.status] if fell or _ended(burn) else "none seen",
        where=_place(found),
        reason=burn.reason,
        told=burn.status is not BurnStatus.CANNOT_BE_TOLD,
        facts=_burn_facts(burn) if fell else (),
    )


def _place(found: BurnFound) -> str:
    """Where in the log it ended; empty where soot did not fall."""
    if found.end_s is None:
        return ""
    after = f"after {found.end_s / 60:.0f}{NO_BREAK}min"
    return after if found.end_km is None else f"{after}, at {kilometres(found.end_km)}"


def _ended(burn: BurnJudged) -> bool:
    """Whether a burn began and ended though soot did not fall."""
    return burn.status is BurnStatus.BROKEN_OFF


def _burn_facts(burn: BurnJudged) -> tuple[tuple[str, str], ...]:
    return (
        ("Soot fell by", _figure(burn.fall_g, "g", 1)),
        ("To", _figure(burn.end_g, "g", 1)),
        ("In", _figure(burn.fall_min, "min", 1)),
        ("Fastest", _figure(burn.fastest_g_per_min, "g/min", 1)),
        ("Hottest before the filter", _figure(burn.soot_fall_inlet_c, "°C", 0)),
        ("Hot for", _figure(burn.hot_min, "min", 1)),
    )


def _figure(value: float | None, unit: str, digits: int) -> str:
    return UNKNOWN if value is None else f"{value:.{digits}f}{NO_BREAK}{unit}"
