"""What the fault mixture is given, checked row by row before anything is computed."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from garage.lifetimes.arrays import IntArray
from garage.lifetimes.life_rows import refuse_first
from garage.lifetimes.verdict.em import MixtureData
from garage.lifetimes.verdict.laws import LawLives


@dataclass(frozen=True)
class MixtureLives:
    """Lives of one part kind, one row a life, watched on (entry_km, exit_km].

    Codes are whole numbers from 0; `fitter` is -1 where no workshop in view fitted the part (a
    factory part, say).
    """

    entry_km: npt.ArrayLike
    exit_km: npt.ArrayLike
    failed: npt.ArrayLike
    vehicle: npt.ArrayLike
    family: npt.ArrayLike
    fitter: npt.ArrayLike
    origin: npt.ArrayLike


def mixture_data(lives: MixtureLives) -> MixtureData:
    """Check the lives and bring them into the form that the fit reads."""
    entry_km = np.asarray(lives.entry_km, dtype=np.float64)
    exit_km = np.asarray(lives.exit_km, dtype=np.float64)
    failed = np.asarray(lives.failed, dtype=np.bool_)
    codes = {
        "vehicle": _codes("vehicle", lives.vehicle, 0),
        "family": _codes("family", lives.family, 0),
        "fitter": _codes("fitter", lives.fitter, -1),
        "origin": _codes("origin", lives.origin, 0),
    }
    sizes = {"entry_km": entry_km, "exit_km": exit_km, "failed": failed, **codes}
    for name, column in sizes.items():
        if column.shape != (entry_km.size,):
            raise ValueError(
                f"every column must hold one value a life; entry_km has {entry_km.size}, {name} "
                f"has shape {column.shape}. Give all seven columns the same length."
            )
    refuse_first(
        ~(np.isfinite(entry_km) & (entry_km >= 0.0)),
        "entry_km must not be below 0 (use 0 for a part watched from its fitting)",
        entry_km,
    )
    refuse_first(
        ~(np.isfinite(exit_km) & (exit_km > entry_km)),
        "exit_km must lie beyond entry_km (a life without watched distance tells nothing: leave "
        "it out)",
        exit_km,
        entry_km,
    )
    count = {name: int(column.max()) + 1 if column.size else 0 for name, column in codes.items()}
    return MixtureData(
        lives=LawLives.from_km(entry_km, exit_km, failed),
        **codes,
        vehicles=count["vehicle"],
        families=count["family"],
        fitters=count["fitter"],
        origins=count["origin"],
    )


def _codes(name: str, column: npt.ArrayLike, smallest: int) -> IntArray:
    given = np.asarray(column)
    if given.size and not np.issubdtype(given.dtype, np.integer):
        raise ValueError(
            f"{name} must hold whole-number codes; got values of type {given.dtype}. "
            "Number the groups from 0."
        )
    codes = given.astype(np.int64)
    rule = f"{name} codes must not be below {smallest} (number the groups from 0)"
    refuse_first(codes < smallest, rule, codes)
    return codes
