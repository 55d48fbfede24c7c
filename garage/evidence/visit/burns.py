"""Which findings say that soot burned out, and which that it did not."""

from collections.abc import Mapping

_PROVED = frozenset({("soot_fall", "burned"), ("burn_end", "completed")})
DISPROVED = frozenset(
    {("soot_fall", "without_heat"), ("burn_end", "broken_off"), ("burn_end", "none_begun")}
)


def burn_proved(found: Mapping[str, str]) -> bool:
    """Whether a burn is proved, and by nothing disproved.

    Examples
    --------
    >>> burn_proved({"soot_fall": "burned"}), burn_proved({"zero": "within"})
    (True, False)
    >>> burn_proved({"soot_fall": "burned", "burn_end": "broken_off"})
    False
    """
    return bool(found.items() & _PROVED) and not burn_disproved(found)


def burn_disproved(found: Mapping[str, str]) -> bool:
    """Whether something shows that a burn was none, or not a whole one."""
    return bool(found.items() & DISPROVED)
