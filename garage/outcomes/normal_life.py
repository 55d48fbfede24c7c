"""How long a part ought to last: the organisation's own value, the register's, the catalogue's."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from garage.lifetimes.laws.weibull import WeibullLaw
from garage.lifetimes.status import Status
from garage.lifetimes.verdict.fault_mixture import fault_mixture
from garage.lifetimes.verdict.input import MixtureLives
from garage.lifetimes.verdict.results import FaultMixture
from garage.outcomes.curve_lives import GroupLives
from garage.outcomes.expected_exits import expected_exits_km
from garage.outcomes.lives import Life
from garage.records.choices import Origin
from garage.records.models import OwnNormalLife, PartKind

#: Shape of the catalogue's law: parts that wear out have shapes of 2 to 4. Judgement, no source.
CATALOGUE_SHAPE = 2.5
#: What the catalogue's median is multiplied by until there are data: default, not measured.
#: Replacements of unknown quality 0.5 to 0.75, cleaned off the vehicle 0.25 to 0.6: common
#: practice, no source; the values are the middle of these ranges, the others judgement.
ORIGIN_FACTORS = {
    Origin.FACTORY: 1.0,
    Origin.NEW_ORIGINAL: 0.75,
    Origin.NEW_AFTERMARKET: 0.62,
    Origin.RECONDITIONED: 0.5,
    Origin.CLEANED: 0.42,
    Origin.USED: 0.42,
    Origin.UNKNOWN: 0.62,
}
#: Wear failures of sound families before the register's own law of an origin is used. Judgement.
FEWEST_WORN = 10


REGISTER_SOURCE = "this register: sound vehicles of sound families, faults separated; lives as "


class NormalLifeRule(StrEnum):
    OWN = "own"
    REGISTER = "register"
    CATALOGUE = "catalogue"


@dataclass(frozen=True)
class NormalLife:
    """The normal life of one origin, and where it comes from."""

    origin: str
    law: WeibullLaw
    rule: NormalLifeRule
    source: str
    median_km: float
    median_lower_km: float | None
    median_upper_km: float | None
    n: int
    failed: float


@dataclass(frozen=True)
class NormalLives:
    """Normal life by organisation (its own values) and origin, and the mixture behind it.

    `rows` are the lives the mixture was fitted to, in its order. Where nothing is known of the
    part kind, `lives` is empty and `reason` says so.
    """

    lives: dict[str, NormalLife]
    own: dict[tuple[int, str], NormalLife]
    mixture: FaultMixture
    rows: tuple[Life, ...]
    families: tuple[str, ...]
    reason: str

    def of(self, organisation_id: int, origin: str) -> NormalLife | None:
        return self.own.get((organisation_id, origin)) or self.lives.get(origin)


def normal_lives(
    part_kind: PartKind, organisation_ids: Sequence[int], view: GroupLives
) -> NormalLives:
    """Normal life of each origin in view.

    The mixture behind the verdicts sees lives as *seen*, for up to there a part is known not to
    have failed. The register's law comes from a second mixture, of lives as *expected*, whose
    hazard is divided by the capture share (decision 0007).
    """
    rows = tuple(life for life in view.lives if life.used and life.seen_km > life.entry_km)
    catalogue = _catalogue(part_kind)
    families = tuple(sorted({life.family for life in rows}))
    mixture = _mixture(rows, families, catalogue)
    known = catalogue | _register(view)
    own = {
        (row.organisation_id, row.origin): _given(
            row.origin, row.median_km, row.shape, NormalLifeRule.OWN, row.source
        )
        for row in OwnNormalLife.objects.filter(
            part_kind=part_kind, organisation_id__in=organisation_ids
        )
    }
    reason = (
        ""
        if known or own
        else (
            f"no normal life is known of {part_kind.name}: too few failures in the register, and "
            "the catalogue gives none; set one with add_part_kind --normal-life-km"
        )
    )
    return NormalLives(known, own, mixture, rows, families, reason)


def _catalogue(part_kind: PartKind) -> dict[str, NormalLife]:
    if part_kind.normal_life_km is None:
        return {}
    return {
        origin: _given(
            origin,
            part_kind.normal_life_km * factor,
            CATALOGUE_SHAPE,
            NormalLifeRule.CATALOGUE,
            part_kind.normal_life_source
            + ("" if factor == 1.0 else f"; times {factor} for this origin, default, not measured"),
        )
        for origin, factor in ORIGIN_FACTORS.items()
    }


def _given(
    origin: str, median_km: float, shape: float, rule: NormalLifeRule, source: str
) -> NormalLife:
    scale_km = median_km / np.log(2) ** (1 / shape)
    return NormalLife(
        origin=str(origin),
        law=WeibullLaw(shape, float(scale_km)),
        rule=rule,
        source=source,
        median_km=float(median_km),
        median_lower_km=None,
        median_upper_km=None,
        n=0,
        failed=0.0,
    )


def _register(view: GroupLives) -> dict[str, NormalLife]:
    """The register's own law of each origin of which enough parts have worn out."""
    used = [life for life in view.lives if life.used]
    exits_km = expected_exits_km(used, view.visits)
    watched = [(life, km) for life, km in zip(used, exits_km, strict=True) if km > life.entry_km]
    lives = [life for life, _ in watched]
    mixture = fault_mixture(_mixture_lives(lives, [km for _, km in watched]))
    unjudged = view.visits.unjudged(lives)
    share = _capture_share(lives, view, unjudged)
    how = _how_counted(lives, unjudged)
    found = {}
    for normal in mixture.normal_lives:
        if normal.status is not Status.OK or normal.failed < FEWEST_WORN:
            continue
        # Of failures at rate h a share q is seen: h is what was fitted, divided by q.
        stretch = share ** (1 / normal.law.shape)
        law = WeibullLaw(normal.law.shape, normal.law.scale * stretch)
        lower, upper = normal.median_lower, normal.median_upper
        origin = list(Origin)[normal.origin]
        found[origin.value] = NormalLife(
            origin=origin,
            law=law,
            rule=NormalLifeRule.REGISTER,
            source=REGISTER_SOURCE + how,
            median_km=law.median,
            median_lower_km=None if lower is None else lower * stretch,
            median_upper_km=None if upper is None else upper * stretch,
            n=normal.n,
            failed=normal.failed,
        )
    return found


def _how_counted(lives: Sequence[Life], unjudged: Collection[int]) -> str:
    """As *expected*; as *seen* where nothing tells how vehicles come and leave."""
    if not unjudged:
        return "expected"
    silent = {life.organisation_id for life in lives if life.silence is not None}
    return "seen" if silent <= set(unjudged) else "expected, of some organisations as seen"


def _capture_share(lives: Sequence[Life], view: GroupLives, unjudged: Collection[int]) -> float:
    """Of all failures of these lives, the part that came here.

    1 for lives that had to be taken as *seen*: missing the failures repaired elsewhere makes up,
    roughly, for leaving at the last job (decision 0007).
    """
    shares = [
        1.0 if life.organisation_id in unjudged else view.captures.value(life.organisation_id)
        for life in lives
        if life.failed
    ]
    return len(shares) / sum(1 / share for share in shares) if shares else 1.0


def _mixture(
    rows: Sequence[Life], families: Sequence[str], catalogue: dict[str, NormalLife]
) -> FaultMixture:
    given = _mixture_lives(rows, [life.seen_km for life in rows])
    mixture = fault_mixture(given)
    if mixture.is_fitted or not catalogue or not rows:
        return mixture
    return fault_mixture(given, base_laws=tuple(catalogue[origin].law for origin in Origin))


def _mixture_lives(lives: Sequence[Life], exits_km: Sequence[float]) -> MixtureLives:
    families = sorted({life.family for life in lives})
    family_codes = {family: code for code, family in enumerate(families)}
    origin_codes = {origin.value: code for code, origin in enumerate(Origin)}
    vehicles = [life.vehicle_id for life in lives]
    fitters = [life.organisation_id for life in lives]
    fitter_codes = np.unique(np.array(fitters, dtype=np.int64), return_inverse=True)[1]
    fitted_here = np.array([life.fitted_here for life in lives], dtype=bool)
    return MixtureLives(
        entry_km=np.array([life.entry_km for life in lives], dtype=float),
        exit_km=np.array(exits_km, dtype=float),
        failed=np.array([life.failed for life in lives], dtype=bool),
        vehicle=np.unique(np.array(vehicles, dtype=np.int64), return_inverse=True)[1],
        family=np.array([family_codes[life.family] for life in lives], dtype=np.int64),
        fitter=np.where(fitted_here, fitter_codes, -1).astype(np.int64),
        origin=np.array([origin_codes[life.origin] for life in lives], dtype=np.int64),
    )
