"""What a wrong reading may have been meant to be: every value and day that one fault would mend."""

from calendar import monthrange
from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from garage.records.choices import DistanceUnit, Doubt
from garage.records.distance import KM_PER_MILE

#: How often each fault befalls a reading. Judgement, no source: about two readings in a hundred
#: are wrong, slips of the pen more often than wrong units. Only their ratios to each other and
#: to an odd stretch matter, and little, for the distances of the vehicle weigh more.
FAULT_SHARE = {
    "unit": 0.004,
    "dropped": 0.002,
    "added": 0.002,
    "swapped": 0.003,
    "mistyped": 0.006,
    "tenths": 0.0025,
    "date": 0.004,
    "near": 0.003,
    "other": 0.003,
}
#: Share of stretches in which the instrument is replaced or set to another value, with no
#: document. Judgement, no source.
REPLACED_SHARE = 0.003
#: Of readings in the wrong unit, those that were turned from the other unit but need not have
#: been (a figure in km, times 1.609, as km). Judgement, no source.
TURNED_SHARE = 0.25
#: After one reading in the wrong unit, how often the next wrong one is so for the same reason.
#: Judgement, no source.
SAME_UNIT_AGAIN = 0.5
#: A reading that is merely inexact (noted from memory, rounded, taken on another day) is off by one
#: of these, either way. Judgement, no source.
NEAR_KM = (150, 500, 1_200, 2_500, 5_000)
#: A reading whose fault is none of these may be anything: half of them below this. Judgement.
ANY_VALUE_KM = 400_000.0
#: ln(1 + 10 000 000 / ANY_VALUE_KM), so that what may be anything below ten million km adds to 1.
ANY_VALUE_TOTAL = 3.26

#: How a wrong day came about, as shares of wrong days. Judgement, no source.
DATE_SHARE = {"exchanged": 0.35, "year": 0.20, "month": 0.075, "decade": 0.05}

LARGEST_TYPED = 10_000_000


@dataclass(frozen=True, slots=True)
class Mend:
    """One mended value of a reading: in its unit, in km, and how often the fault does this.

    `share` is the chance of what was typed, given the mended value, per km of the latter.
    """

    doubt: Doubt
    typed: int
    unit: str
    km: float
    share: float


@dataclass(frozen=True, slots=True)
class DateMend:
    """One mended day of a reading, and how often the fault does this."""

    read_on: date
    share: float


def value_mends(typed: float, unit: str, offset_km: int) -> list[Mend]:
    """All values that one fault turns into `typed`.

    The last figure too many, or too few, is named tenths, any other figure a digit.
    """
    in_km = _km_in(unit)
    found = _other_units(typed, unit, offset_km)
    whole = int(typed)
    digits = _digit_shares(str(whole))
    for value in digits.keys() - {whole, whole // 10, whole * 10}:
        km = value * in_km + offset_km
        found.append(Mend(Doubt.WRONG_DIGIT, value, unit, km, digits[value]))
    return found + _tenths(typed, unit, offset_km, digits)


def near_mends(km: float, unit: str) -> list[Mend]:
    """Distances of which the reading is an inexact note; no value to offer, but a chance to weigh.

    They carry the name of what nothing mends.
    """
    share = FAULT_SHARE["near"] / (2 * len(NEAR_KM))
    away = [sign * each for each in NEAR_KM for sign in (-1, 1)]
    return [Mend(Doubt.BACKWARDS, 0, unit, km + each, share) for each in away]


def _tenths(typed: float, unit: str, offset_km: int, digits: dict[int, float]) -> list[Mend]:
    """The last figure too many, or too few; the same by a slipped digit counts with it."""
    in_km, whole, half = _km_in(unit), int(typed), FAULT_SHARE["tenths"] / 2
    found = []
    if whole >= 10:
        share = half / 10 + digits.get(whole // 10, 0.0)
        found.append(Mend(Doubt.TENTHS, whole // 10, unit, typed / 10 * in_km + offset_km, share))
    if 0 < whole < LARGEST_TYPED / 10:
        # The last figure is lost: ten values of the true distance read alike.
        share = 10 * half + digits.get(whole * 10, 0.0)
        found.append(Mend(Doubt.TENTHS, whole * 10, unit, typed * 10 * in_km + offset_km, share))
    return found


def _km_in(unit: str) -> float:
    return float(KM_PER_MILE) if unit == DistanceUnit.MILES else 1.0


#: Mended values so near to each other, as a share or in km, are weighed as one: no odometer is
#: foreseen that closely. For speed; each is listed for itself.
MERGED_LOG, MERGED_KM = 0.012, 150.0


def mends_merge(mends: list[Mend]) -> list[Mend]:
    """The same mends with neighbours taken together; the first, the other unit, stays alone."""
    merged = mends[:1]
    group: list[Mend] = []
    for mend in sorted(mends[1:], key=lambda each: each.km):
        if group and mend.km > max(group[0].km * (1 + MERGED_LOG), group[0].km + MERGED_KM):
            merged.append(_as_one(group))
            group = []
        group.append(mend)
    return [*merged, _as_one(group)] if group else merged


def _as_one(group: list[Mend]) -> Mend:
    share = sum(mend.share for mend in group)
    km = sum(mend.km * mend.share for mend in group) / share
    return Mend(group[0].doubt, group[0].typed, group[0].unit, km, share)


def _other_units(typed: float, unit: str, offset_km: int) -> list[Mend]:
    """The figure in the other unit, or turned into the other unit where it was none."""
    mile = float(KM_PER_MILE)
    is_km = unit == DistanceUnit.KM
    other = DistanceUnit.MILES if is_km else DistanceUnit.KM
    # Miles are further apart than km: the same figure covers more of the true distance.
    ratio = mile if is_km else 1 / mile
    in_km = _km_in(unit)
    plain = FAULT_SHARE["unit"] * (1 - TURNED_SHARE)
    turned = FAULT_SHARE["unit"] * TURNED_SHARE
    as_other = Mend(
        Doubt.WRONG_UNIT, round(typed), other, typed * in_km * ratio + offset_km, plain * ratio
    )
    back = typed / ratio
    unturned = Mend(Doubt.WRONG_UNIT, round(back), unit, back * in_km + offset_km, turned / ratio)
    return [as_other, unturned]


def _digit_shares(text: str) -> dict[int, float]:
    """Chance of `text` by one slipped digit, for every value that slip may have started from."""
    shares: dict[int, float] = defaultdict(float)
    length = len(text)
    for at in range(length):
        for digit in "0123456789":
            if digit != text[at]:
                changed = int(text[:at] + digit + text[at + 1 :])
                shares[changed] += FAULT_SHARE["mistyped"] / (9 * length)
            # One that was there, before this place, was dropped.
            fuller = int(text[:at] + digit + text[at:])
            if fuller < LARGEST_TYPED and not (at == 0 and digit == "0"):
                shares[fuller] += FAULT_SHARE["dropped"] / (length + 1)
    for digit in "0123456789":
        # The last one was dropped.
        shares[int(text + digit)] += FAULT_SHARE["dropped"] / (length + 1)
    shares[int(text[:-1] or 0)] += FAULT_SHARE["added"] / (10 * length)
    for at in range(length - 1):
        emptier = int(text[:at] + text[at + 1 :])
        shares[emptier] += FAULT_SHARE["added"] / (10 * length)
        swapped = int(text[:at] + text[at + 1] + text[at] + text[at + 2 :])
        shares[swapped] += FAULT_SHARE["swapped"] / max(1, length - 1)
    return shares


def date_mends(read_on: date) -> list[DateMend]:
    """All days that one slip in the date turns into `read_on`."""
    found: dict[date, float] = defaultdict(float)
    if read_on.day <= 12 and read_on.day != read_on.month:
        found[date(read_on.year, read_on.day, read_on.month)] += DATE_SHARE["exchanged"]
    for years, share in ((1, "year"), (-1, "year"), (10, "decade"), (-10, "decade")):
        found[_months_on(read_on, 12 * years)] += DATE_SHARE[share]
    for months in (1, -1):
        found[_months_on(read_on, months)] += DATE_SHARE["month"]
    return [DateMend(day, FAULT_SHARE["date"] * share) for day, share in found.items()]


def _months_on(day: date, months: int) -> date:
    """The same day of another month; its last where it has no such day."""
    month = day.year * 12 + day.month - 1 + months
    year, index = divmod(month, 12)
    return date(year, index + 1, min(day.day, monthrange(year, index + 1)[1]))
