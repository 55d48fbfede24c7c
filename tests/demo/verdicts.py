"""How often the verdict on an early failure is right, against the written cause of each.

Two sets of failures are judged, each at the default margin:

- *flagged*: the latest early failure of each flag, the one the verdict is about;
- *short*: every failure that normal life would have let happen so soon with a chance below 5 %.

Beside the register stands *the law itself*: the same question answered with the written laws and
shares, which nobody outside the simulation has. Where that is not right, nobody can be.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from math import exp

from fixtures.demo.filters import bad_fits_of
from fixtures.demo.truth import DEMO_TRUTH, LifeLaw
from garage.lifetimes.verdict.shares import VERDICT_MARGIN, Cause, verdict_shares
from garage.outcomes.lives import Life
from tests.demo.world import Found

CAUSES = tuple(cause.value for cause in Cause)
NOT_NAMED = "not named"
SHORT_CHANCE = 0.05


@dataclass
class Score:
    """Failures by written cause and by the cause that was named."""

    named: dict[str, Counter[str]] = field(
        default_factory=lambda: {cause: Counter() for cause in CAUSES}
    )

    def add(self, cause: str, named: str | None) -> None:
        self.named[cause][named or NOT_NAMED] += 1

    def __add__(self, other: "Score") -> "Score":
        both = Score()
        for cause in CAUSES:
            both.named[cause] = self.named[cause] + other.named[cause]
        return both

    def failures(self, cause: str) -> int:
        return self.named[cause].total()

    def right(self, cause: str) -> float | None:
        n = self.failures(cause)
        return self.named[cause][cause] / n if n else None

    @property
    def failures_in_all(self) -> int:
        return sum(self.failures(cause) for cause in CAUSES)

    @property
    def right_in_all(self) -> float:
        right = sum(self.named[cause][cause] for cause in CAUSES)
        return right / self.failures_in_all


@dataclass(frozen=True)
class Judged:
    """Both sets of failures, as the register and as the law itself name them."""

    flagged: Score
    flagged_by_law: Score
    short: Score
    short_by_law: Score

    def __add__(self, other: "Judged") -> "Judged":
        return Judged(
            self.flagged + other.flagged,
            self.flagged_by_law + other.flagged_by_law,
            self.short + other.short,
            self.short_by_law + other.short_by_law,
        )


def judged(found: Found) -> Judged:
    """Score all flags, and all short-lived filters, of one region."""
    law = _Law(found)
    score = Judged(Score(), Score(), Score(), Score())
    rows = found.report.normal.rows
    row_of = {life.fitment_id: row for row, life in enumerate(rows)}
    for flag in found.report.early.flags:
        last = max(
            (rows[row_of[each.fitment_id]] for each in flag.early),
            key=lambda life: (life.start_km or 0) + life.seen_km,
        )
        cause = found.cause_of(last)
        score.flagged.add(cause, None if flag.verdict.leader is None else flag.verdict.leader.value)
        score.flagged_by_law.add(cause, law.names(last))
    for life in _short(found):
        cause = found.cause_of(life)
        verdict = verdict_shares(found.report.normal.mixture, [row_of[life.fitment_id]])
        score.short.add(cause, None if verdict.leader is None else verdict.leader.value)
        score.short_by_law.add(cause, law.names(life))
    return score


def _short(found: Found) -> Iterator[Life]:
    """Failures with a chance below 5 % under the written law of a sound family."""
    median_km = [each.sound_median_km for each in DEMO_TRUTH.families if not each.weak_by_design]
    mean_km = sum(median_km) / len(median_km)
    reference = next(
        each.factory_law.scaled(mean_km / each.sound_median_km)
        for each in DEMO_TRUTH.families
        if not each.weak_by_design
    )
    for life in found.report.normal.rows:
        sound = reference.scaled(DEMO_TRUTH.origin_factor[_known(life.origin)])
        if life.failed and 1.0 - sound.survival(life.seen_km) < SHORT_CHANCE:
            yield life


def _known(origin: str) -> str:
    """An origin that nobody wrote down, as the most frequent one."""
    return origin if origin in DEMO_TRUTH.origin_factor else "new_aftermarket"


class _Law:
    """The verdict from the written laws: Bayes' rule over vehicle, bad fit and wear."""

    def __init__(self, found: Found) -> None:
        self.code_of = {key: code for key, (code, _ref) in found.vehicle_key.items()}
        self.of_vehicle: dict[int, list[Life]] = {}
        for life in found.report.normal.rows:
            self.of_vehicle.setdefault(life.vehicle_id, []).append(life)

    def names(self, life: Life) -> str | None:
        """The cause that leads by the default margin."""
        faulty, sound = DEMO_TRUTH.faulty_vehicles, 1.0 - DEMO_TRUTH.faulty_vehicles
        bad_share = 0.0
        for each in self.of_vehicle[life.vehicle_id]:
            faulty *= _likelihood(DEMO_TRUTH.faulty_law, each)
            bad, fair = self._fits(each)
            sound *= bad + fair
            if each.fitment_id == life.fitment_id:
                bad_share = bad / (bad + fair)
        vehicle = faulty / (faulty + sound)
        wear = "design" if DEMO_TRUTH.family(life.family).weak_by_design else "chance"
        shares = {
            "vehicle": vehicle,
            "repair": (1.0 - vehicle) * bad_share,
            wear: (1.0 - vehicle) * (1.0 - bad_share),
        }
        first, second, *_ = sorted(shares, key=lambda cause: -shares[cause])
        return first if shares[first] - shares[second] >= VERDICT_MARGIN else None

    def _fits(self, life: Life) -> tuple[float, float]:
        """Likelihoods of a bad and of a fair fit, each with its chance."""
        fitter = self.code_of[life.vehicle_id] if life.fitted_here else None
        chance = bad_fits_of(DEMO_TRUTH, fitter)
        fair = DEMO_TRUTH.life_law(life.family, _known(life.origin))
        bad = chance * _likelihood(DEMO_TRUTH.bad_fit_law, life)
        return bad, (1.0 - chance) * _likelihood(fair, life)


def _likelihood(law: LifeLaw, life: Life) -> float:
    """Of one watched life: entered, and failed or left, at its distances."""
    exit_km = max(life.seen_km, 1)
    hazard = law.shape / law.scale_km * (exit_km / law.scale_km) ** (law.shape - 1.0)
    watched = (exit_km / law.scale_km) ** law.shape - (life.entry_km / law.scale_km) ** law.shape
    return exp(-watched) * (hazard if life.failed else 1.0)


def table_rows(score: Score, by_law: Score) -> Iterable[tuple[str, int, str, str]]:
    """Cause, failures, share right, and share right by the law itself, as words for a table."""
    for cause in CAUSES:
        n = score.failures(cause)
        yield cause, n, _percent(score.right(cause)), _percent(by_law.right(cause))
    yield (
        "all",
        score.failures_in_all,
        _percent(score.right_in_all),
        _percent(by_law.right_in_all),
    )


def _percent(share: float | None) -> str:
    return "–" if share is None else f"{100 * share:.0f} %"
