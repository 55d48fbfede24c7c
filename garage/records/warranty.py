"""Did this part fail within its warranty, and where may a claim go from here?"""

import calendar
from dataclasses import dataclass
from datetime import date

from garage.lifetimes.wording import spoken
from garage.records.choices import ClaimState

#: From which state a claim may go to which. Every picture of it is made from this table.
CLAIM_MOVES: dict[str, tuple[str, ...]] = {
    ClaimState.OPEN: (ClaimState.SENT, ClaimState.DROPPED),
    ClaimState.SENT: (ClaimState.SETTLED, ClaimState.REFUSED, ClaimState.DROPPED),
    # A refusal is often the start of a second letter.
    ClaimState.REFUSED: (ClaimState.SENT, ClaimState.DROPPED),
    ClaimState.DROPPED: (ClaimState.OPEN,),
    ClaimState.SETTLED: (),
}


@dataclass(frozen=True)
class Terms:
    """How long a warranty runs; None where that clock does not count."""

    months: int | None
    distance_km: int | None


@dataclass(frozen=True)
class Span:
    """A part's service under warranty; km are None where no odometer stands."""

    fitted_on: date
    ended_on: date
    fitted_km: int | None
    ended_km: int | None

    @property
    def driven_km(self) -> int | None:
        if self.fitted_km is None or self.ended_km is None:
            return None
        return max(0, self.ended_km - self.fitted_km)


@dataclass(frozen=True)
class TermsAnswer:
    """`within` is None where it cannot be said; `words` says why in any case."""

    within: bool | None
    ends_on: date | None
    words: str


def terms_answer(terms: Terms, span: Span) -> TermsAnswer:
    """Whether the part ended within its terms: both clocks that count must still run.

    The last day counts as within, and so does the last kilometre.
    """
    ends_on = None if terms.months is None else months_after(span.fitted_on, terms.months)
    said: list[str] = []
    answers: list[bool | None] = []
    if ends_on is not None:
        answers.append(span.ended_on <= ends_on)
        said.append(
            f"failed on {span.ended_on}, {'within' if answers[-1] else 'after'} the "
            f"{terms.months} months that end on {ends_on}"
        )
    if terms.distance_km is not None:
        driven_km = span.driven_km
        if driven_km is None:
            answers.append(None)
            said.append(
                f"the distance driven is not known, so the limit of {spoken(terms.distance_km)} km "
                "cannot be held against it"
            )
        else:
            answers.append(driven_km <= terms.distance_km)
            said.append(
                f"driven {spoken(driven_km)} km, {'within' if answers[-1] else 'beyond'} the "
                f"{spoken(terms.distance_km)} km allowed"
            )
    within: bool | None = True
    if False in answers:
        within = False
    elif None in answers:
        within = None
    return TermsAnswer(within, ends_on, "; ".join(said))


def months_after(day: date, months: int) -> date:
    """The same day of the month so many months on, or that month's last day."""
    place = day.year * 12 + day.month - 1 + months
    year, month = divmod(place, 12)
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))
