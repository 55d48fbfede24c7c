"""How often a finding comes out as it does, given what is so; learnt from confirmed outcomes."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from garage.evidence.findings.joint import Floats, Ints, JointStates
from garage.evidence.findings.vocabulary import LISTS
from garage.evidence.thresholds import Basis


@dataclass(frozen=True, slots=True)
class Row:
    """Shares of a finding's states where a condition on the three lists holds.

    Attributes
    ----------
    when : tuple of (list, states)
        All of them hold; empty holds always.
    shares : tuple of (state, share)
        Adding to 1, none 0.
    strength : float
        How many confirmed vehicles the shares are worth.
    confirmed : float
        How many of them come from the register.
    """

    when: tuple[tuple[str, frozenset[str]], ...]
    shares: tuple[tuple[str, float], ...]
    strength: float
    confirmed: float = 0.0

    def share(self, state: str) -> float:
        """The share of one state."""
        return dict(self.shares)[state]

    def fits(self, held: Mapping[str, str]) -> bool | None:
        """Whether the row's condition holds; None where what is held does not tell."""
        told = [held[of] in states if of in held else None for of, states in self.when]
        if any(each is False for each in told):
            return False
        return None if any(each is None for each in told) else True


@dataclass(frozen=True, slots=True)
class Table:
    """One finding's rows; the first whose condition holds counts."""

    finding: str
    basis: Basis
    source: str
    told_with: str | None
    rows: tuple[Row, ...]

    def row_of(self, held: Mapping[str, str]) -> int | None:
        """The row that these states lead to, or None where more than one may be."""
        for number, row in enumerate(self.rows):
            fits = row.fits(held)
            if fits is None:
                return None
            if fits:
                return number
        return None

    def rows_by_joint(self, joint: JointStates) -> Ints:
        """For each combination of the three lists, the row that counts."""
        chosen = np.full(joint.size, -1, dtype=np.int64)
        for number, row in enumerate(self.rows):
            fits = np.ones(joint.size, dtype=np.bool_)
            for of, states in row.when:
                fits &= joint.where(of, states)
            chosen[fits & (chosen < 0)] = number
        return chosen


@dataclass(frozen=True, slots=True)
class Prior:
    """How often each state is so before anything is found."""

    basis: Basis
    source: str
    sensing: tuple[tuple[str, float], ...]
    upstream: tuple[tuple[str, float], ...]
    filter_rows: tuple[Row, ...]

    def joint(self, joint: JointStates) -> Floats:
        """The prior of every combination: sensing apart, filter by what is upstream."""
        sensing = np.array([dict(self.sensing)[name] for name in joint.names["sensing"]])
        upstream = np.array([dict(self.upstream)[name] for name in joint.names["upstream"]])
        given = np.array(
            [
                [self._filter_row(cause).share(state) for state in joint.names["filter"]]
                for cause in joint.names["upstream"]
            ]
        )
        index = joint.index
        return np.asarray(
            sensing[index["sensing"]]
            * upstream[index["upstream"]]
            * given[index["upstream"], index["filter"]],
            dtype=np.float64,
        )

    def _filter_row(self, cause: str) -> Row:
        return next(row for row in self.filter_rows if row.fits({"upstream": cause}))


@dataclass(frozen=True, slots=True)
class Confirmed:
    """What the register found, and what proved to be so, on a number of vehicles.

    A list that was not confirmed is None; what it may have been is never guessed.
    """

    finding: str
    state: str
    sensing: str | None = None
    filter: str | None = None
    upstream: str | None = None
    count: float = 1.0

    @property
    def held(self) -> dict[str, str]:
        pairs = ((of, getattr(self, of)) for of in LISTS)
        return {of: state for of, state in pairs if state is not None}


@dataclass(frozen=True, slots=True)
class Likelihoods:
    """The prior and one table a finding, with how many confirmed vehicles went in or could not."""

    prior: Prior
    tables: tuple[Table, ...]
    confirmed: float = 0.0
    left_out: float = 0.0

    def table(self, finding: str) -> Table:
        """The table of a finding; raises ValueError for a name without one."""
        for each in self.tables:
            if each.finding == finding:
                return each
        raise ValueError(f"a likelihood is known for the vocabulary's findings; got `{finding}`")

    def updated(self, outcomes: Iterable[Confirmed]) -> "Likelihoods":
        """The same after the register's confirmed outcomes: the posterior mean of each row.

        Answers: how often does a finding come out so on vehicles whose truth is known, where few
        are known? A row is a Dirichlet distribution; its strength is the prior's count, to which
        each confirmed vehicle adds one (Bayesian data analysis textbooks, from memory). An outcome
        whose confirmed lists do not tell one row is left out and counted as left out.

        Raises ValueError for a finding, state or count that cannot be.

        Examples
        --------
        >>> from garage.evidence.findings.likelihoods_read import likelihoods
        >>> seen = Confirmed("particle_count", "low", filter="broken_through", count=15)
        >>> table = likelihoods().updated([seen]).table("particle_count")
        >>> round(table.rows[0].share("low"), 3)
        0.515
        """
        added: dict[tuple[str, int], dict[str, float]] = {}
        counted = left_out = 0.0
        for each in outcomes:
            if not 0 <= each.count < float("inf"):
                raise ValueError(f"`count` is a number of vehicles from 0; got {each.count}")
            table = self.table(each.finding)
            if each.state not in dict(table.rows[0].shares):
                raise ValueError(f"`{each.finding}` has no state `{each.state}`")
            row = table.row_of(_known(each.held, self.prior))
            if row is None:
                left_out += each.count
                continue
            counted += each.count
            states = added.setdefault((each.finding, row), {})
            states[each.state] = states.get(each.state, 0.0) + each.count
        tables = tuple(
            replace(
                table,
                rows=tuple(
                    _learnt(row, added.get((table.finding, number), {}))
                    for number, row in enumerate(table.rows)
                ),
            )
            for table in self.tables
        )
        return Likelihoods(self.prior, tables, self.confirmed + counted, self.left_out + left_out)


def _known(held: dict[str, str], prior: Prior) -> dict[str, str]:
    names = {
        "sensing": {name for name, _ in prior.sensing},
        "upstream": {name for name, _ in prior.upstream},
        "filter": {name for name, _ in prior.filter_rows[0].shares},
    }
    for of, state in held.items():
        if state not in names[of]:
            raise ValueError(f"`{of}` is one of {', '.join(sorted(names[of]))}; got `{state}`")
    return held


def _learnt(row: Row, added: Mapping[str, float]) -> Row:
    seen = sum(added.values())
    if seen == 0:
        return row
    total = row.strength + seen
    shares = tuple(
        (state, (share * row.strength + added.get(state, 0.0)) / total)
        for state, share in row.shares
    )
    return Row(row.when, shares, total, row.confirmed + seen)
