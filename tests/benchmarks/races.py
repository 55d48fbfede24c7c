"""The races: one estimate each, and who can run in it."""

from dataclasses import dataclass

REGISTER, TABLE, LIFELINES, R = "register", "register, from a table", "lifelines", "R survival"
"""The second has its `RiskTable` already: what a figure costs once the lives are counted."""


@dataclass(frozen=True)
class Race:
    """One estimate of the same lives; all who run must find the same figure."""

    name: str
    title: str
    programs: tuple[str, ...]
    tolerance: float = 1e-6


RACES = (
    Race("product_limit", "Survival with limits, delayed entry", (REGISTER, TABLE, LIFELINES, R)),
    Race("nelson_aalen", "Cumulative hazard, delayed entry", (REGISTER, TABLE, LIFELINES, R)),
    Race("weibull", "Weibull law, delayed entry", (REGISTER, TABLE, LIFELINES), 1e-4),
    Race("weibull_all_new", "Weibull law, all from new", (REGISTER, TABLE, LIFELINES, R), 1e-4),
    Race("log_rank_all_new", "Log-rank of three, all from new", (REGISTER, TABLE, LIFELINES, R)),
    Race("log_rank", "Log-rank of three, delayed entry", (REGISTER, TABLE)),
    Race(
        "proportional_hazards",
        "Proportional hazards, two columns, delayed entry",
        # lifelines takes some hundred times as long on ten times the lives, with delayed entry.
        (REGISTER, R),
        1e-4,
    ),
)
