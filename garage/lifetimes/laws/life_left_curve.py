"""How much further a part goes that has come so far, from a survival curve without a law."""

from dataclasses import dataclass
from math import floor

from garage.lifetimes.curves.product_limit import (
    MeanEstimate,
    QuantileEstimate,
    SurvivalAt,
    SurvivalCurve,
)
from garage.lifetimes.laws.further import LifeLeftFigure, refuse_further, refuse_now, refuse_share
from garage.lifetimes.status import Status
from garage.lifetimes.wording import spoken


@dataclass(frozen=True, slots=True, eq=False)
class CurveLifeLeft:
    """Further distances read off a curve; made by `life_left_of_curve`.

    Attributes
    ----------
    now : float
        What the part has run.
    curve : SurvivalCurve
        Of the lives that were watched beyond `now`, all of them counted from there on.
    n, failed : int
        Lives watched beyond `now`, and failures among them.
    status, reason
        Of the curve beyond `now`; ``BEYOND_WATCH`` where nobody was watched so far, and then no
        figure has a value.
    """

    now: float
    curve: SurvivalCurve
    n: int
    failed: int
    status: Status
    reason: str

    def lasting(self, further: float) -> LifeLeftFigure:
        """Chance of lasting a further distance, at least 0; None beyond the watch."""
        refuse_further(further)
        found = self.curve.at(self.now + further)
        return self._figure(further, (found.value, found.lower, found.upper), found)

    def quantile(self, share_failed: float) -> LifeLeftFigure:
        """Further distance within which a share (between 0 and 1) fails."""
        refuse_share(share_failed)
        found = self.curve.quantile(share_failed)
        value, lower, upper = (
            None if each is None else each - self.now
            for each in (found.value, found.lower, found.upper)
        )
        return self._figure(share_failed, (value, lower, upper), found)

    @property
    def median(self) -> LifeLeftFigure:
        """Further distance within which half fail."""
        return self.quantile(0.5)

    def mean_within(self, horizon: float) -> LifeLeftFigure:
        """Mean further distance, those that last the horizon (above 0) ending there."""
        refuse_further(horizon)
        found = self.curve.restricted_mean(self.now + horizon)
        # The curve starts at a whole clock value, up to one unit before now.
        before = self.now - self.curve.start
        value, lower, upper = (
            None if each is None else max(each - before, 0.0)
            for each in (found.value, found.lower, found.upper)
        )
        return self._figure(horizon, (value, lower, upper), found)

    def _figure(
        self,
        asked: float,
        figures: tuple[float | None, float | None, float | None],
        found: SurvivalAt | QuantileEstimate | MeanEstimate,
    ) -> LifeLeftFigure:
        if self.n == 0:
            return LifeLeftFigure(asked, None, None, None, 0, 0, self.status, self.reason)
        return LifeLeftFigure(asked, *figures, self.n, self.failed, found.status, found.reason)


def life_left_of_curve(curve: SurvivalCurve, now: float) -> CurveLifeLeft:
    """How much further does a part go that has come so far, taking no law for granted?

    Parameters
    ----------
    curve : SurvivalCurve
        As `product_limit` made it, whether from the start or given survival to some clock value.
    now : float
        At least 0; what the part has run, in the unit of the curve's clock.

    Returns
    -------
    CurveLifeLeft
        Figures with limits at the curve's level, and a status where the watch ends. Limits are
        those of survival given survival to `now`: what is uncertain before `now` does not count.

    Raises
    ------
    ValueError
        A negative or infinite `now`.

    Notes
    -----
    S(now + d) / S(now) is the product limit over the failures after `now`, so the curve is made
    again from there, Greenwood's sum too. No figure is carried beyond the last distance at which
    anybody was watched: a part near that end needs a law (`LifeLeft`, `life_left_of_fit`).
    Source: Klein and Moeschberger, Survival Analysis, 2nd edition 2003, section 4.6 (conditional
    survival; from memory); values checked, see the project's check values.

    Examples
    --------
    >>> from garage.lifetimes.curves.product_limit import product_limit
    >>> from garage.lifetimes.risk_table import LivesArrays, RiskTable
    >>> exits = [10, 20, 30, 40, 50, 60, 70, 80, 90, 100, 110, 120]
    >>> lives = LivesArrays(entry=[0] * 12, exit=exits, cause=[1] * 11 + [0])
    >>> curve = product_limit(RiskTable.from_lives(lives, unit="km"), smallest_risk_set=3)
    >>> left = life_left_of_curve(curve, now=40)
    >>> left.n, left.median.value, left.lasting(20).value
    (8, 40.0, 0.75)
    >>> left.lasting(500).value, left.lasting(500).reason
    (None, 'nobody was watched beyond 120 km')
    """
    refuse_now(now)
    beyond = curve.given_survival(floor(now))
    status, reason = beyond.status, beyond.reason
    if beyond.n == 0 and curve.watched_to is not None:
        status, reason = (
            Status.BEYOND_WATCH,
            f"nobody was watched beyond {spoken(curve.watched_to, curve.unit)}",
        )
    return CurveLifeLeft(now, beyond, beyond.n, beyond.failed, status, reason)
