"""Grades the pressures of a visit: zero, idle, raised speed, growth, clean value."""

from garage.evidence.findings.grade import Grade, edge_words, held_of
from garage.evidence.findings.measured import Measured
from garage.evidence.thresholds import Thresholds

_IDLE_ALONE = "; an idle value alone never grades a filter"


def zero_grade(at: Measured, limits: Thresholds) -> Grade:
    """The zero with the engine off: within 2 mbar, to 5 mbar, or further off."""
    held = held_of(limits, "zero_good_mbar", "zero_most_mbar")
    if at.zero_mbar is None:
        return Grade("zero", None, "zero not read: all grading by pressure is held", held)
    off = abs(at.zero_mbar)
    said = f"zero {at.zero_mbar:g} mbar"
    hold = zero_holds_all(at, limits)
    if hold is not None:
        return Grade("zero", "large", f"{said}: {hold}, which holds all grading by pressure", held)
    if off <= limits["zero_good_mbar"]:
        return Grade("zero", "within", f"{said}: pressure is graded, corrected for it", held)
    return Grade("zero", "small", f"{said}: only raised speed is graded, corrected", held)


def zero_holds_all(at: Measured, limits: Thresholds) -> str | None:
    """Why the zero lets no pressure be graded at all; None where it lets some, or was not read.

    It is beyond its limit, or as large as what a sound filter of the family reads at idle.
    """
    if at.zero_mbar is None:
        return None
    off, idle = abs(at.zero_mbar), at.family.idle_mbar
    if off > limits["zero_most_mbar"]:
        return f"beyond {limits['zero_most_mbar']:g} mbar"
    if idle is not None and off >= idle:
        return f"as large as what a sound filter of the family reads at idle, {idle:g} mbar"
    return None


def idle_grade(at: Measured, limits: Thresholds) -> Grade:
    """The pressure at idle, corrected for zero; it is a finding, never a grade of the filter."""
    why = _not_graded(at, limits, at.idle_mbar, limits["zero_good_mbar"])
    if why is not None or at.idle_mbar is None or at.zero_mbar is None:
        return Grade("idle_pressure", None, why or "not read")
    if at.one_hose is True:
        return Grade("idle_pressure", None, "one-hose values are not comparable with the table's")
    if at.litres is not None and at.litres > limits["table_most_l"]:
        words = f"the table's idle values do not hold for a filter of {at.litres:g} L"
        return Grade("idle_pressure", None, words)
    value = _corrected(at.idle_mbar, at.zero_mbar)
    keys = ("idle_near_zero_mbar", "idle_usual_most_mbar", "idle_high_mbar")
    near, usual, high = (limits[key] for key in keys)
    state = "high"
    if value <= near:
        state = "near_zero"
    elif value <= usual:
        state = "usual"
    elif value <= high:
        state = "raised"
    remark = ": unremarkable" if state == "usual" else ""
    words = f"{value:g} mbar at idle, corrected for zero{remark}{_IDLE_ALONE}"
    return Grade("idle_pressure", state, words, held_of(limits, *keys))


def raised_grade(at: Measured, limits: Thresholds) -> Grade:
    """The pressure at raised speed without load, against the family or, without one, the table."""
    key = "raised_pressure"
    why = _raised_why_not(at, limits)
    if why is not None or at.raised_mbar is None or at.zero_mbar is None:
        return Grade(key, None, why or "not read")
    value = _corrected(at.raised_mbar, at.zero_mbar)
    said = f"{value:g} mbar at {at.raised_rpm:g} rpm, corrected for zero"
    if value < -limits["zero_good_mbar"]:
        return Grade(key, "negative", f"{said}: negative", held_of(limits, "zero_good_mbar"))
    low = _very_low(at, value, limits)
    if low is not None:
        return Grade(key, "very_low", f"{said}: {low[1]}", held_of(limits, low[0]))
    if at.family.clean_mbar is None and value < limits["raised_very_low_mbar"]:
        words = f"{said}: too little or not cannot be told without litres or a clean value"
        return Grade(key, None, words, held_of(limits, "raised_very_low_mbar"))
    return _up_from_usual(at, value, said, limits)


def slope_grade(at: Measured, limits: Thresholds) -> Grade:
    """How the pressure grows from idle to raised speed: as a filter about 7 times, a hole 28."""
    key = "pressure_slope"
    keys = ("slope_idle_least_mbar", "slope_filter_most", "slope_hole_least", "slope_none_mbar")
    held = held_of(limits, *keys)
    why = _not_graded(at, limits, at.idle_mbar, limits["zero_good_mbar"]) or _speed_why_not(
        at, limits
    )
    if why is not None or at.idle_mbar is None or at.raised_mbar is None or at.zero_mbar is None:
        return Grade(key, None, why or "not read at both speeds", held)
    idle = _corrected(at.idle_mbar, at.zero_mbar)
    raised = _corrected(at.raised_mbar, at.zero_mbar)
    said = f"{idle:g} mbar at idle, {raised:g} mbar at raised speed, corrected for zero"
    if abs(raised - idle) < limits["slope_none_mbar"]:
        return Grade(key, "none", f"{said}: does not grow", held)
    if idle <= limits["slope_idle_least_mbar"]:
        words = f"{said}: idle is too near zero for the growth to tell"
        return Grade(key, None, words, held)
    times = raised / idle
    if times < 0:
        return Grade(key, None, f"{said}: negative, which growth does not grade", held)
    if times <= limits["slope_filter_most"]:
        return Grade(key, "as_a_filter", f"{said}: {times:.1f} times, as through a filter", held)
    if times >= limits["slope_hole_least"]:
        return Grade(key, "as_a_hole", f"{said}: {times:.1f} times, as through an open pipe", held)
    return Grade(key, None, f"{said}: {times:.1f} times, between the two", held)


def family_grade(at: Measured, limits: Thresholds) -> Grade:
    """This vehicle's clean value beside the family's."""
    held = held_of(limits, "family_threefold")
    own, clean = at.own_clean_mbar, at.family.clean_mbar
    if own is None or clean is None:
        return Grade("family_compare", None, "own or the family's clean value is not known", held)
    if own <= 0:
        return Grade("family_compare", None, f"a clean value of {own:g} mbar is none", held)
    times = max(own / clean, clean / own)
    said = f"own clean value {own:g} mbar, the family's {clean:g} mbar"
    if times > limits["family_threefold"]:
        words = f"{said}: {times:.1f} times apart; look at unit and layout first"
        return Grade("family_compare", "differs_threefold", words, held)
    return Grade("family_compare", "alike", f"{said}: alike", held)


def _corrected(value_mbar: float, zero_mbar: float) -> float:
    # Rounded to a millionth of a mbar: in binary, 2.14 less 1.14 comes out above 1.
    return round(value_mbar - zero_mbar, 6)


def _not_graded(at: Measured, limits: Thresholds, value: float | None, most: float) -> str | None:
    if value is None:
        return "not read"
    if at.zero_mbar is None:
        return "the zero is not read, which holds all grading by pressure"
    hold = zero_holds_all(at, limits)
    if hold is not None:
        return f"the zero is {at.zero_mbar:g} mbar off, {hold}; it holds all grading by pressure"
    if abs(at.zero_mbar) > most:
        return f"with the zero {at.zero_mbar:g} mbar off only raised speed is graded"
    return None


def _speed_why_not(at: Measured, limits: Thresholds) -> str | None:
    if at.raised_mbar is None:
        return "not read at raised speed"
    return speed_why_not(at.raised_rpm, limits)


def speed_why_not(rpm: float | None, limits: Thresholds) -> str | None:
    """Why a pressure at raised speed is not graded for its speed; None where it is."""
    if not rpm:
        return "the engine speed was not noted: pressure without it says nothing"
    least, most = limits["raised_least_rpm"], limits["raised_most_rpm"]
    if not least <= rpm <= most:
        return f"read at {rpm:g} rpm; graded are {least:g} to {most:g} rpm without load"
    return None


def _raised_why_not(at: Measured, limits: Thresholds) -> str | None:
    zero = _not_graded(at, limits, at.raised_mbar, limits["zero_most_mbar"])
    return zero or _speed_why_not(at, limits) or _table_why_not(at, limits)


def _table_why_not(at: Measured, limits: Thresholds) -> str | None:
    if at.family.ninetieth_mbar is not None:
        return None
    if at.one_hose is True:
        return "one-hose values are graded only against the family's own"
    if at.litres is not None and at.litres > limits["table_most_l"]:
        return f"a filter of {at.litres:g} L is graded only against its family"
    return None


def _very_low(at: Measured, value: float, limits: Thresholds) -> tuple[str, str] | None:
    clean = at.family.clean_mbar
    if clean is not None:
        share = limits["clean_share_least"]
        if value < share * clean:
            words = f"below {100 * share:.0f} % of the family's clean {clean:g} mbar"
            return "clean_share_least", words
        return None
    plain = limits["raised_very_low_mbar"]
    if at.litres is not None and at.litres <= limits["plain_low_most_l"] and value < plain:
        return "raised_very_low_mbar", f"below {plain:g} mbar, with a filter of {at.litres:g} L"
    return None


def _up_from_usual(at: Measured, value: float, said: str, limits: Thresholds) -> Grade:
    keys = ("raised_usual_most_mbar", "raised_upper_most_mbar", "raised_severe_mbar")
    usual, upper, severe = (limits[key] for key in keys)
    own = at.family.ninetieth_mbar
    scale = 1.0 if own is None else own / usual
    state = "very_high"
    if value <= usual * scale:
        state = "low_or_normal"
    elif value <= upper * scale:
        state = "upper"
    elif value <= severe * scale:
        state = "high"
    edge = edge_words(value, usual * scale, limits)
    if own is None:
        against = f"against field values of cars and vans, usual to {usual:g} mbar"
        depends = "; low or normal depends on the family, which is not known" if edge else ""
        layout = "; layout not noted, taken as two hoses" if at.one_hose is None else ""
        words = f"{said}, {against}{edge}{depends}{layout}"
    else:
        words = f"{said}, against the family's 90th percentile {own:g} mbar{edge}"
        tenth = at.family.tenth_mbar
        if tenth is not None and value < tenth:
            words += f"; below the family's 10th percentile {tenth:g} mbar"
    return Grade("raised_pressure", state, words, held_of(limits, *keys, "pressure_edge_share"))
