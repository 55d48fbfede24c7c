"""Which values a control unit says that it has, by the four bytes of PID 00, 20, 40 and so on."""

#: PIDs whose answer lists the 32 PIDs after them (SAE J1979, from memory).
LISTS = ("00", "20", "40", "60", "80", "A0")
_LISTED = 32


def pids_supported(pid: str, data: bytes) -> tuple[str, ...]:
    """Which PIDs does this list name?

    Raises ValueError for a PID that lists none, or other than four bytes. Source: SAE J1979, from
    memory.

    Examples
    --------
    >>> pids_supported("20", bytes.fromhex("80000001"))
    ('21', '40')
    """
    if pid not in LISTS:
        raise ValueError(f"PIDs that list others are {', '.join(LISTS)}; got {pid}. Leave it out")
    if len(data) != _LISTED // 8:
        raise ValueError(f"a list of PIDs has 4 data bytes; got {len(data)}. Copy it whole")
    bits, first = int.from_bytes(data, "big"), int(pid, 16) + 1
    return tuple(f"{first + at:02X}" for at in range(_LISTED) if bits >> (_LISTED - 1 - at) & 1)


def list_of(pid: str) -> str:
    """Which list would name this PID?

    Examples
    --------
    >>> list_of("20"), list_of("21"), list_of("A6")
    ('00', '20', 'A0')
    """
    return f"{(int(pid, 16) - 1) // _LISTED * _LISTED:02X}"
