"""What the fault mixture hands back: normal lives, rates, bad-fit shares and chances of fault."""

from dataclasses import dataclass

from garage.lifetimes.arrays import BoolArray, FloatArray, IntArray
from garage.lifetimes.laws.weibull import WeibullLaw
from garage.lifetimes.status import Status


@dataclass(frozen=True)
class NormalLife:
    """How long a part of one origin lasts on a sound vehicle of a sound family, well fitted.

    `n` counts lives of sound families; `failed` is the expected number of them that wore out,
    faults left out, so it may be a fraction. `median_lower` and `median_upper` take the faults as
    sorted out: they leave out that doubt. They are None, with `reason`, where the law was given
    from outside or too few failed.
    """

    origin: int
    law: WeibullLaw
    n: int
    failed: float
    median_lower: float | None
    median_upper: float | None
    status: Status
    reason: str


@dataclass(frozen=True)
class FamilyRate:
    """How often parts of one family fail, faults left out, against normal life at their distances.

    `failed` over `expected` is the plain ratio; mean and limits are those of the gamma posterior
    with prior mean 1. `sound` is False where the lower limit exceeds the limit of design: such a
    family takes no part in the normal life and has a law of its own, `own_law`, of its parts of
    unit origin rate.
    """

    family: int
    mean: float
    lower: float
    upper: float
    n: int
    failed: float
    expected: float
    sound: bool
    own_law: WeibullLaw | None
    status: Status
    reason: str


@dataclass(frozen=True)
class FitQuality:
    """How well one workshop's fits last, on sound vehicles.

    `bad_share` of its `n` fits, `bad` of them, followed the early law of a bad fit. The others
    failed at `wear_rate` times the normal rate: `failed` against `expected`. Both are posterior
    means with limits. With one workshop only the wear rate is 1: there is none to compare with.
    """

    fitter: int
    n: int
    bad_share: float
    bad_share_lower: float
    bad_share_upper: float
    bad: float
    wear_rate: float
    wear_rate_lower: float
    wear_rate_upper: float
    failed: float
    expected: float


@dataclass(frozen=True)
class FaultMixture:
    """The fitted mixture; its arrays run by vehicle code, or by life as given.

    `design_excess` and `repair_excess` are, for each life, the shares of its hazard at its exit
    that its family's and its fitter's rates add to normal life's: what either is answerable for,
    were neither the vehicle faulty nor the fit bad. Where `is_fitted` is False there are no laws
    and no arrays, and `reason` says why. `cannot_tell` names causes that these data cannot keep
    apart.
    """

    status: Status
    reason: str
    n: int
    failed: int
    vehicles: int
    cannot_tell: tuple[str, ...] = ()
    normal_lives: tuple[NormalLife, ...] = ()
    families: tuple[FamilyRate, ...] = ()
    fitters: tuple[FitQuality, ...] = ()
    faulty_share: float | None = None
    vehicle_law: WeibullLaw | None = None
    repair_law: WeibullLaw | None = None
    p_faulty: FloatArray | None = None
    p_bad_fit: FloatArray | None = None
    repair_excess: FloatArray | None = None
    design_excess: FloatArray | None = None
    codes: "LifeCodes | None" = None
    converged: bool = False
    log_posterior_path: tuple[float, ...] = ()

    @property
    def is_fitted(self) -> bool:
        """Whether there is anything to draw a verdict from."""
        return self.p_faulty is not None


@dataclass(frozen=True)
class LifeCodes:
    """Whose life each row is, kept so that a verdict can be drawn from row numbers alone."""

    vehicle: IntArray
    family: IntArray
    fitter: IntArray
    failed: BoolArray
