"""Was this visit brought by trouble?"""


def was_unplanned(planned: bool | None, *, complaint: str, trouble_codes: str) -> bool:
    """Where nobody said whether it was planned, a complaint or a trouble code says that it was
    not."""
    return bool(complaint or trouble_codes) if planned is None else not planned
