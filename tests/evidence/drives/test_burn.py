"""Burns judged; every case departs from a completed one by what it names."""

from dataclasses import dataclass, replace

import pytest

from garage.evidence.drives.burn import BurnStatus, burn_judged
from garage.evidence.drives.limits import DEFAULTS
from garage.evidence.drives.log import Drive
from garage.evidence.thresholds import Override


@dataclass(frozen=True)
class Burn:
    """Minutes before, during and after a fall of soot, a row every `row_s`."""

    start_g: float = 20.0
    end_g: float = 2.0
    fall_min: float = 18.0
    before_c: float = 300.0
    during_c: float | None = 610.0
    after_c: float = 300.0
    after_min: float = 10.0
    row_s: float = 10.0

    def drive(self) -> Drive:
        rows = round((10 + self.fall_min + self.after_min) * 60 / self.row_s)
        times = [row * self.row_s for row in range(rows + 1)]
        return Drive(
            len(times),
            time_s=tuple(times),
            soot_g=tuple(self._soot(each / 60) for each in times),
            inlet_c=tuple(self._inlet(each / 60) for each in times),
        )

    def _soot(self, minute: float) -> float:
        if minute < 10:
            return self.start_g
        if minute >= 10 + self.fall_min:
            return self.end_g
        return self.start_g - (self.start_g - self.end_g) * (minute - 10) / self.fall_min

    def _inlet(self, minute: float) -> float | None:
        if minute < 10:
            return self.before_c
        return self.during_c if minute <= 10 + self.fall_min else self.after_c


COMPLETED = Burn()
AT_ONCE = replace(COMPLETED, fall_min=0.0, during_c=300.0)
COLD = replace(COMPLETED, during_c=400.0)


def status(burn: Burn) -> BurnStatus:
    return burn_judged(burn.drive()).status


def test_burn_hot_and_long_enough_is_completed_with_its_numbers() -> None:
    """18 g over 18 min hot, reckoned by hand."""
    judged = burn_judged(COMPLETED.drive())
    assert (judged.status, judged.falls) == (BurnStatus.COMPLETED, 1)
    assert judged.fall_g == pytest.approx(18.0)
    assert judged.end_g == pytest.approx(2.0)
    assert judged.fall_min == pytest.approx(18.0)
    assert judged.fastest_g_per_min == pytest.approx(1.0)
    assert judged.soot_fall_inlet_c == 610.0
    assert judged.hot_min == pytest.approx(18.0)


def test_burn_that_leaves_much_soot_is_broken_off() -> None:
    """35 of 100 left is the most of a completed one: 7 g of 20 g."""
    assert status(replace(COMPLETED, end_g=6.9)) is BurnStatus.COMPLETED
    assert status(replace(COMPLETED, end_g=7.1)) is BurnStatus.BROKEN_OFF


def test_burn_still_hot_at_the_end_of_the_log_is_not_called_broken_off() -> None:
    """Fails if a log stopped early passes for a burn broken off."""
    assert status(replace(COMPLETED, end_g=12.0, after_min=0.0)) is BurnStatus.CANNOT_BE_TOLD
    assert status(replace(COMPLETED, end_g=12.0, after_c=610.0)) is BurnStatus.CANNOT_BE_TOLD


def test_burn_with_little_left_after_short_heat_cannot_be_told() -> None:
    """5 min is the least: 18 g in 4.5 min are 4 g/min, which soot can burn at."""
    assert status(replace(COMPLETED, fall_min=5.0)) is BurnStatus.COMPLETED
    assert status(replace(COMPLETED, fall_min=4.5)) is BurnStatus.CANNOT_BE_TOLD


def test_soot_that_falls_at_once_without_heat_was_set_back() -> None:
    """Fails if a counter set back passes for a burn."""
    judged = burn_judged(AT_ONCE.drive())
    assert judged.status is BurnStatus.RESET_WITHOUT_BURN
    assert judged.fastest_g_per_min == pytest.approx(18.0)
    assert judged.soot_fall_inlet_c == 300.0


def test_soot_that_falls_at_once_without_a_temperature_was_set_back() -> None:
    """No soot burns at 18 g in a minute, whatever the temperature."""
    judged = burn_judged(replace(AT_ONCE.drive(), inlet_c=None))
    assert (judged.status, judged.soot_fall_inlet_c) == (BurnStatus.RESET_WITHOUT_BURN, None)


def test_soot_that_falls_at_once_after_heat_cannot_be_told() -> None:
    """Fails if a burn whose value is set at its end is called none."""
    assert status(replace(AT_ONCE, before_c=610.0)) is BurnStatus.CANNOT_BE_TOLD


def test_fastest_fall_is_held_against_the_limit() -> None:
    """18 g in 3.5 min are 5.1 g/min, in 3.7 min 4.9: with 5 g/min between, one is set back."""
    fast = replace(COMPLETED, row_s=6.0, during_c=None)
    assert status(replace(fast, fall_min=3.5)) is BurnStatus.RESET_WITHOUT_BURN
    assert status(replace(fast, fall_min=3.7)) is BurnStatus.CANNOT_BE_TOLD


def test_small_step_within_a_second_is_no_rate() -> None:
    """A model set from 4 g to 0 at a proven burn's end is 4 g in a minute, not 240."""
    drive = replace(COMPLETED, end_g=4.0).drive()
    assert drive.soot_g is not None
    stepped = replace(drive, soot_g=tuple(0.0 if soot == 4.0 else soot for soot in drive.soot_g))
    judged = burn_judged(stepped)
    assert judged.status is BurnStatus.COMPLETED
    assert judged.fastest_g_per_min == pytest.approx(4.0 + 16 / 18, abs=0.3)


def test_rows_far_apart_give_their_own_rate() -> None:
    """18 g between two rows 10 min apart are 1.8 g/min."""
    drive = Drive(2, time_s=(0.0, 600.0), soot_g=(20.0, 2.0))
    judged = burn_judged(drive)
    assert judged.fastest_g_per_min == pytest.approx(1.8)
    assert judged.status is BurnStatus.CANNOT_BE_TOLD


def test_slow_fall_without_heat_was_set_back() -> None:
    """1 g/min at 400 °C is more than goes without a burn."""
    assert status(COLD) is BurnStatus.RESET_WITHOUT_BURN


def test_very_slow_fall_in_a_warm_exhaust_cannot_be_told() -> None:
    """0.3 g/min is the most without a burn: 18 g in 60 min."""
    assert status(replace(COLD, fall_min=61.0)) is BurnStatus.CANNOT_BE_TOLD
    assert status(replace(COLD, fall_min=59.0)) is BurnStatus.RESET_WITHOUT_BURN


def test_very_slow_fall_in_a_cold_exhaust_was_set_back() -> None:
    """At 249 °C soot does not burn on the road."""
    slow = replace(COLD, fall_min=61.0, before_c=200.0)
    assert status(replace(slow, during_c=250.0)) is BurnStatus.CANNOT_BE_TOLD
    assert status(replace(slow, during_c=249.0)) is BurnStatus.RESET_WITHOUT_BURN


def test_heat_that_only_an_additive_burns_at_cannot_be_told() -> None:
    """Fails if a vehicle with a fuel additive is accused."""
    assert status(replace(COLD, during_c=450.0)) is BurnStatus.CANNOT_BE_TOLD
    assert status(replace(COLD, during_c=449.0)) is BurnStatus.RESET_WITHOUT_BURN


def test_fall_soon_after_heat_is_not_called_set_back() -> None:
    """Fails if only the minutes of the fall are looked at."""
    assert status(replace(COLD, before_c=610.0)) is BurnStatus.CANNOT_BE_TOLD


def test_heat_of_a_burn_is_above_its_limit() -> None:
    """550 °C is not above 550 °C."""
    assert status(replace(COMPLETED, during_c=551.0)) is BurnStatus.COMPLETED
    assert status(replace(COMPLETED, during_c=550.0)) is BurnStatus.CANNOT_BE_TOLD


def test_own_heat_of_a_burn_reaches_the_judgement() -> None:
    """Fails if the family's own limit is not used."""
    own = DEFAULTS.overridden([Override("burn_proven_c", 450.0, "with fuel additive")])
    burn = replace(COMPLETED, during_c=500.0).drive()
    assert burn_judged(burn).status is BurnStatus.CANNOT_BE_TOLD
    assert burn_judged(burn, own).status is BurnStatus.COMPLETED


def test_gap_in_the_temperatures_may_hide_a_burn() -> None:
    """Fails if heat not logged passes for no heat."""
    drive = COLD.drive()
    assert drive.inlet_c is not None
    with_gap = (*drive.inlet_c[:80], *([None] * 12), *drive.inlet_c[92:])
    judged = burn_judged(replace(drive, inlet_c=with_gap))
    assert judged.status is BurnStatus.CANNOT_BE_TOLD
    assert "none was logged" in judged.reason


@pytest.mark.parametrize("logged", [True, False])
def test_fall_without_any_temperature_cannot_be_told(logged: bool) -> None:
    """Fails if an empty column, or none, counts as cold."""
    drive = replace(COMPLETED, during_c=None).drive()
    judged = burn_judged(drive if logged else replace(drive, inlet_c=None))
    assert judged.status is BurnStatus.CANNOT_BE_TOLD
    assert judged.soot_fall_inlet_c is None


def test_heat_without_fall_that_cools_again_is_broken_off() -> None:
    """Fails if only falls are looked at."""
    burn = replace(COMPLETED, end_g=18.0)
    judged = burn_judged(burn.drive())
    assert (judged.status, judged.falls, judged.fall_g) == (BurnStatus.BROKEN_OFF, 0, None)
    assert status(replace(burn, after_c=610.0)) is BurnStatus.CANNOT_BE_TOLD
    assert status(replace(burn, fall_min=4.9)) is BurnStatus.CANNOT_BE_TOLD


def test_drive_without_fall_and_heat_shows_no_burn() -> None:
    """Fails if a usual drive is judged a burn."""
    judged = burn_judged(replace(COLD, end_g=20.0).drive())
    assert judged.status is BurnStatus.CANNOT_BE_TOLD
    assert "none begun" in judged.reason


def test_greatest_of_two_falls_is_judged() -> None:
    """Fails if the first is taken: 8 g at once, then 18 g in 18 min."""
    drive = COMPLETED.drive()
    assert drive.soot_g is not None
    soot = (24.0, 16.0, *drive.soot_g[2:])
    judged = burn_judged(replace(drive, soot_g=soot))
    assert (judged.status, judged.falls) == (BurnStatus.COMPLETED, 2)


def test_drive_without_time_is_refused() -> None:
    """Fails if a rate is made of rows."""
    with pytest.raises(ValueError, match="lacks time_s"):
        burn_judged(Drive(2, soot_g=(20.0, 2.0)))


def test_soot_still_falling_in_the_last_row_is_not_called_broken_off() -> None:
    """Fails if a cooler last row is enough: whether soot falls on is not logged."""
    drive = replace(COMPLETED, end_g=12.0, after_min=0.0).drive()
    assert drive.inlet_c is not None
    judged = burn_judged(replace(drive, inlet_c=(*drive.inlet_c[:-1], 500.0)))
    assert judged.status is BurnStatus.CANNOT_BE_TOLD


def test_time_between_rows_far_apart_is_not_counted_as_hot() -> None:
    """At 60 s a row 18 min are hot; at 120 s it is not known what was between."""
    near, far = (burn_judged(replace(COMPLETED, row_s=row_s).drive()) for row_s in (60.0, 120.0))
    assert (near.hot_min, far.hot_min) == (18.0, 0.0)
    assert far.status is BurnStatus.CANNOT_BE_TOLD


@pytest.mark.parametrize(
    ("step_s", "inlet_c", "said"),
    [
        (120.0, 620.0, "for 120 s no inlet temperature was logged"),
        (60.0, 20.0, "none begun in it"),
        (60.0, None, "no inlet temperature was read"),
    ],
)
def test_no_burn_is_said_only_where_temperatures_would_show_one(
    step_s: float, inlet_c: float | None, said: str
) -> None:
    """Fails if "not hot" is said of temperatures that were not read, or too seldom."""
    rows = 10
    log = Drive(
        rows,
        time_s=tuple(step_s * row for row in range(rows)),
        soot_g=(17.0,) * rows,
        inlet_c=(inlet_c,) * rows,
    )
    assert said in burn_judged(log).reason
