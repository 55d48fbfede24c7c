"""Where the curve of part life starts when the watched lives are few somewhere."""

from garage.lifetimes.risk_table import LivesArrays, RiskTable
from garage.outcomes.curves import starts_at_km


def _table(*groups: tuple[int, int, int, int]) -> RiskTable:
    """Lives as (how many, entry, exit, failed)."""
    rows = [(entry, leaves, failed) for n, entry, leaves, failed in groups for _ in range(n)]
    entry_km, exit_km, failed = zip(*rows, strict=True)
    return RiskTable.from_lives(LivesArrays(entry=entry_km, exit=exit_km, cause=failed), unit="km")


def test_starts_at_the_beginning_where_enough_are_watched_throughout() -> None:
    assert starts_at_km(_table((30, 0, 90_000, 0), (5, 0, 40_000, 1))) is None


def test_starts_past_an_early_failure_among_few() -> None:
    table = _table((1, 0, 20_000, 1), (2, 0, 90_000, 0), (40, 50_000, 120_000, 0))
    assert starts_at_km(table) == 20_000


def test_an_old_vehicle_entering_late_leaves_the_curve_before_it_be() -> None:
    table = _table((40, 0, 120_000, 0), (5, 0, 60_000, 1), (1, 300_000, 310_000, 0))
    assert starts_at_km(table) is None


def test_starts_past_the_early_thin_place_only_where_there_is_a_late_one_too() -> None:
    table = _table(
        (1, 0, 20_000, 1), (2, 0, 90_000, 0), (40, 50_000, 120_000, 0), (1, 300_000, 310_000, 0)
    )
    assert starts_at_km(table) == 20_000


def test_no_lives_start_nowhere() -> None:
    assert starts_at_km(RiskTable.empty("km")) is None
