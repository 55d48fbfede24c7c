"""What a stay-away share is estimated from: silent keepers' answers, and finds at later looks."""

from dataclasses import dataclass, replace

import numpy as np

from garage.lifetimes.arrays import FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class SilentAnswers:
    """What a random sample of silent keepers said of one part.

    Parameters
    ----------
    gone_elsewhere : array
        One number for each keeper who had it repaired elsewhere and will not come again: the
        cumulative hazard of failures *that come here*, over what the part went from when its
        keeper would have left to when he was asked.
    gone_without : array
        The same for each who will not come again and had nothing repaired elsewhere.
    returning_elsewhere : int
        Keepers who had it repaired elsewhere and mean to come again.
    asked_share : float
        In (0, 1]: keepers who told, of all who are silent; 0 where nobody was asked.
    failures : float
        Above 0: failures that the hazards were learnt from, which says how well they are known.
    """

    gone_elsewhere: FloatArray
    gone_without: FloatArray
    returning_elsewhere: int
    asked_share: float
    failures: float

    def __post_init__(self) -> None:
        for name in ("gone_elsewhere", "gone_without"):
            hazards = np.asarray(getattr(self, name), np.float64)
            if hazards.ndim != 1 or np.any(~(np.isfinite(hazards) & (hazards >= 0))):
                raise ValueError(f"`{name}` holds cumulative hazards, 0 or more; got {hazards}")
            object.__setattr__(self, name, hazards)
        _refuse_count("returning_elsewhere", self.returning_elsewhere)
        _refuse_share("asked_share", self.asked_share)
        if not self.failures > 0:
            raise ValueError(f"hazards are learnt from more than 0 failures; got {self.failures}")

    def times(self, error: float) -> "SilentAnswers":
        """The same answers, with hazards so many times as high."""
        return replace(
            self,
            gone_elsewhere=self.gone_elsewhere * error,
            gone_without=self.gone_without * error,
        )


@dataclass(frozen=True, slots=True)
class Returned:
    """Those who came back after a repair elsewhere, as far as somebody looked.

    Parameters
    ----------
    found : int
        Repairs elsewhere found out at a later look.
    looked_share : float
        In (0, 1]: of the returns, those after which somebody looked; 0 where nobody did.
    """

    found: int
    looked_share: float

    def __post_init__(self) -> None:
        _refuse_count("found", self.found)
        _refuse_share("looked_share", self.looked_share)


def _refuse_count(name: str, count: float) -> None:
    if not count >= 0:
        raise ValueError(f"`{name}` counts repairs and is never below 0; got {count}")


def _refuse_share(name: str, share: float) -> None:
    if not 0 <= share <= 1:
        raise ValueError(f"`{name}` lies in [0, 1]; got {share}")
