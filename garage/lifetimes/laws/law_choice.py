"""Say which family of laws lives speak for, if they do."""

from dataclasses import dataclass

import numpy as np

from garage.lifetimes.confidence import LEVEL
from garage.lifetimes.interval_lives import IntervalLives
from garage.lifetimes.laws.families import FAMILIES, FamilyName
from garage.lifetimes.laws.law_fit import LawFit, law_fit
from garage.lifetimes.risk_table import RiskTable
from garage.lifetimes.status import Status
from garage.lifetimes.wording import spoken

ALIKE = 2.0
"""Difference of AIC up to which two families have about the same support."""
LESS, NONE_LEFT = 4.0, 10.0
"""From here on considerably less support; from there on essentially none. All three: Burnham
and Anderson, Model Selection and Multimodel Inference, 2nd edition 2002, section 2.6 (from
memory)."""

FEWEST_TO_CHOOSE = 10
"""Failures below which no family is chosen. Judgement: of simulated samples with 5 to 8 failures
the better of Weibull and lognormal was the wrong one in two of five, and the right one by more
than `ALIKE` in one of twenty."""


@dataclass(frozen=True, slots=True)
class LawChoice:
    """What `law_choice` found.

    Attributes
    ----------
    fits : tuple of LawFit
        Best first by AIC, then those without a law.
    best : LawFit or None
        The first; None where `status` and `reason` say why.
    differences, weights : tuple of float
        For each fit with a law: its AIC less the least, and its share of the support
        (Akaike weight), which add to 1.
    status : Status
        ``CANNOT_TELL_APART`` where another family is nearly as good; `best` is given even so.
    """

    n: float
    failed: float
    status: Status
    reason: str
    fits: tuple[LawFit, ...]
    best: LawFit | None
    differences: tuple[float, ...]
    weights: tuple[float, ...]


def law_choice(
    lives: RiskTable | IntervalLives,
    *,
    families: tuple[FamilyName, ...] = tuple(FAMILIES),
    intervals: IntervalLives | None = None,
    level: float = LEVEL,
) -> LawChoice:
    """Fit several families to the same lives and say which the lives speak for.

    Parameters
    ----------
    lives, intervals, level
        As for `law_fit`.
    families : tuple of names
        At least one, none twice.

    Returns
    -------
    LawChoice

    Raises
    ------
    ValueError
        No family, an unknown one, or one twice.

    Notes
    -----
    Families are ranked by Akaike's criterion, 2 x parameters - 2 x log-likelihood. It ranks;
    it does not say that the best fits well: look at a probability plot. Failures raised by a
    capture share weigh as those seen. Source: Burnham and Anderson, Model Selection and
    Multimodel Inference, 2nd edition 2002, sections 2.2, 2.6 and 2.9 (from memory).

    Examples
    --------
    >>> from garage.lifetimes.risk_table import LivesArrays
    >>> hours = [450, 1150, 1600, 2070, 2080, 3100, 3450, 4600, 6100, 8750, 8750, 9200]
    >>> table = RiskTable.from_lives(LivesArrays([0] * 12, hours, [1] * 12), unit="hours")
    >>> choice = law_choice(table)
    >>> choice.status.value, [fit.family for fit in choice.fits[:2]]
    ('cannot_tell_apart', ['exponential', 'weibull'])
    >>> print(choice.reason[:48])
    exponential fits best; Weibull is 0.2 behind, lo
    """
    if not families or len(set(families)) < len(families):
        raise ValueError(f"name at least one family, none of them twice; got {list(families)}")
    fits = [law_fit(lives, family=name, intervals=intervals, level=level) for name in families]
    ranked = sorted((fit for fit in fits if fit.aic is not None), key=_aic)
    without = [fit for fit in fits if fit.aic is None]
    differences = tuple(_aic(fit) - _aic(ranked[0]) for fit in ranked)
    support = np.exp(-np.array(differences) / 2)
    status, reason = _said(ranked, without, differences)
    chosen = status in (Status.OK, Status.CANNOT_TELL_APART)
    return LawChoice(
        n=fits[0].n,
        failed=fits[0].failed,
        status=status,
        reason=reason,
        fits=(*ranked, *without),
        best=ranked[0] if chosen else None,
        differences=differences,
        weights=tuple((support / support.sum()).tolist()),
    )


def _aic(fit: LawFit) -> float:
    return float("inf") if fit.aic is None else fit.aic


def _said(
    ranked: list[LawFit], without: list[LawFit], differences: tuple[float, ...]
) -> tuple[Status, str]:
    if not ranked:
        return without[0].status, without[0].reason
    failed = ranked[0].failed
    if failed < FEWEST_TO_CHOOSE:
        return Status.FEW_FAILURES, (
            f"{spoken(failed)} failures cannot choose between laws; {FEWEST_TO_CHOOSE} are the "
            "fewest that may"
        )
    names = [FAMILIES[fit.family].spoken for fit in ranked]
    behind = [
        f"{name} is {difference:.1f} behind"
        for name, difference in zip(names[1:], differences[1:], strict=True)
    ]
    left_out = "".join(
        f"; {FAMILIES[fit.family].spoken} has no fit: {fit.reason}" for fit in without
    )
    if not behind:
        return Status.OK, f"{names[0]} is the only law fitted{left_out}"
    alike = [each for each in differences[1:] if each <= ALIKE]
    if alike:
        near = _listed(behind[: len(alike)])
        return Status.CANNOT_TELL_APART, (
            f"{names[0]} fits best; {near}: the data cannot tell them apart{left_out}"
        )
    support = "less support"
    if differences[1] >= NONE_LEFT:
        support = "essentially no support"
    elif differences[1] >= LESS:
        support = "considerably less support"
    return Status.OK, f"{names[0]} fits best; {behind[0]} and has {support}{left_out}"


def _listed(words: list[str]) -> str:
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
