"""Every state of the three lists taken together, and the sums over them."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from garage.evidence.findings.vocabulary import LISTS, Vocabulary, vocabulary

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class JointStates:
    """All combinations of sensing, filter and upstream, in one fixed order.

    Attributes
    ----------
    names : dict of list to tuple of str
        The states of each list.
    index : dict of list to array
        For each combination, which state of that list it holds.
    """

    names: Mapping[str, tuple[str, ...]]
    index: Mapping[str, Ints]

    @property
    def size(self) -> int:
        return len(self.index[LISTS[0]])

    def where(self, of: str, states: frozenset[str]) -> npt.NDArray[np.bool_]:
        """Which combinations hold one of these states of a list."""
        wanted = [number for number, name in enumerate(self.names[of]) if name in states]
        return np.isin(self.index[of], wanted)

    def sums(self, of: str) -> Floats:
        """States of a list by combinations: 1 where the combination holds the state."""
        count = len(self.names[of])
        return (self.index[of][None, :] == np.arange(count)[:, None]).astype(np.float64)

    def marginal(self, of: str, joint: Floats) -> Floats:
        """The joint probabilities summed to those of one list."""
        return self.sums(of) @ joint


def joint_of(words: Vocabulary) -> JointStates:
    """All combinations of a vocabulary's lists."""
    names = {of: words.states(of) for of in LISTS}
    grid = np.indices(tuple(len(names[of]) for of in LISTS)).reshape(len(LISTS), -1)
    return JointStates(
        names, {of: grid[number].astype(np.int64) for number, of in enumerate(LISTS)}
    )


@cache
def joint_states() -> JointStates:
    """All combinations of the vocabulary that is shipped."""
    return joint_of(vocabulary())
