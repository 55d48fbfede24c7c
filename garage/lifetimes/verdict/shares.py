"""Vehicle, repair, design or chance: the four shares for one vehicle's early failures."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from garage.lifetimes.arrays import IntArray
from garage.lifetimes.status import Status
from garage.lifetimes.verdict.results import FamilyRate, FaultMixture, FitQuality

# The first cause is named only where it leads the second by this much. Judgement: at 0.2 the leader
# is at least half again as likely as the next; an organisation sets its own.
VERDICT_MARGIN = 0.2


class Cause(StrEnum):
    """What an early failure is put down to."""

    VEHICLE = "vehicle"
    REPAIR = "repair"
    DESIGN = "design"
    CHANCE = "chance"


@dataclass(frozen=True)
class VerdictBasis:
    """The numbers behind the four shares.

    `bad_fit` holds, for each early failure in the order given, the chance that it was a bad fit,
    were the vehicle sound; `bad_fit_share` the shares of the workshops that fitted them (one each,
    in order of code).
    """

    early_failures: int
    vehicle_lives: int
    vehicle_failures: int
    faulty_share: float
    bad_fit: tuple[float, ...]
    fit_qualities: tuple[FitQuality, ...]
    family_rates: tuple[FamilyRate, ...]


@dataclass(frozen=True)
class VerdictShares:
    """Four shares that add to 1, and the cause that leads, if one does.

    The shares are None, with `reason`, where the mixture could not be fitted. `n` and `failed` are
    the vehicle's.
    """

    vehicle: float | None
    repair: float | None
    design: float | None
    chance: float | None
    leader: Cause | None
    margin: float
    n: int
    failed: int
    basis: VerdictBasis | None
    status: Status
    reason: str


def verdict_shares(
    mixture: FaultMixture, early_failures: npt.ArrayLike, *, margin: float = VERDICT_MARGIN
) -> VerdictShares:
    """Say how far vehicle, repair, design and chance explain early failures of one vehicle.

    Parameters
    ----------
    mixture : FaultMixture
        Fitted to all lives of the part kind.
    early_failures : array of int
        Row numbers (of the lives given to the mixture) of this vehicle's early failures. Give the
        latest alone to ask why it failed this time, all to ask why it fails again and again.
    margin : float
        In [0, 1]; how far the first share must lead the second to be named.

    Returns
    -------
    VerdictShares
        vehicle: the chance that the vehicle is faulty upstream, from *all* its lives. Of the rest,
        averaged over the early failures: repair, the chance of a bad fit, and of a fair fit the
        part that its workshop's rate adds to normal life's hazard; design, the part that its
        family's rate adds; chance, what remains.

    Raises
    ------
    ValueError
        No row, a row that does not exist, did not fail, or belongs to another vehicle; a margin
        outside [0, 1].

    Examples
    --------
    >>> from garage.lifetimes.verdict.fault_mixture import MixtureLives, fault_mixture
    >>> rng = np.random.default_rng(1)
    >>> exit_km = 250_000 * rng.weibull(2.5, size=400)
    >>> exit_km[:8] = 15_000 * rng.weibull(1.2, size=8)  # four vehicles that ruin two parts each
    >>> code = np.zeros(400, dtype=int)
    >>> mixture = fault_mixture(MixtureLives(
    ...     entry_km=np.zeros(400), exit_km=exit_km, failed=np.ones(400, dtype=bool),
    ...     vehicle=np.arange(400) // 2, family=code, fitter=code - 1, origin=code))
    >>> str(verdict_shares(mixture, [0, 1]).leader)
    'vehicle'
    """
    if not 0.0 <= margin <= 1.0:
        raise ValueError(f"margin must lie in [0, 1]; got {margin}. Give a share such as 0.2.")
    codes, p_faulty = mixture.codes, mixture.p_faulty
    p_bad_fit = mixture.p_bad_fit
    repair_excess, design_excess = mixture.repair_excess, mixture.design_excess
    if (
        codes is None
        or p_faulty is None
        or p_bad_fit is None
        or repair_excess is None
        or design_excess is None
    ):
        return _no_verdict(mixture, margin)
    rows = _rows(mixture, early_failures)
    own = codes.vehicle == codes.vehicle[rows[0]]
    vehicle = float(p_faulty[codes.vehicle[rows[0]]])
    bad = p_bad_fit[rows]
    repair = (1.0 - vehicle) * float((bad + (1.0 - bad) * repair_excess[rows]).mean())
    design = (1.0 - vehicle) * float(((1.0 - bad) * design_excess[rows]).mean())
    shares = {
        Cause.VEHICLE: vehicle,
        Cause.REPAIR: repair,
        Cause.DESIGN: design,
        Cause.CHANCE: max(0.0, 1.0 - vehicle - repair - design),
    }
    first, second = sorted(shares, key=lambda cause: -shares[cause])[:2]
    lead = shares[first] - shares[second]
    fitters = np.unique(codes.fitter[rows])
    reason = f"{first} leads {second} by {lead:.2f}"
    if lead < margin:
        reason += f", less than the margin of {margin:.2f}: no cause is named"
    return VerdictShares(
        vehicle=vehicle,
        repair=repair,
        design=design,
        chance=shares[Cause.CHANCE],
        leader=first if lead >= margin else None,
        margin=margin,
        n=int(own.sum()),
        failed=int((own & codes.failed).sum()),
        basis=VerdictBasis(
            early_failures=int(rows.size),
            vehicle_lives=int(own.sum()),
            vehicle_failures=int((own & codes.failed).sum()),
            faulty_share=float(mixture.faulty_share or 0.0),
            bad_fit=tuple(float(each) for each in bad),
            fit_qualities=tuple(mixture.fitters[code] for code in fitters if code >= 0),
            family_rates=tuple(mixture.families[code] for code in np.unique(codes.family[rows])),
        ),
        status=mixture.status,
        reason="; ".join(part for part in (reason, mixture.reason) if part),
    )


def _no_verdict(mixture: FaultMixture, margin: float) -> VerdictShares:
    return VerdictShares(
        vehicle=None,
        repair=None,
        design=None,
        chance=None,
        leader=None,
        margin=margin,
        n=0,
        failed=0,
        basis=None,
        status=mixture.status,
        reason=mixture.reason,
    )


def _rows(mixture: FaultMixture, early_failures: npt.ArrayLike) -> IntArray:
    rows = np.atleast_1d(np.asarray(early_failures))
    if rows.size == 0:
        raise ValueError(
            "a verdict needs at least one early failure; got none. "
            "Ask only for vehicles that have one."
        )
    rows = rows.astype(np.int64)
    if rows.min() < 0 or rows.max() >= mixture.n:
        raise ValueError(
            f"early_failures must be row numbers from 0 to {mixture.n - 1}; got {rows.tolist()}. "
            "Number the lives as they were given to the mixture."
        )
    codes = mixture.codes
    if codes is None:
        raise ValueError("a mixture that was not fitted has no rows; check `is_fitted` first")
    if not codes.failed[rows].all():
        still = rows[~codes.failed[rows]]
        raise ValueError(
            f"early_failures must be lives that failed; rows {still.tolist()} did not. "
            "Leave them out."
        )
    if np.unique(codes.vehicle[rows]).size != 1:
        raise ValueError(
            f"early_failures must belong to one vehicle; rows {rows.tolist()} belong to vehicles "
            f"{np.unique(codes.vehicle[rows]).tolist()}. Ask for each vehicle by itself."
        )
    return rows
