"""The fast sum of squared influences against one written as the definition says."""

from collections.abc import Sequence

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from garage.lifetimes.curves.recurrent_events import RecurrentEvents, watched_events
from garage.lifetimes.curves.recurrent_variance import mean_steps, robust_variance

Window = tuple[int, int, list[tuple[float, float]]]

systems = st.lists(
    st.lists(
        st.tuples(
            st.integers(-1, 20),
            st.integers(1, 12),
            st.lists(st.tuples(st.floats(0.01, 1), st.integers(0, 5)), max_size=4),
        ),
        max_size=3,
    ),
    min_size=1,
    max_size=7,
)


def events_of(fleet: Sequence[Sequence[Window]], with_cost: bool) -> RecurrentEvents:
    """Failures at shares of their windows' lengths, rounded up to whole units."""
    windows = [(who, a, a + length) for who, own in enumerate(fleet) for a, length, _ in own]
    marks = [
        (who, a + int(np.ceil(share * length)), cost)
        for who, own in enumerate(fleet)
        for a, length, failures in own
        for share, cost in failures
    ]
    return RecurrentEvents(
        system=[who for who, *_ in windows],
        entry=[a for _, a, _ in windows],
        exit=[b for *_, b in windows],
        event_system=[who for who, *_ in marks],
        event_clock=[when for _, when, _ in marks],
        unit="km",
        cost=[cost for *_, cost in marks] if with_cost else None,
    )


def slow_mean_and_variance(
    events: RecurrentEvents, clock: int, since: int = -2
) -> tuple[float, float]:
    """Mean by `clock` and the sum over systems of their squared influences, loop by loop."""
    windows = list(zip(events.system, events.entry, events.exit, strict=True))  # type: ignore[arg-type]
    cost = events.cost if events.cost is not None else [1] * len(events.event_clock)  # type: ignore[arg-type]
    marks = list(zip(events.event_system, events.event_clock, cost, strict=True))  # type: ignore[arg-type]
    names = sorted({who for who, *_ in windows})

    def watched(who: int, t: int) -> bool:
        return any(own == who and a < t <= b for own, a, b in windows)

    mean, influence = 0.0, dict.fromkeys(names, 0.0)
    for t in sorted({when for _, when, _ in marks if since < when <= clock}):
        at_risk = sum(watched(who, t) for who in names)
        rise = sum(size for _, when, size in marks if when == t) / at_risk
        mean += rise
        for who in names:
            own = sum(size for name, when, size in marks if (name, when) == (who, t))
            influence[who] += (own - rise * watched(who, t)) / at_risk
    return mean, sum(each**2 for each in influence.values())


@settings(max_examples=150)
@given(systems, st.booleans(), st.integers(-2, 15))
def test_mean_and_variance_equal_slow_loops(
    fleet: list[list[Window]], with_cost: bool, since: int
) -> None:
    events = events_of(fleet, with_cost)
    watched = watched_events(events)
    counted = watched.clock > since
    steps = mean_steps(watched, counted)
    fast = np.stack([np.cumsum(steps.rise), robust_variance(watched, steps, counted)])
    slow = [slow_mean_and_variance(events, int(clock), since) for clock in watched.clock]
    np.testing.assert_allclose(fast.T.reshape(-1, 2), np.reshape(slow, (-1, 2)), atol=1e-9)


def test_variance_does_not_lose_its_digits_behind_an_early_large_step() -> None:
    """One system at risk early on lifts the mean by 1; 20 000 come later, and their spread of
    1e-5 must not drown in what went before: against a direct sum over systems, to 1e-9."""
    rng = np.random.default_rng(6)
    later = 20_000
    counts = rng.poisson(0.7, later)
    who = np.repeat(np.arange(1, later + 1), counts)
    when = rng.integers(11, 1_000, len(who))
    events = RecurrentEvents(
        system=np.arange(later + 1),
        entry=[0, *[10] * later],
        exit=[5, *[1_000] * later],
        event_system=[0, *who],
        event_clock=[3, *when],
        unit="km",
    )
    watched = watched_events(events)
    counted = np.ones(len(watched.clock), bool)
    found = robust_variance(watched, mean_steps(watched, counted), counted)[-1]
    assert abs(found / np.sum((counts - counts.mean()) ** 2 / later**2) - 1) < 1e-9
