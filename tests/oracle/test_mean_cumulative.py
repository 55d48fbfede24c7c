"""Mean cumulative functions and their comparison against R's survival package, in the same run."""

import numpy as np
import pytest

from garage.lifetimes.comparison.mean_cumulatives import mean_cumulative_test
from garage.lifetimes.curves.mean_cumulative import mean_cumulative
from garage.lifetimes.curves.recurrent_events import RecurrentEvents
from tests.lifetimes.recurrent_world import Fleet
from tests.oracle.conftest import Frame, R

pytestmark = pytest.mark.oracle


def rows_of(events: RecurrentEvents) -> dict[str, np.ndarray]:
    """Windows cut at every failure, as R wants them; failures of one system tie with none."""
    rows = []
    who, when = np.asarray(events.event_system), np.asarray(events.event_clock, int)
    for system, entry, exit_ in zip(events.system, events.entry, events.exit, strict=True):  # type: ignore[arg-type]
        begin = int(entry)
        for failed in sorted(when[who == system].tolist()):
            rows.append((system, begin, failed, 1))
            begin = failed
        if begin < exit_:
            rows.append((system, begin, int(exit_), 0))
    return dict(zip(("id", "t1", "t2", "e"), np.array(rows).T, strict=True))


def fleet(rate: float, seed: int) -> RecurrentEvents:
    """No system fails twice at one clock value: R has no row for a window without length."""
    rng = np.random.default_rng(seed)
    drawn = Fleet(systems=70, rate=rate).drawn(rng)
    marks = np.unique(np.stack([drawn.event_system, drawn.event_clock]), axis=1)  # type: ignore[list-item]
    return RecurrentEvents(
        drawn.system, drawn.entry, drawn.exit, marks[0].astype(int), marks[1], drawn.unit
    )


def test_means_errors_and_the_robust_score_test_equal_r(r: R) -> None:
    groups = fleet(0.02, 3), fleet(0.03, 4)
    frames: dict[str, Frame] = {
        name: rows_of(each) for name, each in zip(("one", "two"), groups, strict=True)
    }
    answers = r(
        """
        one <- frame("one"); two <- frame("two")
        for (name in c("one", "two")) {
          f <- survfit(Surv(t1, t2, e) ~ 1, get(name), id = id, cluster = id)
          k <- f$n.event > 0
          give(paste(name, "clock"), f$time[k]); give(paste(name, "at risk"), f$n.risk[k])
          give(paste(name, "mean"), f$cumhaz[k]); give(paste(name, "error"), f$std.chaz[k])
        }
        two$id <- two$id + 1000
        both <- rbind(cbind(one, x = 1), cbind(two, x = 0))
        m <- coxph(Surv(t1, t2, e) ~ x, both, cluster = id, ties = "breslow")
        give("statistic", m$rscore)
        """,
        **frames,
    )
    for name, events in zip(("one", "two"), groups, strict=True):
        curve = mean_cumulative(events)
        assert curve.clock.tolist() == answers[f"{name} clock"].tolist()
        assert curve.at_risk.tolist() == answers[f"{name} at risk"].tolist()
        np.testing.assert_allclose(curve.mean, answers[f"{name} mean"], rtol=1e-10)
        np.testing.assert_allclose(curve.standard_error, answers[f"{name} error"], rtol=1e-9)
    found = mean_cumulative_test(*groups)
    assert found.statistic == pytest.approx(answers["statistic"][0], rel=1e-9)
