"""The report as plain JSON: the documented, stable form (docs/json.md).

The terminal's --json, the API and the pages all read this form and no other.
"""

import math
from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from garage.outcomes.account import Account
from garage.outcomes.capture_wire import capture_to_wire
from garage.outcomes.comeback_rates import ComebackRates
from garage.outcomes.curves import CurveSummary
from garage.outcomes.early_failures import EarlyLife, Flag
from garage.outcomes.figures import Figure, FigureAt
from garage.outcomes.normal_life import NormalLife
from garage.outcomes.part_life import GroupLife
from garage.outcomes.report import Report
from garage.records.models import Vehicle

#: Raised when the form changes in a way that a reader must know of.
FORM_VERSION = 3
Wire = dict[str, Any]


def report_to_wire(report: Report) -> Wire:
    """The whole report; raises ValueError on a number that JSON cannot carry."""
    refs = _vehicle_refs(report.early.flags)
    accounts = {(each.engine_family, each.origin): each.account for each in report.accounts}
    wire: Wire = {
        "form": FORM_VERSION,
        "as_of": report.as_of.isoformat(),
        "part_kind": report.part_kind.code,
        "part_kind_name": report.part_kind.name,
        "system": report.part_kind.system,
        "organisations": [each.code for each in report.organisations],
        "vehicles": report.vehicles,
        "account": _account(report.account),
        "capture": [capture_to_wire(each) for each in report.captures],
        "visits": [asdict(each) for each in report.visits],
        "accounts": [
            {"engine_family": family, "origin": origin, **_account(account)}
            for (family, origin), account in accounts.items()
        ],
        "part_life": [_group(each) for each in report.groups],
        "normal_life": {
            "reason": report.normal.reason,
            "by_origin": [_normal(each) for each in report.normal.lives.values()],
            "own": [{"organisation": code, **_normal(each)} for code, each in _own(report)],
        },
        "comebacks": [_comebacks(each) for each in report.comebacks],
        "early_failures": {
            "watched_lives": report.early.watched_lives,
            "failed_lives": report.early.failed_lives,
            "false_discovery_level": report.early.level,
            "reason": report.early.reason,
            "causes_not_told_apart": list(report.normal.mixture.cannot_tell),
            "flags": [_flag(each, refs, report) for each in report.early.flags],
        },
    }
    refuse_non_finite(wire)
    return wire


def refuse_non_finite(value: Any, where: str = "report") -> None:
    """JSON has no infinity and no NaN; a figure that is not reached is null with a reason."""
    if isinstance(value, float) and not math.isfinite(value):
        raise ValueError(f"{where} is {value}; a figure that is not reached must be None")
    if isinstance(value, dict):
        for key, each in value.items():
            refuse_non_finite(each, f"{where}.{key}")
    elif isinstance(value, list):
        for place, each in enumerate(value):
            refuse_non_finite(each, f"{where}[{place}]")


def _vehicle_refs(flags: Iterable[Flag]) -> dict[int, str]:
    ids = [flag.vehicle_id for flag in flags]
    return dict(Vehicle.objects.filter(pk__in=ids).values_list("pk", "ref"))


def _own(report: Report) -> list[tuple[str, NormalLife]]:
    codes = {each.pk: each.code for each in report.organisations}
    return [(codes[key[0]], normal) for key, normal in report.normal.own.items()]


def _figure(figure: Figure) -> Wire:
    return {
        "value": figure.value,
        "lower": figure.lower,
        "upper": figure.upper,
        "n": figure.n,
        "failed": figure.failed,
        "status": figure.status,
        "reason": figure.reason,
        "source": figure.source,
    }


def _figures_at(figures: Iterable[FigureAt], unit: str) -> list[Wire]:
    return [{f"at_{unit}": each.at, **_figure(each.figure)} for each in figures]


def _account(account: Account) -> Wire:
    return {
        "fitments": account.fitments,
        "classes": account.classes,
        "endings": account.endings,
        "closes": account.closes,
    }


def _group(group: GroupLife) -> Wire:
    return {
        "engine_family": group.key.engine_family,
        "origin": group.key.origin,
        "stratum": group.key.stratum,
        "lives": group.lives,
        "failed": group.failed,
        "vehicles": group.vehicles,
        "watched_km": group.watched_km,
        "covered_share": group.covered_share,
        "curves": [_curve(each) for each in group.curves],
        "intervals": [
            {
                "last_sound_km": each.last_sound_km,
                "found_failed_km": each.found_failed_km,
                "count": each.count,
            }
            for each in group.intervals
        ],
    }


def _curve(curve: CurveSummary) -> Wire:
    return {
        "curve": curve.curve,
        "given_survival_to_km": curve.given_survival_to_km,
        "survival": _figures_at(curve.survival, "km"),
        "median_km": _figure(curve.median_km),
        "weibull": {
            "shape": _figure(curve.weibull.shape),
            "scale_km": _figure(curve.weibull.scale_km),
            "tenth_failed_km": _figure(curve.weibull.tenth_failed_km),
        },
        "drawn": [
            {
                "km": point.km,
                "survival": point.survival,
                "lower": point.lower,
                "upper": point.upper,
            }
            for point in curve.drawn
        ],
    }


def _normal(normal: NormalLife) -> Wire:
    return {
        "origin": normal.origin,
        "rule": normal.rule.value,
        "source": normal.source,
        "median_km": normal.median_km,
        "median_lower_km": normal.median_lower_km,
        "median_upper_km": normal.median_upper_km,
        "weibull_shape": normal.law.shape,
        "weibull_scale_km": normal.law.scale,
        "n": normal.n,
        "failed": normal.failed,
    }


def _comebacks(rates: ComebackRates) -> Wire:
    return {
        "engine_family": rates.engine_family,
        "operation": rates.operation,
        "jobs": rates.jobs,
        "comebacks": rates.comebacks,
        "other_ends": rates.other_ends,
        "vehicles": rates.vehicles,
        "without_km": rates.without_km,
        "within_days": _figures_at(rates.within_days, "days"),
        "within_km": _figures_at(rates.within_km, "km"),
    }


def _early_life(life: EarlyLife) -> Wire:
    return {
        "fitment": life.fitment_id,
        "origin": life.origin,
        "length_km": life.length_km,
        "normal_median_km": life.normal.median_km,
        "normal_rule": life.normal.rule.value,
        "normal_source": life.normal.source,
        "p": life.p,
        "p_adjusted": life.p_adjusted,
        "alone": life.alone,
    }


def _flag(flag: Flag, refs: dict[int, str], report: Report) -> Wire:
    codes = {each.pk: each.code for each in report.organisations}
    verdict = flag.verdict
    basis = verdict.basis
    return {
        "rule": flag.rule.value,
        "fired_by": [each.value for each in flag.fired_by],
        "vehicle": flag.vehicle_id,
        "vehicle_ref": refs[flag.vehicle_id],
        "organisation": codes[flag.organisation_id],
        "engine_family": flag.engine_family,
        "position": flag.position,
        "early": [_early_life(each) for each in flag.early],
        "watched_lives": flag.watched_lives,
        "failed_at_arrival": flag.failed_at_arrival,
        "failed_uncounted": flag.failed_uncounted,
        "count": None
        if flag.count is None
        else {
            "failures": flag.count.failures,
            "distance_km": flag.count.distance_km,
            "probability_normal": flag.count.normal,
            "probability_family": flag.count.family,
            "p_adjusted": flag.count_p_adjusted,
        },
        "verdict": {
            "vehicle": verdict.vehicle,
            "repair": verdict.repair,
            "design": verdict.design,
            "chance": verdict.chance,
            "leader": None if verdict.leader is None else verdict.leader.value,
            "margin": verdict.margin,
            "n": verdict.n,
            "failed": verdict.failed,
            "status": verdict.status.value,
            "reason": verdict.reason,
            "rests_on": None
            if basis is None
            else {
                "early_failures": basis.early_failures,
                "vehicle_lives": basis.vehicle_lives,
                "vehicle_failures": basis.vehicle_failures,
                "faulty_vehicle_share": basis.faulty_share,
                "bad_fit_chances": list(basis.bad_fit),
                "fit_qualities": [
                    {
                        "n": each.n,
                        "bad_share": each.bad_share,
                        "bad_share_lower": each.bad_share_lower,
                        "bad_share_upper": each.bad_share_upper,
                        "wear_rate": each.wear_rate,
                        "wear_rate_lower": each.wear_rate_lower,
                        "wear_rate_upper": each.wear_rate_upper,
                    }
                    for each in basis.fit_qualities
                ],
                "family_rates": [
                    {
                        "value": each.mean,
                        "lower": each.lower,
                        "upper": each.upper,
                        "n": each.n,
                        "failed": each.failed,
                        "expected": each.expected,
                    }
                    for each in basis.family_rates
                ],
            },
        },
    }
