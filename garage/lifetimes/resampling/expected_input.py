"""Lives of which some end in silence, and the visits that say what each silence means."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import BoolArray, FloatArray, IntArray
from garage.lifetimes.capture.share import PART_PRIOR
from garage.lifetimes.life_rows import FROM_THE_START, refuse_first, refuse_shape, whole_numbers
from garage.lifetimes.visits.input import VisitHistories
from garage.lifetimes.visits.law import VisitLaw
from garage.lifetimes.visits.model import VisitFit

NO_HISTORY = -1
"""`history` of a life that does not end in silence."""


@dataclass(frozen=True, slots=True, eq=False)
class VisitGroup:
    """How the vehicles of one organisation come and leave.

    Attributes
    ----------
    fit : VisitFit
        With a law, of these vehicles or of others like them, alike ones grouped or not. Groups
        that share a fit share its doubt.
    known : VisitHistories
        One row a vehicle, on the clock of the fit (days, say).
    stay_away : float
        In [0, 1): of the vehicles whose failure was repaired elsewhere, the share that never
        comes back; as held when the capture share was estimated. The others are customers
        still, with another part in place.
    """

    fit: VisitFit
    known: VisitHistories
    stay_away: float = PART_PRIOR.stay_away

    def __post_init__(self) -> None:
        if not 0 <= self.stay_away < 1:
            raise ValueError(f"a stay-away share lies from 0 to below 1; got {self.stay_away}")
        if self.fit.law is None:
            raise ValueError(
                f"a visit group has a law; got none: {self.fit.reason}. Leave out its lives, or "
                "take the fit of all vehicles in view."
            )

    @property
    def law(self) -> VisitLaw:
        """Of the fit."""
        assert self.fit.law is not None, "refused when the group was made"
        return self.fit.law


@dataclass(frozen=True, slots=True, eq=False)
class ExpectedLives:
    """Lives of vehicles, of which some were last seen unfailed and may have left since.

    Attributes
    ----------
    entry, exit : arrays of whole clock units, shape (n,)
        Watched from `entry` on; failed or left at `exit`. For a silent life `exit` is where
        the vehicle was last here, for whatever reason.
    failed : array of bool
    cluster : array of int, any codes
        Vehicle.
    group : array of int from 0
        Organisation: its place among the visit groups and among the capture shares.
    silent : array of bool
        Unfailed when last here, on a vehicle that is not known to be gone: it leaves by shares.
    history : array of int
        Row of the silent life's vehicle among its group's histories; -1 where not silent.
    pace : array, 0 or more
        Clock units per unit of time of the histories, km a day for instance, while silent.
    still_here : array or number, optional
        Time from the vehicle's last visit to when it was last here all the same, with a failure
        of the part in question, which is no visit of the model; 0 where left out. `exit` is
        the clock at that time.
    looked : array of whole clock units, optional
        Clock of the last look that found this very part in place, no later than `exit`; there
        where left out. In between it may have been replaced elsewhere without a trace.
    gone_by : array of whole clock units, optional
        For an unfailed life whose place a later look found taken by another part: the clock
        that this life would have had at that look; `exit` is then the last look that found it.
        -1 for other lives.
    unit : str
    """

    entry: IntArray
    exit: IntArray
    failed: BoolArray
    cluster: IntArray
    group: IntArray
    silent: BoolArray
    history: IntArray
    pace: FloatArray
    # Never None once the lives are made; the annotation says what readers find.
    still_here: FloatArray = 0.0  # type: ignore[assignment]
    looked: IntArray = None  # type: ignore[assignment]
    gone_by: IntArray = None  # type: ignore[assignment]
    unit: str = "km"

    def __post_init__(self) -> None:
        for name in ("entry", "exit", "group", "history"):
            self._hold(name, whole_numbers(name, getattr(self, name)))
        shape = self.entry.shape
        for name in ("failed", "silent"):
            self._hold(name, np.asarray(getattr(self, name), bool))
        codes = np.unique(np.asarray(self.cluster), return_inverse=True)[1]
        self._hold("cluster", codes.reshape(np.shape(self.cluster)).astype(np.int64))
        self._hold("pace", np.asarray(self.pace, np.float64))
        held = np.broadcast_to(np.asarray(self.still_here, np.float64), shape)
        self._hold("still_here", np.asarray(held, np.float64))
        looked = self.exit if self.looked is None else whole_numbers("looked", self.looked)
        self._hold("looked", looked)
        none = np.full(shape, NO_HISTORY)
        gone = none if self.gone_by is None else whole_numbers("gone_by", self.gone_by)
        self._hold("gone_by", gone)
        for name in self.__slots__:
            if name != "unit":
                refuse_shape(name, getattr(self, name), shape)
        self._refuse()

    def _hold(self, name: str, values: ArrayLike) -> None:
        object.__setattr__(self, name, values)

    def _refuse(self) -> None:
        gone = self.gone_by >= 0
        rules = (
            (self.entry < FROM_THE_START, "a life enters at -1 or later", self.entry),
            (self.exit < self.entry, "a life leaves no earlier than it enters", self.exit),
            (
                self.failed & (self.exit == self.entry),
                "a life that fails where it enters has no watched time; leave it out",
                self.exit,
            ),
            (self.failed & self.silent, "a failed life does not leave by shares", self.exit),
            (
                self.silent & (self.history < 0),
                "a silent life has a row of histories",
                self.history,
            ),
            (
                self.silent & ~(np.isfinite(self.pace) & (self.pace >= 0)),
                "a silent life has a pace, finite and 0 or more",
                self.pace,
            ),
            (self.looked > self.exit, "a life is looked at no later than it leaves", self.looked),
            (
                gone & (self.failed | self.silent | (self.gone_by < self.exit)),
                "`gone_by` is for a life neither failed nor silent, and no earlier than its exit",
                self.gone_by,
            ),
        )
        for bad, rule, came in rules:
            refuse_first(bad, rule, came)

    @property
    def n(self) -> int:
        """Number of lives."""
        return int(self.entry.size)

    def refuse_groups(self, visits: Sequence[VisitGroup], shares: int) -> None:
        """Refuse groups and rows that the visits and capture shares do not have."""
        if self.n and not 0 <= self.group.min() <= self.group.max() < min(len(visits), shares):
            raise ValueError(
                f"groups are numbered 0 to {min(len(visits), shares) - 1}, for there are "
                f"{len(visits)} visit groups and {shares} capture shares; got "
                f"{int(self.group.min())} to {int(self.group.max())}"
            )
        rows = np.array([each.known.repeats.size for each in visits], np.int64)
        beyond = self.silent & (self.history >= (rows[self.group] if self.n else 0))
        if np.any(beyond):
            index = int(np.argmax(beyond))
            raise ValueError(
                f"group {int(self.group[index])} has {int(rows[self.group[index]])} histories; got "
                f"row {int(self.history[index])} at index {index}"
            )
