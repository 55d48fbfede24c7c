"""What *expected* rests on, in figures that a person can check.

Of the law of visits: how long the usual gap is, how many leave in a year, and how many of those on
record are held to be customers still.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from garage.lifetimes.visits.model import VisitFit
from garage.lifetimes.visits.silence import still_customer
from garage.outcomes.usage import DAYS_PER_YEAR
from garage.outcomes.visits import OrganisationVisits, Visits
from garage.records.models import Organisation


@dataclass(frozen=True)
class VisitSummary:
    """Of one organisation. Figures are None, with a reason, where there is no law.

    `of_all` says that the law is that of all in view, for its own vehicles are too few.
    """

    organisation: str
    vehicles: int
    of_all: bool
    gap_days: float | None
    leaving_a_year: float | None
    leaving_a_year_lower: float | None
    leaving_a_year_upper: float | None
    still_customers: float | None
    n: int
    """Vehicles that the law was learnt from."""
    status: str
    reason: str


def visit_summaries(
    visits: Visits, organisations: Iterable[Organisation]
) -> tuple[VisitSummary, ...]:
    """Of each of these organisations that has had vehicles here."""
    return tuple(
        _summary(each.code, visits.by_organisation[each.pk])
        for each in organisations
        if each.pk in visits.by_organisation
    )


def _summary(code: str, visits: OrganisationVisits) -> VisitSummary:
    fit = visits.fit
    law = fit.law
    lower, upper = _leaving_limits(fit)
    return VisitSummary(
        organisation=code,
        vehicles=visits.known.n,
        of_all=visits.of_all,
        gap_days=None if law is None else 1 / law.visit_rate,
        leaving_a_year=None if law is None else law.share_leaving_within(DAYS_PER_YEAR),
        leaving_a_year_lower=lower,
        leaving_a_year_upper=upper,
        still_customers=None if law is None else float(still_customer(law, visits.known).mean()),
        # Alike vehicles were fitted as one: their weights count them.
        n=visits.known.n if law is None else round(float(fit.weight.sum())),
        status=fit.status.value,
        # With a law, a reason tells only why it is of this kind and no other.
        reason="" if law is not None else fit.reason,
    )


def _leaving_limits(fit: VisitFit) -> tuple[float | None, float | None]:
    """Limits of the share that leaves in a year; only where all leave at one rate."""
    rate = fit.parameter("leaving_rate")
    if fit.law is None or fit.law.leaving_shape is not None or rate is None:
        return None, None
    if rate.lower is None or rate.upper is None:
        return None, None
    return _within_a_year(rate.lower), _within_a_year(rate.upper)


def _within_a_year(rate_a_day: float) -> float:
    return float(-np.expm1(-rate_a_day * DAYS_PER_YEAR))
