"""The joint probabilities of the three lists after what was found."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from garage.evidence.findings.joint import Floats, JointStates, joint_states
from garage.evidence.findings.likelihoods import Likelihoods


@dataclass(frozen=True, eq=False)
class Model:
    """The likelihoods laid out over every combination of the three lists.

    Attributes
    ----------
    joint : JointStates
    prior : array of combinations
    shares : dict of finding to array of combinations by states
        The share of each of the finding's states in each combination.
    order : dict of finding to tuple of str
        The finding's states in the order of those columns.
    told_with : dict of finding to group
    """

    joint: JointStates
    prior: Floats
    shares: Mapping[str, Floats]
    order: Mapping[str, tuple[str, ...]]
    told_with: Mapping[str, str]

    def of_state(self, finding: str, state: str) -> Floats:
        """The share of one state in each combination."""
        return self.shares[finding][:, self.order[finding].index(state)]

    def powers(self, observed: Mapping[str, str], repeat_share: float) -> dict[str, float]:
        """How much of each finding counts, where several measure the same thing.

        Findings of one group that are alike by the share `repeat_share` carry as much as
        k / (1 + (k - 1) * share) that are not (the design effect of cluster samples).
        """
        sizes: dict[str, int] = {}
        for finding in observed:
            group = self.told_with.get(finding)
            if group is not None:
                sizes[group] = sizes.get(group, 0) + 1
        return {
            finding: 1.0
            / (1.0 + (sizes.get(self.told_with.get(finding, ""), 1) - 1) * repeat_share)
            for finding in observed
        }


@lru_cache(maxsize=16)
def model_of(likelihoods: Likelihoods) -> Model:
    """The likelihoods laid out; the same ones are laid out once."""
    joint = joint_states()
    shares: dict[str, Floats] = {}
    order: dict[str, tuple[str, ...]] = {}
    for table in likelihoods.tables:
        order[table.finding] = tuple(state for state, _ in table.rows[0].shares)
        rows = np.array([[share for _, share in row.shares] for row in table.rows])
        shares[table.finding] = rows[table.rows_by_joint(joint)]
    groups = {t.finding: t.told_with for t in likelihoods.tables if t.told_with is not None}
    return Model(joint, likelihoods.prior.joint(joint), shares, order, groups)


def joint_after(model: Model, observed: Mapping[str, str], repeat_share: float) -> Floats:
    """Bayes' rule over every combination; adds to 1."""
    log = np.log(model.prior)
    for finding, power in model.powers(observed, repeat_share).items():
        log = log + power * np.log(model.of_state(finding, observed[finding]))
    weights = np.exp(log - log.max())
    return np.asarray(weights / weights.sum(), dtype=np.float64)
