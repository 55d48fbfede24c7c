"""Early failures in the terminal: one entry a vehicle."""

from collections.abc import Iterator

from garage.lifetimes.wording import spoken
from garage.outcomes.terminal.words import counted, probability
from garage.outcomes.wire import Wire
from garage.outcomes.wording import ORIGINS

RULES = {"early_failure": "EARLY FAILURE", "early_repeat_failure": "EARLY REPEAT FAILURE"}


def early_failures_lines(section: Wire, *, most: int | None = None) -> Iterator[str]:
    """The flags, repeat failures first; with `most`, only so many of them."""
    early = section["early_failures"]
    flags = early["flags"]
    yield f"Early failures: {section['part_kind_name']}, records to {section['as_of']}"
    yield (
        f"{counted(len(flags), 'vehicle')} flagged; {spoken(early['watched_lives'])} lives "
        f"watched, {spoken(early['failed_lives'])} failed. At most "
        f"{100 * early['false_discovery_level']:.0f} % of the flags are expected to be chance."
    )
    if early["reason"]:
        yield early["reason"]
    if early["causes_not_told_apart"]:
        yield "Mind: " + "; ".join(early["causes_not_told_apart"])
    shown = flags if most is None else flags[:most]
    for flag in shown:
        yield ""
        yield from _flag_lines(flag)
    if len(shown) < len(flags):
        yield ""
        yield f"and {len(flags) - len(shown)} more: manage.py early_failures lists them all"


def _flag_lines(flag: Wire) -> Iterator[str]:
    where = f", {flag['position']}" if flag["position"] else ""
    yield (
        f"{RULES[flag['rule']]}  {flag['vehicle_ref']} ({flag['organisation']}), "
        f"{flag['engine_family']}{where}"
    )
    for life in flag["early"]:
        yield (
            f"    {spoken(life['length_km']):>9} km  {ORIGINS[life['origin']]}; half last "
            f"{spoken(round(life['normal_median_km'], -3))} km, chance of failing by then "
            f"{probability(life['p'])}{', early by itself' if life['alone'] else ''}"
        )
    count = flag["count"]
    if count is not None:
        yield (
            f"    {counted(count['failures'], 'failure')} in {spoken(count['distance_km'])} km: "
            f"{probability(count['probability_normal'])} by normal life, "
            f"{probability(count['probability_family'])} in this engine family"
        )
    if flag["failed_at_arrival"]:
        yield f"    and {flag['failed_at_arrival']} already failed when it was first seen"
    if flag["failed_uncounted"]:
        others = counted(flag["failed_uncounted"], "earlier failure")
        yield f"    and {others} at a distance not known, or elsewhere on the vehicle"
    yield f"    {verdict_words(flag['verdict'])}"


def verdict_words(verdict: Wire) -> str:
    """The four shares, and the cause where one leads."""
    if verdict["vehicle"] is None:
        return f"no verdict: {verdict['reason']}"
    shares = ", ".join(
        f"{cause} {100 * verdict[cause]:.0f} %"
        for cause in ("vehicle", "repair", "design", "chance")
    )
    leader = verdict["leader"]
    if leader is None:
        return f"likelier cause: none leads clearly ({shares})"
    return f"likelier cause: {leader.upper()} ({shares})"
