"""The estimators of the register and of lifelines, each as a call that gives one figure."""

import warnings
from collections.abc import Callable

import numpy as np

from tests.benchmarks.lives import GROUPS, BenchmarkLives
from tests.benchmarks.races import LIFELINES, REGISTER, TABLE

AT_KM = 200_000
"""Where curves are compared."""

Call = Callable[[], float]


def call_of(program: str, race: str, lives: BenchmarkLives) -> Call:
    """What is timed; everything outside the call is not."""
    makers = {
        REGISTER: _register_from_arrays,
        TABLE: _register_from_tables,
        LIFELINES: _lifelines,
    }
    return makers[program](race, lives)


def _register_from_arrays(race: str, lives: BenchmarkLives) -> Call:
    from garage.lifetimes.risk_table import LivesArrays, RiskTable

    if race == "proportional_hazards":
        return _hazards(lives)
    from garage.lifetimes.comparison.log_rank import log_rank_of_lives

    entry = np.zeros_like(lives.exit) if race.endswith("_all_new") else lives.entry
    arrays = LivesArrays(entry, lives.exit, lives.failed)
    if race.startswith("log_rank"):
        return lambda: _sure(log_rank_of_lives(arrays, lives.group).statistic)
    return lambda: _from_table(race, RiskTable.from_lives(arrays, unit="km"))


def _register_from_tables(race: str, lives: BenchmarkLives) -> Call:
    from garage.lifetimes.risk_table import LivesArrays, RiskTable

    entry = np.zeros_like(lives.exit) if race.endswith("_all_new") else lives.entry
    groups = [lives.group == each for each in range(GROUPS)]
    chosen = groups if race.startswith("log_rank") else [np.ones(lives.exit.size, bool)]
    tables = [
        RiskTable.from_lives(
            LivesArrays(entry[each], lives.exit[each], lives.failed[each]), unit="km"
        )
        for each in chosen
    ]
    if race.startswith("log_rank"):
        return lambda: _log_rank(tables)
    return lambda: _from_table(race, tables[0])


def _from_table(race: str, table: object) -> float:
    from garage.lifetimes.curves.nelson_aalen import nelson_aalen
    from garage.lifetimes.curves.product_limit import product_limit
    from garage.lifetimes.laws.weibull_fit import weibull_fit

    if race == "product_limit":
        return _sure(product_limit(table).at(AT_KM).value)
    if race == "nelson_aalen":
        return _sure(nelson_aalen(table).at(AT_KM).value)
    return _sure(weibull_fit(table).shape.value)


def _log_rank(tables: list[object]) -> float:
    from garage.lifetimes.comparison.log_rank import log_rank

    return _sure(log_rank(tables).statistic)


def _hazards(lives: BenchmarkLives) -> Call:
    from garage.lifetimes.comparison.hazard_lives import HazardLives
    from garage.lifetimes.comparison.proportional_hazards import proportional_hazards

    columns = np.column_stack([lives.group == 1, lives.group == 2]).astype(float)
    given = HazardLives(lives.entry, lives.exit, lives.failed, columns, names=("one", "two"))
    return lambda: _sure(proportional_hazards(given).ratios[1].coefficient)


def _lifelines(race: str, lives: BenchmarkLives) -> Call:
    # Its own warnings about its parts are not what is measured here.
    warnings.simplefilter("ignore")
    import lifelines
    from lifelines.statistics import multivariate_logrank_test

    late = None if race.endswith("_all_new") else lives.entry
    if race == "product_limit":
        return lambda: float(
            lifelines.KaplanMeierFitter().fit(lives.exit, lives.failed, entry=late).predict(AT_KM)
        )
    if race == "nelson_aalen":
        return lambda: float(
            lifelines.NelsonAalenFitter(nelson_aalen_smoothing=False)
            .fit(lives.exit, lives.failed, entry=late)
            .predict(AT_KM)
        )
    if race.startswith("weibull"):
        return lambda: float(
            lifelines.WeibullFitter().fit(lives.exit, lives.failed, entry=late).rho_
        )
    return lambda: float(
        multivariate_logrank_test(lives.exit, lives.group, lives.failed).test_statistic
    )


def _sure(figure: float | None) -> float:
    if figure is None:
        raise LookupError("there is no figure to compare")
    return float(figure)
