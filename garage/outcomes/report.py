"""All outcomes of one part kind in one view, as of one day: the main job from end to end."""

from collections.abc import Callable, Sequence
from dataclasses import astuple, dataclass
from datetime import date

import numpy as np

from garage.lifetimes.capture.share import CaptureShare
from garage.outcomes.account import Account, account_of
from garage.outcomes.capture import capture_of_comebacks, capture_of_failures
from garage.outcomes.comeback_rates import ComebackRates, comeback_rates
from garage.outcomes.comebacks import index_jobs_follow
from garage.outcomes.curve_lives import GroupLives
from garage.outcomes.early_failures import EarlyFailures, early_failures
from garage.outcomes.lives import lives_follow
from garage.outcomes.looks import Looks, looks_counted
from garage.outcomes.normal_life import NormalLives, normal_lives
from garage.outcomes.part_life import GroupLife, group_life, lives_by_group
from garage.outcomes.read_calls import call_lists_read
from garage.outcomes.read_facts import facts_read
from garage.outcomes.stay_away import (
    OutcomesSoFar,
    StayAway,
    stay_away_of_failures,
    values_of,
)
from garage.outcomes.usage import Odometers
from garage.outcomes.visit_summary import VisitSummary, visit_summaries
from garage.outcomes.visits import visits_follow
from garage.records.models import Organisation, PartKind, Vehicle

#: Seed of the resampling: the same records give the same figures to the last digit.
SEED = 20_180_101

Progress = Callable[[str, int, int], None]
"""What is being done, how many steps are done, of how many."""


@dataclass(frozen=True)
class FamilyAccount:
    engine_family: str
    origin: str
    account: Account


@dataclass(frozen=True)
class OrganisationCaptures:
    """Of one organisation in view that has vehicles."""

    organisation: str
    sees_all_repairs: bool
    failures: CaptureShare
    comebacks: CaptureShare
    stay_away: StayAway | None
    """Of failures, where silent keepers told; None: nobody asked."""
    looks: Looks


@dataclass(frozen=True)
class Report:
    as_of: date
    part_kind: PartKind
    organisations: tuple[Organisation, ...]
    vehicles: int
    account: Account
    accounts: tuple[FamilyAccount, ...]
    captures: tuple[OrganisationCaptures, ...]
    visits: tuple[VisitSummary, ...]
    groups: tuple[GroupLife, ...]
    normal: NormalLives
    comebacks: tuple[ComebackRates, ...]
    early: EarlyFailures


def no_progress(what: str, done: int, of: int) -> None:
    """For callers that show none."""


def report_make(
    *,
    organisations: Sequence[Organisation],
    part_kind: PartKind,
    as_of: date,
    progress: Progress = no_progress,
) -> Report:
    """Compute everything about one part kind that these organisations' records tell."""
    progress("reading the records", 0, 1)
    ids = [each.pk for each in organisations]
    facts = facts_read(
        vehicles_in_view=Vehicle.objects.filter(organisation_id__in=ids),
        part_kind=part_kind,
        as_of=as_of,
    )
    odometers = Odometers(facts)
    lives = lives_follow(facts, odometers)
    index_jobs = index_jobs_follow(facts, odometers)
    captures = capture_of_failures(facts, lives)
    progress("visits", 0, 1)
    visits = visits_follow(facts, lives)
    call_lists = call_lists_read({each.pk for each in organisations}, as_of)
    stay_away = stay_away_of_failures(
        OutcomesSoFar(facts, odometers, lives, captures, visits, call_lists)
    )
    if stay_away:
        captures = capture_of_failures(facts, lives, values_of(stay_away))
    looks = looks_counted(facts, lives, captures)
    comeback_captures = capture_of_comebacks(facts, index_jobs)

    grouped = lives_by_group(lives)
    groups = []
    for done, (key, members) in enumerate(grouped.items()):
        progress("part life", done, len(grouped))
        groups.append(
            group_life(
                key,
                GroupLives(members, captures, visits, odometers.since_read),
                _rng_of(*astuple(key)),
            )
        )
    progress("comebacks", 0, 1)
    rates = comeback_rates(index_jobs, comeback_captures, _rng_of)
    progress("normal life and early failures", 0, 1)
    normal = normal_lives(part_kind, ids, GroupLives(lives, captures, visits))
    early = early_failures(lives, normal, {each.pk: each.verdict_margin for each in organisations})
    progress("done", 1, 1)
    keys = sorted({(life.family, life.origin) for life in lives})
    return Report(
        as_of=as_of,
        part_kind=part_kind,
        organisations=tuple(organisations),
        vehicles=len(facts.vehicles),
        account=account_of(lives),
        accounts=tuple(
            FamilyAccount(
                family,
                origin,
                account_of(
                    life for life in lives if (life.family, life.origin) == (family, origin)
                ),
            )
            for family, origin in keys
        ),
        captures=tuple(
            OrganisationCaptures(
                each.code,
                each.sees_all_repairs,
                captures.by_organisation[each.pk],
                comeback_captures.by_organisation[each.pk],
                stay_away.get(each.pk),
                looks[each.pk],
            )
            for each in organisations
            if each.pk in captures.by_organisation
        ),
        visits=visit_summaries(visits, organisations),
        groups=tuple(groups),
        normal=normal,
        comebacks=tuple(rates),
        early=early,
    )


def _rng_of(*names: str) -> np.random.Generator:
    """A group's own generator, so that a family more or less moves no other's limits."""
    return np.random.default_rng([SEED, *"/".join(names).encode()])
