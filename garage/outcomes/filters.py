"""Parts of a report in its wire form: one section, one family, one origin."""

from garage.outcomes.comeback_rates import ALL_FAMILIES
from garage.outcomes.wire import Wire

_HEAD = ("form", "as_of", "part_kind", "part_kind_name", "system", "organisations", "vehicles")


def part_life_section(
    report: Wire, *, engine_family: str | None = None, origin: str | None = None
) -> Wire:
    """Part life with the account of lives, capture shares and normal life.

    `account` is that of the whole view; `accounts` are those of the families and origins asked
    for.
    """

    def asked(row: Wire) -> bool:
        return _is(row["engine_family"], engine_family) and _is(row["origin"], origin)

    return {
        **_head(report),
        "account": report["account"],
        "capture": report["capture"],
        "visits": report["visits"],
        "accounts": [row for row in report["accounts"] if asked(row)],
        "normal_life": report["normal_life"],
        "part_life": [row for row in report["part_life"] if asked(row)],
    }


def comebacks_section(report: Wire, *, engine_family: str | None = None) -> Wire:
    """Comebacks by operation: of all families together, or of the one asked for."""
    wanted = ALL_FAMILIES if engine_family is None else engine_family
    return {
        **_head(report),
        "capture": report["capture"],
        "comebacks": [row for row in report["comebacks"] if _is(row["engine_family"], wanted)],
    }


def early_failures_section(
    report: Wire, *, engine_family: str | None = None, origin: str | None = None
) -> Wire:
    """The flags; those with an early life of the origin asked for."""
    early = report["early_failures"]
    flags = [
        flag
        for flag in early["flags"]
        if _is(flag["engine_family"], engine_family)
        and (origin is None or any(life["origin"] == origin for life in flag["early"]))
    ]
    return {
        **_head(report),
        "account": report["account"],
        "normal_life": report["normal_life"],
        "early_failures": {**early, "flags": flags},
    }


def normal_life_of(report: Wire, *, organisation: str, origin: str) -> Wire | None:
    """What holds for this organisation and origin: its own value before everybody's."""
    normal = report["normal_life"]
    own = (row for row in normal["own"] if row["organisation"] == organisation)
    for row in (*own, *normal["by_origin"]):
        if row["origin"] == origin:
            return {key: row[key] for key in row if key != "organisation"}
    return None


def flags_of_vehicle(report: Wire, *, vehicle_id: int) -> list[Wire]:
    """The early failures of one vehicle, one flag for each position."""
    return [flag for flag in report["early_failures"]["flags"] if flag["vehicle"] == vehicle_id]


def _head(report: Wire) -> Wire:
    return {key: report[key] for key in _HEAD}


def _is(value: str, wanted: str | None) -> bool:
    return wanted is None or value.casefold() == wanted.casefold()
