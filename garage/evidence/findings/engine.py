"""Weighs what was found into three ranked lists: sensing, filter, and cause upstream."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np

from garage.evidence.findings.conflicts import Conflict, conflicts_found
from garage.evidence.findings.first_checks import first_checks
from garage.evidence.findings.joint import Floats
from garage.evidence.findings.likelihoods import Likelihoods
from garage.evidence.findings.likelihoods_read import likelihoods as shipped_likelihoods
from garage.evidence.findings.limits import DEFAULTS
from garage.evidence.findings.next_check import Asked, checks_ranked, mutual_information_bits
from garage.evidence.findings.posterior import Model, joint_after, model_of
from garage.evidence.findings.untold import filter_withheld, sensing_withheld, untold
from garage.evidence.findings.vocabulary import LISTS, vocabulary
from garage.evidence.findings.weighed import Effect, ListResult, Settled, StateWeight, Weighed
from garage.evidence.thresholds import Thresholds


@dataclass(frozen=True, eq=False)
class _Case:
    """What one weighing works on."""

    observed: Mapping[str, str]
    model: Model
    limits: Thresholds
    offers: Collection[str]
    after: Floats
    without: Mapping[str, Floats]
    conflicts: tuple[Conflict, ...]


def evidence_weigh(
    observed: Mapping[str, str],
    *,
    likelihoods: Likelihoods | None = None,
    thresholds: Thresholds = DEFAULTS,
    offers: Collection[str] | None = None,
    ungraded: Collection[str] = (),
) -> Weighed:
    """Weigh findings into three lists, with what contradicts, what to check next and what is open.

    Answers: what is wrong with the sensing, the filter and what feeds it, how sure is that, what
    speaks for and against it, and which check comes next?

    Parameters
    ----------
    observed : mapping of finding to state
        Names of the vocabulary. A finding that is not known is left out.
    likelihoods : Likelihoods, optional
        Those shipped, or after the register's confirmed outcomes.
    thresholds : Thresholds
    offers : collection of finding names, optional
        Checks that may be done now (`gates.offers_of` tells them). Without it, every check but
        those that need a burn, which need the gates.
    ungraded : collection of finding names, optional
        What was read and tells nothing yet, as a pressure without its zero.

    Raises
    ------
    ValueError
        For a finding or state that the vocabulary has not.

    Notes
    -----
    The three lists are weighed together: each of their combinations has a prior and, for every
    finding, a share; Bayes' rule gives the joint, and each list is its sum. A pressure tells of the
    filter only in those combinations where the sensing lets it.

    Examples
    --------
    >>> weighed = evidence_weigh({"zero": "large", "sensor_check": "offset"})
    >>> weighed.sensing.settled, weighed.filter.settled
    ('offset', None)
    """
    words = vocabulary()
    observed = words.checked(observed)
    if offers is None:
        offers = {each.key for each in words.findings if each.needs != "burn"}
    model = model_of(shipped_likelihoods() if likelihoods is None else likelihoods)
    repeat = thresholds["same_evidence_share"]
    case = _Case(
        observed=observed,
        model=model,
        limits=thresholds,
        offers=offers,
        after=joint_after(model, observed, repeat),
        without={
            left: joint_after(model, {k: s for k, s in observed.items() if k != left}, repeat)
            for left in observed
        },
        conflicts=conflicts_found(observed, offers),
    )
    sensing, filter_, upstream = (_list_result(case, of) for of in LISTS)
    lists = (sensing, filter_, upstream)
    read = {*observed, *ungraded}
    first = first_checks(observed, case.conflicts, lists, thresholds["confirm_share"], read)
    asked = Asked(observed, offers, first, thresholds["upstream_weight"])
    return Weighed(
        sensing=sensing,
        filter=filter_,
        upstream=upstream,
        conflicts=case.conflicts,
        next_checks=checks_ranked(model, case.after, words, asked),
        cannot_tell=untold(model, case.after, observed, read),
        observed=tuple(observed.items()),
    )


def _list_result(case: _Case, of: str) -> ListResult:
    joint = case.model.joint
    after, prior = joint.marginal(of, case.after), joint.marginal(of, case.model.prior)
    ratios = {
        finding: after / joint.marginal(of, without) for finding, without in case.without.items()
    }
    order = sorted(range(len(after)), key=lambda n: (-after[n], n))
    states = tuple(
        StateWeight(
            state=joint.names[of][n],
            words=vocabulary().state_words(of, joint.names[of][n]),
            probability=float(after[n]),
            prior=float(prior[n]),
            speaks_for=_effects(case, {f: float(r[n]) for f, r in ratios.items()}, True),
            against=_effects(case, {f: float(r[n]) for f, r in ratios.items()}, False),
        )
        for n in order
    )
    return _settle(case, of, states)


def _effects(case: _Case, ratios: Mapping[str, float], for_it: bool) -> tuple[Effect, ...]:
    told = case.limits["ratio_told"]
    kept = {f: r for f, r in ratios.items() if (r >= told if for_it else r <= 1.0 / told)}
    words = vocabulary()
    effects = (
        Effect(
            finding=key,
            state=case.observed[key],
            ratio=ratio,
            words=f"{words.finding(key).title}: {words.finding(key).words(case.observed[key])}",
        )
        for key, ratio in kept.items()
    )
    return tuple(sorted(effects, key=lambda each: -each.ratio if for_it else each.ratio))


def _settle(case: _Case, of: str, states: tuple[StateWeight, ...]) -> ListResult:
    parted_by = _parting_check(case, of, (states[0].state, states[1].state))
    enough = case.limits["settled_share"]
    holding = [each for each in case.conflicts if each.is_open and of in each.holds]
    withheld = _withheld(case, of, states[0].state)
    top = states[0]
    if holding:
        status, reason = Settled.HELD, _held(holding[0])
    elif withheld is not None:
        status, reason = Settled.OPEN, withheld
    elif top.probability >= enough:
        status = Settled.SETTLED
        reason = f"{top.words}: {_share(top.probability)}, at least {_share(enough)}"
    else:
        part = (
            f"next: {vocabulary().finding(parted_by).check}"
            if parted_by is not None
            else "no check known here that may be done now parts the two"
        )
        status = Settled.OPEN
        leads = ", ".join(f"{each.words} {_share(each.probability)}" for each in states[:2])
        reason = f"{leads}; {part}"
    return ListResult(of, states, status, reason, parted_by)


def _share(value: float) -> str:
    return f"{100 * value:.0f} %"


def _withheld(case: _Case, of: str, leading: str) -> str | None:
    if of == "sensing":
        return sensing_withheld(leading, case.observed)
    if of == "filter":
        joint = case.model.joint
        sensing = joint.names["sensing"][int(joint.marginal("sensing", case.after).argmax())]
        return filter_withheld(leading, sensing, case.observed)
    return None


def _held(conflict: Conflict) -> str:
    words = vocabulary()
    checks = conflict.checks_left or conflict.checks_waiting
    do = (
        f"; first: {words.finding(checks[0]).check}"
        if checks
        else "; put it right, then read again"
    )
    gate = " (behind a gate)" if checks and not conflict.checks_left else ""
    return f"conflict: {conflict.title}{do}{gate}"


def _parting_check(case: _Case, of: str, pair: tuple[str, str]) -> str | None:
    """The check with most information a minute on which of two states it is, given it is one."""
    joint, words = case.model.joint, vocabulary()
    held = [joint.where(of, frozenset((state,))) for state in pair]
    weights = np.array([float(case.after[each].sum()) for each in held])
    best: tuple[float, str] | None = None
    for finding in words.findings:
        if finding.key in case.observed or finding.key not in case.offers:
            continue
        shares = case.model.shares[finding.key]
        outcomes = np.array([case.after[each] @ shares[each] for each in held])
        bits = mutual_information_bits(weights / weights.sum(), outcomes / weights[:, None])
        if bits < case.limits["parting_bits"]:
            continue
        rate = bits / finding.minutes
        if best is None or rate > best[0]:
            best = (rate, finding.key)
    return None if best is None else best[1]
