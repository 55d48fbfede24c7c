"""Part life as a table in the terminal."""

from collections.abc import Iterator

from garage.lifetimes.wording import spoken
from garage.outcomes.choices import Curve, LifeClass, Stratum
from garage.outcomes.terminal.words import NOT_KNOWN, STRATA, THIN, columns, share, thousand_km
from garage.outcomes.wire import Wire
from garage.outcomes.wording import ORIGINS, stay_away_told

SHOWN_AT_KM = (50_000, 100_000, 150_000, 200_000)
#: Lives below which a row says less than it takes to read it. Judgement.
FEWEST_LIVES = 10
CLASS_WORDS = {
    LifeClass.ARRIVED_FAILED: "failed before their vehicle was first seen",
    LifeClass.ODOMETER_IN_DOUBT: "fitted at an odometer in doubt",
    LifeClass.START_UNKNOWN: "fitted nobody knows when",
    LifeClass.ENTERED_IN_TROUBLE: "found on a vehicle that came in trouble",
    LifeClass.NO_WATCHED_TIME: "without any distance watched",
    LifeClass.USED: "used",
}


def part_life_lines(section: Wire, *, apart: bool = True) -> Iterator[str]:
    """The table, how to read it, and the account of lives.

    With `apart`, parts on vehicles that came in trouble are shown apart too.
    """
    yield f"Part life: {section['part_kind_name']}, records to {section['as_of']}"
    yield (
        f"{spoken(section['vehicles'])} vehicles of {', '.join(section['organisations'])}. "
        "Share still unfailed, in per cent, with 95 % interval."
    )
    yield "expected, the one to use: silent vehicles count by their chance to be customers still."
    yield "seen: silent vehicles leave at their last job (mostly too low)."
    yield "presumed: silent vehicles drive on unfailed (too high)."
    yield ""
    large = [group for group in section["part_life"] if group["lives"] >= FEWEST_LIVES]
    if not apart:
        large = [group for group in large if group["stratum"] == Stratum.TOGETHER]
    if large:
        yield from columns(_rows(large), left=3)
        yield f"{THIN} rests on fewer than 10 at risk"
        yield from _without_expected(large)
    else:
        yield "No part life can be given yet: too few fitments have a known start and distance."
    small = [
        f"{group['engine_family']} {ORIGINS[group['origin']]} ({group['lives']})"
        for group in section["part_life"]
        if group["stratum"] == Stratum.TOGETHER and group["lives"] < FEWEST_LIVES
    ]
    if small:
        yield f"Fewer than {FEWEST_LIVES} lives, not shown here (--json has them): " + ", ".join(
            small
        )
    yield ""
    yield from _normal_lines(section)
    yield ""
    yield from _account_lines(section)


def _rows(groups: list[Wire]) -> list[list[str]]:
    head = ["Engine family", "Origin", "Curve", "Lives", "Failed", "Covered"]
    head += [f"{km // 1000} thousand km" for km in SHOWN_AT_KM]
    head += ["Half failed by, thousand km"]
    rows = [head]
    family = ""
    for group in groups:
        covered = group["covered_share"]
        name = "" if group["engine_family"] == family else group["engine_family"]
        family = group["engine_family"]
        for place, curve in enumerate(group["curves"]):
            at = {figure["at_km"]: figure for figure in curve["survival"]}
            origin = STRATA[group["stratum"]] or ORIGINS[group["origin"]]
            shown = [name, origin] if place == 0 else ["", ""]
            counts = [spoken(group["lives"]), spoken(group["failed"])] if place == 0 else ["", ""]
            counts.append("" if place or covered is None else f"{100 * covered:.0f} %")
            rows.append(
                [
                    *shown,
                    _named(curve),
                    *counts,
                    *(share(at[km]) for km in SHOWN_AT_KM),
                    thousand_km(curve["median_km"]),
                ]
            )
    return rows


def _without_expected(groups: list[Wire]) -> Iterator[str]:
    """Why no silence could be judged, where that is so."""
    missing = (
        curve["median_km"]["reason"]
        for group in groups
        for curve in group["curves"]
        if curve["curve"] == Curve.EXPECTED and not curve["drawn"]
    )
    for reason in dict.fromkeys(missing):
        yield f"No expected figures where {NOT_KNOWN} stands in all of a row: {reason}."


def _named(curve: Wire) -> str:
    """The curve; from where it speaks, if too few were watched before."""
    start_km = curve["given_survival_to_km"]
    return curve["curve"] + ("" if start_km is None else f", past {spoken(start_km)} km")


def _normal_lines(section: Wire) -> Iterator[str]:
    normal = section["normal_life"]
    if normal["reason"]:
        yield normal["reason"]
    for row in [*normal["own"], *normal["by_origin"]]:
        whose = f"{row['organisation']}'s own, " if "organisation" in row else ""
        yield (
            f"Normal life, {whose}{ORIGINS[row['origin']]}: half fail by "
            f"{spoken(round(row['median_km'], -3))} km ({row['source']})"
        )


def _account_lines(section: Wire) -> Iterator[str]:
    account = section["account"]
    yield f"Account of lives: {spoken(account['fitments'])} fitments are known, of these"
    # A kept report does not keep the order of its fields.
    for each in LifeClass:
        yield f"  {spoken(account['classes'][each]):>7}  {CLASS_WORDS[each]}"
    endings = account["endings"]
    yield (
        f"  Of the used, {spoken(endings['failed'])} failed, "
        f"{spoken(endings['failed_by_other_fault'])} by another fault, "
        f"{spoken(endings['counted_failed'])} counted as failed and "
        f"{spoken(endings['counted_unfailed'])} as unfailed for want of a reason."
    )
    for capture in section["capture"]:
        failures = capture["failures"]
        if capture["sees_all_repairs"]:
            yield f"  {capture['organisation']} sees all repairs of its vehicles."
        else:
            yield (
                f"  {capture['organisation']}: {100 * failures['value']:.0f} % "
                f"({100 * failures['lower']:.0f}-{100 * failures['upper']:.0f}) of failures come "
                f"here; from {failures['here']} here and {failures['elsewhere']} found out, "
                f"and a prior of judgement. {stay_away_told(failures)}"
            )
    yield from visits_lines(section["visits"])


def visits_lines(rows: list[Wire]) -> Iterator[str]:
    """How the vehicles of each organisation come and leave, where that is known."""
    for row in rows:
        if row["leaving_a_year"] is not None:
            yield (
                f"  {row['organisation']}: a visit every {row['gap_days']:.0f} days or so; "
                f"{_leaving(row)} of the customers leave in a year, and "
                f"{100 * row['still_customers']:.0f} % of the vehicles are held to be customers "
                f"still{'; learnt from all in view' if row['of_all'] else ''}."
            )


def _leaving(visits: Wire) -> str:
    """A share in per cent, with its interval where it has one."""
    lower, upper = visits["leaving_a_year_lower"], visits["leaving_a_year_upper"]
    share = f"{100 * visits['leaving_a_year']:.0f} %"
    return share if lower is None else f"{share} ({100 * lower:.0f}-{100 * upper:.0f})"
