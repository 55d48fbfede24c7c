"""Refuses groups that cannot be held against each other: too few, or on unlike clocks."""

from collections.abc import Sequence

from garage.lifetimes.risk_table import RiskTable


def refuse_unlike(strata: Sequence[Sequence[RiskTable]]) -> None:
    """Refuse strata without two groups each and as many in all, and tables of unlike form."""
    sizes = [len(groups) for groups in strata]
    if len(set(sizes)) != 1 or min(sizes) < 2:
        raise ValueError(
            f"a comparison takes two or more groups, as many in every stratum; got {sizes} groups"
        )
    first = strata[0][0]
    for table in (each for groups in strata for each in groups):
        if (table.unit, table.causes) != (first.unit, first.causes):
            raise ValueError(
                "groups are compared on one clock with the same causes; got "
                f"{first.unit} {list(first.causes)} and {table.unit} {list(table.causes)}"
            )
