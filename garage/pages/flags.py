"""An early failure as it is told on a page: what happened, how likely, and the likelier cause."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from garage.outcomes.wire import Wire
from garage.pages.history_rows import current_mark
from garage.pages.words import (
    CAUSE_MEANINGS,
    CAUSES,
    FIRED_BY,
    NORMAL_RULES,
    ORIGINS,
    RULES,
    about_kilometres,
    count,
    kilometres,
    odds,
    percent,
    times,
)
from garage.records.models import Vehicle


@dataclass(frozen=True)
class Share:
    """One of the four shares; `start` and `width` are its place in the bar, in per cent."""

    cause: str
    name: str
    meaning: str
    percent: str
    start: float
    width: float
    leads: bool


@dataclass(frozen=True)
class FlagTold:
    """What a page says of one flag."""

    rule: str
    rule_words: str
    fired_by: str
    vehicle_id: int
    on_record: bool
    """False where the vehicle has left the records since the report was made."""
    mark: str
    vehicle_ref: str
    organisation: str
    engine_family: str
    position: str
    lead: str
    counted: str
    arrived: str
    lives: tuple[str, ...]
    leader: str | None
    shares: tuple[Share, ...]
    verdict: str
    rests_on: tuple[str, ...]


def flags_told(flags: Iterable[Wire]) -> list[FlagTold]:
    """Flags with their vehicles and marks, in two queries whatever their number."""
    given = list(flags)
    vehicles = (
        Vehicle.objects.filter(pk__in=[flag["vehicle"] for flag in given])
        .prefetch_related("marks")
        .in_bulk()
    )
    return [flag_told(flag, vehicles.get(flag["vehicle"])) for flag in given]


def flag_told(flag: Wire, vehicle: Vehicle | None) -> FlagTold:
    verdict = flag["verdict"]
    return FlagTold(
        rule=flag["rule"],
        rule_words=RULES[flag["rule"]],
        fired_by=" and because ".join(FIRED_BY[each] for each in flag["fired_by"]),
        vehicle_id=flag["vehicle"],
        on_record=vehicle is not None,
        mark="" if vehicle is None else current_mark(vehicle),
        vehicle_ref=flag["vehicle_ref"],
        organisation=flag["organisation"],
        engine_family=flag["engine_family"],
        position=flag["position"],
        lead=_lead(flag),
        counted=_counted(flag),
        arrived=_arrived(flag),
        lives=tuple(_lives(flag)),
        leader=verdict["leader"],
        shares=_shares(verdict),
        verdict=_verdict(verdict),
        rests_on=tuple(_rests_on(flag)),
    )


def _lead(flag: Wire) -> str:
    """The flag in one line."""
    told = flag["count"]
    if told is not None:
        plural = "" if told["failures"] == 1 else "s"
        return (
            f"{times(told['failures']).capitalize()} failure{plural} in "
            f"{kilometres(told['distance_km'])}"
        )
    shortest = min(flag["early"], key=lambda life: float(life["p"]))
    return f"Failed after {kilometres(shortest['length_km'])}"


def _lives(flag: Wire) -> Iterator[str]:
    for life in flag["early"]:
        yield (
            f"{ORIGINS[life['origin']].capitalize()}: failed after "
            f"{kilometres(life['length_km'])}. Half of such parts last "
            f"{about_kilometres(life['normal_median_km'])} ({NORMAL_RULES[life['normal_rule']]}); "
            f"the chance of failing by then is {odds(life['p'])}."
        )


def _counted(flag: Wire) -> str:
    """How likely so many failures in so few km are; empty where only single lives count."""
    told = flag["count"]
    if told is None:
        return ""
    return (
        f"The chance of so many in so few km: {odds(told['probability_normal'])} under normal "
        f"life, {odds(told['probability_family'])} under this engine family's own."
    )


def _arrived(flag: Wire) -> str:
    arrived = flag["failed_at_arrival"]
    if not arrived:
        return ""
    return (
        f"{times(arrived).capitalize()} more had already failed when the vehicle was first seen; "
        "named here, not counted."
    )


def _shares(verdict: Wire) -> tuple[Share, ...]:
    if verdict["vehicle"] is None:
        return ()
    shares = []
    start = 0.0
    for cause, name in CAUSES.items():
        width = 100.0 * verdict[cause]
        shares.append(
            Share(
                cause=cause,
                name=name,
                meaning=CAUSE_MEANINGS[cause],
                percent=percent(verdict[cause]),
                start=round(start, 2),
                width=round(width, 2),
                leads=verdict["leader"] == cause,
            )
        )
        start += width
    return tuple(shares)


def _verdict(verdict: Wire) -> str:
    if verdict["vehicle"] is None:
        reason = verdict["reason"] or verdict["status"].replace("_", " ")
        return f"Vehicle, repair or design: it cannot be told ({reason})."
    if verdict["leader"] is None:
        return (
            "No cause leads clearly: one is named only where its share leads the next by "
            f"{100 * verdict['margin']:.0f} points."
        )
    return f"The likelier cause: {CAUSES[verdict['leader']]}."


def _rests_on(flag: Wire) -> Iterator[str]:
    verdict = flag["verdict"]
    basis = verdict["rests_on"]
    if basis is None:
        return
    lives, failures = basis["vehicle_lives"], basis["vehicle_failures"]
    yield (
        f"This vehicle: {times(failures)} failed of {count(lives)} watched "
        f"{'part' if lives == 1 else 'parts'}."
    )
    yield (
        f"Of all vehicles, {percent(basis['faulty_vehicle_share'])} are judged to have a fault "
        "upstream."
    )
    for chance in basis["bad_fit_chances"]:
        if chance > 0:
            yield f"Were the vehicle sound: {percent(chance)} that a part was a bad fit or clean."
    for fitter in basis["fit_qualities"]:
        lower, upper = percent(fitter["bad_share_lower"]), percent(fitter["bad_share_upper"])
        yield (
            f"Parts fitted or cleaned by the same workshop: {percent(fitter['bad_share'])} "
            f"({lower} to {upper}) judged bad, of {count(fitter['n'])} lives."
        )
    for rate in basis["family_rates"]:
        yield (
            f"Engine family {flag['engine_family']}: fails {rate['value']:.1f} times "
            f"({rate['lower']:.1f} to {rate['upper']:.1f}) as often as normal, from "
            f"{count(rate['n'])} lives."
        )
    if verdict["status"] != "ok" and verdict["reason"]:
        yield verdict["reason"].capitalize()
