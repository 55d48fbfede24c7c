"""Short words for the failure type that a third byte gives."""

#: Own wording, from memory of SAE J2012 / ISO 15031-6; to be checked against the licensed list.
SOURCE = "from memory of SAE J2012; check against the licensed list"

_WORDS = {
    0x00: "no failure type",
    0x01: "electrical fault",
    0x02: "signal fault",
    0x03: "frequency or pulse-width fault",
    0x04: "fault inside the controller",
    0x05: "programming fault",
    0x06: "found by reckoning",
    0x07: "mechanical fault",
    0x08: "bus message fault",
    0x09: "component fault",
    0x11: "short to ground",
    0x12: "short to battery",
    0x13: "open circuit",
    0x14: "short to ground or open circuit",
    0x15: "short to battery or open circuit",
    0x16: "voltage too low",
    0x17: "voltage too high",
    0x18: "current too low",
    0x19: "current too high",
    0x1A: "resistance too low",
    0x1B: "resistance too high",
    0x1C: "voltage out of range",
    0x1D: "current out of range",
    0x1E: "resistance out of range",
    0x1F: "intermittent",
    0x21: "signal swing too small",
    0x22: "signal swing too large",
    0x23: "signal stuck low",
    0x24: "signal stuck high",
    0x25: "wrong signal shape",
    0x26: "signal changes too slowly",
    0x27: "signal changes too fast",
    0x28: "zero point of the signal out of range",
    0x29: "signal invalid",
    0x2F: "signal erratic",
    0x31: "no signal",
    0x36: "frequency too low",
    0x37: "frequency too high",
    0x38: "wrong frequency",
    0x41: "checksum wrong",
    0x42: "memory fault",
    0x46: "calibration memory fault",
    0x49: "electronics inside faulty",
    0x4A: "wrong component fitted",
    0x4B: "too hot",
    0x51: "not programmed",
    0x54: "calibration missing",
    0x55: "not configured",
    0x61: "signal reckoned wrongly",
    0x62: "signals do not agree",
    0x63: "protection ran out of time",
    0x64: "signal not plausible",
    0x71: "actuator stuck",
    0x72: "actuator stuck open",
    0x73: "actuator stuck closed",
    0x76: "mounted in the wrong place",
    0x77: "commanded position not reached",
    0x78: "out of adjustment",
    0x79: "linkage fault",
    0x7A: "leak or seal fault",
    0x7B: "fluid level low",
    0x81: "invalid data received",
    0x84: "signal below its range",
    0x85: "signal above its range",
    0x86: "signal over the bus invalid",
    0x87: "message missing",
    0x88: "bus off",
    0x91: "parameter out of limits",
    0x92: "performance or wrong operation",
    0x93: "does not operate",
    0x94: "operates when it should not",
    0x95: "assembled wrongly",
    0x96: "fault inside the component",
    0x97: "obstructed or blocked",
    0x98: "component or system too hot",
    0x9A: "operating conditions not right",
}


def failure_type_words(failure_type: int) -> str | None:
    """What does this failure type say, in short?

    Parameters
    ----------
    failure_type : int
        The third byte, 0 to 255.

    Returns
    -------
    str or None
        None where no words are known here; that is not "no fault".

    Raises
    ------
    ValueError
        Outside one byte.

    Examples
    --------
    >>> failure_type_words(0x92), failure_type_words(0xE0) is None
    ('performance or wrong operation', True)
    """
    if not 0 <= failure_type <= 0xFF:
        raise ValueError(f"a failure type is one byte, 0 to 255; got {failure_type}. Read it again")
    return _WORDS.get(failure_type)
