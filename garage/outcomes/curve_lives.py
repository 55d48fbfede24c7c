"""The lives of a group as each curve counts them: their risk table, and their resampling."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from garage.lifetimes.resampling.expected_input import NO_HISTORY
from garage.lifetimes.resampling.expected_lives import (
    ExpectedLives,
    VisitGroup,
    expected_table,
    resample_expected,
)
from garage.lifetimes.resampling.projected_exits import ProjectedExits
from garage.lifetimes.resampling.vehicles import (
    ALL_CAPTURED,
    CaptureDraws,
    ClusteredLives,
    ResampledCurve,
    ResamplingOptions,
    resample_survival,
)
from garage.lifetimes.risk_table import LivesArrays, RiskTable
from garage.outcomes.capture import Captures
from garage.outcomes.choices import Curve, Ending
from garage.outcomes.lives import Life
from garage.outcomes.usage import SinceRead
from garage.outcomes.visits import Visits


@dataclass(frozen=True)
class GroupLives:
    """Lives that are looked at together, and what corrects them.

    Each organisation has a capture share, and a law of visits, of its own. *Presumed* is corrected
    by neither, for it has no end to correct. Its limits draw how far vehicles have gone
    `since_read`; where this is None, every vehicle is taken to be where its lives say.
    """

    lives: Sequence[Life]
    captures: Captures
    visits: Visits
    since_read: SinceRead | None = None

    @property
    def organisations(self) -> list[int]:
        """Those whose lives these are, in the order of their capture shares."""
        return sorted({life.organisation_id for life in self.lives})

    def table(self, curve: Curve) -> RiskTable:
        """The risk table of one curve; of *expected* only where every silence can be judged."""
        groups = self._visit_groups(curve)
        if groups:
            return expected_table(self._expected(), groups, self._capture_draws().means())
        capture = None
        if curve is not Curve.PRESUMED:
            capture = np.array([self.captures.value(life.organisation_id) for life in self.lives])
        return RiskTable.from_lives(
            LivesArrays(
                entry=[life.entry_km for life in self.lives],
                exit=[_exit_km(life, curve) for life in self.lives],
                cause=np.array([life.failed for life in self.lives], dtype=np.int64),
                capture=capture,
            ),
            unit="km",
        )

    def resampled(
        self,
        curve: Curve,
        points: Sequence[int],
        *,
        rng: np.random.Generator,
        options: ResamplingOptions,
    ) -> ResampledCurve:
        """Survival by one curve, with limits from resampled vehicles."""
        groups = self._visit_groups(curve)
        if groups:
            return resample_expected(
                self._expected(),
                groups,
                self._capture_draws(),
                points,
                rng=rng,
                options=options,
            )
        return resample_survival(
            self._clustered(curve),
            ALL_CAPTURED if curve is Curve.PRESUMED else self._capture_draws(),
            points,
            rng=rng,
            options=options,
        )

    def _expected(self) -> ExpectedLives:
        exits = [_expected_exit_km(life) for life in self.lives]
        return ExpectedLives(
            entry=np.array([life.entry_km for life in self.lives], dtype=np.int64),
            exit=np.array(exits, dtype=np.int64),
            failed=np.array([life.failed for life in self.lives], dtype=bool),
            cluster=np.array([life.vehicle_id for life in self.lives], dtype=np.int64),
            group=np.array(self._numbers(), dtype=np.int64),
            silent=np.array([life.silence is not None for life in self.lives], dtype=bool),
            history=np.array([self._row(life) for life in self.lives], dtype=np.int64),
            pace=np.array(
                [0.0 if life.silence is None else life.silence.km_a_day for life in self.lives]
            ),
            still_here=np.array([self._here_days(life) for life in self.lives], dtype=np.float64),
            looked=np.array(
                [
                    exit_km if life.looked_km is None else life.looked_km
                    for life, exit_km in zip(self.lives, exits, strict=True)
                ],
                dtype=np.int64,
            ),
            gone_by=np.array(
                [NO_HISTORY if life.gone_by_km is None else life.gone_by_km for life in self.lives],
                dtype=np.int64,
            ),
        )

    def _visit_groups(self, curve: Curve) -> list[VisitGroup]:
        """Empty where no visits matter: *expected*, too, then counts each life to its end."""
        if curve is not Curve.EXPECTED:
            return []
        return [
            replace(group, stay_away=self.captures.by_organisation[organisation].stay_away)
            for organisation, group in zip(
                self.organisations, self.visits.groups(self.organisations), strict=False
            )
        ]

    def _row(self, life: Life) -> int:
        """Of the vehicle among those of its organisation."""
        if life.silence is None:
            return NO_HISTORY
        return self.visits.by_organisation[life.organisation_id].row[life.vehicle_id]

    def _here_days(self, life: Life) -> int:
        if life.silence is None:
            return 0
        return self.visits.by_organisation[life.organisation_id].here_days[life.vehicle_id]

    def _numbers(self) -> list[int]:
        """Each life's organisation, by its place among `organisations`."""
        places = {organisation: place for place, organisation in enumerate(self.organisations)}
        return [places[life.organisation_id] for life in self.lives]

    def _capture_draws(self) -> CaptureDraws:
        return self.captures.draws(self.organisations)

    def _clustered(self, curve: Curve) -> ClusteredLives:
        return ClusteredLives(
            entry=[life.entry_km for life in self.lives],
            exit=[_exit_km(life, curve) for life in self.lives],
            failed=[life.failed for life in self.lives],
            cluster=[life.vehicle_id for life in self.lives],
            capture_group=None if curve is Curve.PRESUMED else self._numbers(),
            projected=self._projected() if curve is Curve.PRESUMED else None,
        )

    def _projected(self) -> ProjectedExits | None:
        """The lives still in place on vehicles that were not read of late."""
        since = self.since_read
        if since is None:
            return None
        going_on = [
            (row, since.row[life.vehicle_id], since.read_km[life.vehicle_id] - life.start_km, life)
            for row, life in enumerate(self.lives)
            if life.ending is Ending.STILL_IN_PLACE
            and life.start_km is not None
            and life.vehicle_id in since.row
        ]
        if not going_on:
            return None
        rows, vehicle = np.unique([row for _, row, _, _ in going_on], return_inverse=True)
        return ProjectedExits(
            life=np.array([row for row, _, _, _ in going_on], dtype=np.int64),
            vehicle=vehicle.astype(np.int64),
            read_at=np.array([read_at for _, _, read_at, _ in going_on], dtype=np.int64),
            least=np.array([life.seen_km for _, _, _, life in going_on], dtype=np.int64),
            since_read=since.distances.take(rows.astype(np.int64)),
        )


def _exit_km(life: Life, curve: Curve) -> int:
    return life.seen_km if curve is Curve.SEEN else life.presumed_km


def _expected_exit_km(life: Life) -> int:
    """Where the life ended; for a silent one, where its vehicle was last here."""
    return life.presumed_km if life.silence is None else life.silence.from_km
