"""One byte typed in hexadecimal, such as the status byte of a code."""

import re

_BYTE = re.compile(r"(?:0x)?([0-9a-f]{1,2})h?", re.IGNORECASE)


def byte_typed(text: str) -> int:
    """Which byte is typed here?

    Parameters
    ----------
    text : str
        One or two hexadecimal characters, with `0x` in front or `h` behind where that is shown.

    Returns
    -------
    int
        0 to 255.

    Raises
    ------
    ValueError
        For anything else: a byte shown as a decimal of three figures is not guessed at.

    Examples
    --------
    >>> byte_typed("2F"), byte_typed("0x08"), byte_typed("50h")
    (47, 8, 80)
    """
    found = _BYTE.fullmatch(text.strip())
    if found is None:
        raise ValueError(
            "a byte is one or two hexadecimal characters, as in 2F; "
            f"got {text.strip()!r}. Copy it from the display in hexadecimal"
        )
    return int(found[1], 16)
