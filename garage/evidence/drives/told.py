"""One log as lines of words."""

from collections.abc import Iterator

from garage.evidence.drives.burn import BurnStatus
from garage.evidence.drives.burns import BurnFound
from garage.evidence.drives.judged import DriveJudged
from garage.evidence.drives.log import Drive, RowFault
from garage.evidence.drives.next_steps import drive_next

BURN_WORDS = {
    BurnStatus.COMPLETED: "completed",
    BurnStatus.BROKEN_OFF: "broken off",
    BurnStatus.RESET_WITHOUT_BURN: "value set back, no burn shown",
    BurnStatus.CANNOT_BE_TOLD: "cannot be told",
}
#: Faults that are listed; the rest are counted. Judgement, no source.
FAULTS_TOLD = 20


def fault_words(fault: RowFault) -> str:
    """One fault of a table, with its line.

    Examples
    --------
    >>> fault_words(RowFault(3, "soot_g", "a number has digits and one decimal sign; got `17,x`"))
    'line 3, soot_g: a number has digits and one decimal sign; got `17,x`'
    """
    where = f"line {fault.line}" if fault.column is None else f"line {fault.line}, {fault.column}"
    return f"{where}: {fault.reason}"


def drive_lines(drive: Drive, judged: DriveJudged) -> Iterator[str]:
    """What a log tells, a line each; distances in km, masses in g.

    Examples
    --------
    >>> from garage.evidence.drives.judged import drive_judged
    >>> from garage.evidence.drives.targets import FilterSaid, targets_of
    >>> log = Drive(2, time_s=(0.0, 60.0), soot_g=(6.0, 6.1))
    >>> lines = list(drive_lines(log, drive_judged(log, targets_of(FilterSaid()))))
    >>> lines[0]
    'Rows read: 2. Left out or in part: 0.'
    >>> lines[1]
    'Soot per km: not known: the log has no distance'
    """
    yield f"Rows read: {drive.row_count}. Left out or in part: {len(drive.faults)}."
    yield from drive.remarks
    for fault in drive.faults[:FAULTS_TOLD]:
        yield f"  {fault_words(fault)}"
    if len(drive.faults) > FAULTS_TOLD:
        yield f"  and {len(drive.faults) - FAULTS_TOLD} more"
    rate = judged.rate
    if rate.rate_g_per_km is None:
        yield f"Soot per km: not known: {rate.reason}"
    else:
        yield f"Soot per km: {rate.reason}, from {rate.blocks} stretches: {judged.band.words}"
    yield f"Next burn: {judged.to_burn.reason}"
    yield f"  A burn starts at: {judged.targets.trigger.words}"
    limit = judged.targets.limit
    yield f"Limit for a burn: {judged.to_limit.reason}"
    if limit is not None:
        yield f"  The limit: {limit.words}"
    yield f"Between burns: {judged.between_burns.reason}"
    yield from _burns(judged)
    for each in drive_next(judged):
        yield f"Next: {each}"


def place_words(found: BurnFound) -> str:
    """Where in the log a burn ended; empty where soot did not fall.

    Examples
    --------
    >>> from garage.evidence.drives.burn import BurnJudged
    >>> burn = BurnJudged(BurnStatus.COMPLETED, "16 g", 1)
    >>> place_words(BurnFound(burn, 0.0, 1200.0, 141_310.6))
    'after 20.0 min, at 141310.6 km'
    """
    if found.end_s is None:
        return ""
    after = f"after {found.end_s / 60:.1f} min"
    return after if found.end_km is None else f"{after}, at {found.end_km:.1f} km"


def _burns(judged: DriveJudged) -> Iterator[str]:
    if judged.no_burns:
        yield f"Burns: {judged.no_burns}"
    for count, found in enumerate(judged.burns, 1):
        where = place_words(found)
        name = f"Burn {count}" if where else "Burns"
        status = BURN_WORDS[found.burn.status]
        yield f"{name}: {status}{f' ({where})' if where else ''}. {found.burn.reason}"
