"""Which check tells most for its time."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np

from garage.evidence.findings.joint import Floats
from garage.evidence.findings.posterior import Model
from garage.evidence.findings.vocabulary import LISTS, Finding, Vocabulary


@dataclass(frozen=True, slots=True)
class NextCheck:
    """A check that may be done now.

    Attributes
    ----------
    finding : str
        What it finds; where one check gives several (codes are read at once), the first.
    gives : tuple of str
        Every finding that it gives.
    check : str
        What is done.
    bits : float
        Information expected of it on the three lists, weighted.
    minutes, bits_per_minute : float
    needs : str or None
        The procedure whose cautions come first.
    reason : str
        Why it stands where it stands.
    """

    finding: str
    gives: tuple[str, ...]
    check: str
    bits: float
    minutes: float
    bits_per_minute: float
    needs: str | None
    reason: str


def mutual_information_bits(of_list: Floats, outcomes: Floats) -> float:
    """Expected information of a finding on a list.

    Answers: how much less is not known, on average, once the finding is in? In bits, from 0 to the
    entropy of the list. Source: Shannon's mutual information (information theory textbooks).

    Parameters
    ----------
    of_list : array of states
        Probabilities of the list, adding to 1.
    outcomes : array of states by outcomes
        Probability of each outcome in each state; rows add to 1.

    Examples
    --------
    >>> mutual_information_bits(np.array([0.5, 0.5]), np.array([[1.0, 0.0], [0.0, 1.0]]))
    1.0
    """
    both = of_list[:, None] * outcomes
    apart = of_list[:, None] * both.sum(axis=0)[None, :]
    held = both > 0
    return max(0.0, float(np.sum(both[held] * np.log2(both[held] / apart[held]))))


def bits_by_list(model: Model, joint: Floats, findings: Collection[str]) -> dict[str, float]:
    """Information that these findings together are expected to give on each list, in bits.

    Findings of one check are independent of each other once the three lists are known.
    """
    outcomes = np.ones((model.joint.size, 1))
    for finding in findings:
        shares = model.shares[finding]
        outcomes = (outcomes[:, :, None] * shares[:, None, :]).reshape(model.joint.size, -1)
    both = joint[:, None] * outcomes
    bits: dict[str, float] = {}
    for of in LISTS:
        summed = model.joint.sums(of) @ both
        marginal = summed.sum(axis=1)
        given = np.divide(summed, marginal[:, None], where=marginal[:, None] > 0, out=summed * 0.0)
        bits[of] = mutual_information_bits(marginal, given)
    return bits


@dataclass(frozen=True, slots=True)
class Asked:
    """What the ranking starts from: what is found, what may be done, what comes first and why."""

    observed: Mapping[str, str]
    offers: Collection[str]
    first: tuple[tuple[str, str], ...]
    upstream_weight: float


def checks_ranked(
    model: Model, joint: Floats, words: Vocabulary, asked: Asked
) -> tuple[NextCheck, ...]:
    """The checks not done that may be done now: those that come first, then by bits a minute.

    Information on sensing and on the filter counts whole, that on the cause upstream by a weight:
    what is spent turns first on whether the sensing is true and what the filter is.
    """
    groups: dict[str, list[Finding]] = {}
    for finding in words.findings:
        if finding.key not in asked.observed and finding.key in asked.offers:
            groups.setdefault(finding.check, []).append(finding)
    first = {key: number for number, (key, _) in reversed(list(enumerate(asked.first)))}
    reasons = dict(reversed(asked.first))
    ranked: list[tuple[int, NextCheck]] = []
    for group in groups.values():
        bits = bits_by_list(model, joint, [each.key for each in group])
        total = bits["sensing"] + bits["filter"] + asked.upstream_weight * bits["upstream"]
        named = [each for each in group if each.key in first]
        lead = min(named, key=lambda each: first[each.key]) if named else group[0]
        ranked.append(
            (
                first.get(lead.key, len(first)),
                NextCheck(
                    finding=lead.key,
                    gives=tuple(each.key for each in group),
                    check=lead.check,
                    bits=total,
                    minutes=lead.minutes,
                    bits_per_minute=total / lead.minutes,
                    needs=lead.needs,
                    reason=reasons.get(lead.key, _why(bits, words, lead)),
                ),
            )
        )
    ranked.sort(key=lambda each: (each[0], -each[1].bits_per_minute, each[1].finding))
    return tuple(check for _, check in ranked)


def _why(bits: Mapping[str, float], words: Vocabulary, finding: Finding) -> str:
    most = max(LISTS, key=lambda of: bits[of])
    about = {"sensing": "the sensing", "filter": "the filter", "upstream": "the cause"}[most]
    return f"tells most of {about}: {bits[most]:.2f} bit in {finding.minutes:g} min"
