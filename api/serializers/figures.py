"""Figures and shares as answers: none travels without its sample size, interval and source."""

from api.serializers.fields import Answer, number, one_of, text, whole
from garage.lifetimes.status import Status


class FigureAnswer(Answer):
    """A figure with its 95 % limits."""

    value = number(
        "The figure; null, with the reason, where the records do not reach it.", null=True
    )
    lower = number("Lower 95 % limit; null where there is none.", null=True)
    upper = number("Upper 95 % limit; null where there is none.", null=True)
    n = whole("Lives, or index jobs, behind the figure.")
    failed = whole("Failures, or comebacks, among them.")
    status = one_of(Status, "What became of the figure: ok, or a word for what it lacks.")
    reason = text("The status in plain words; empty where it is ok.")
    source = text("Where the figure comes from and how it was made.")  # type: ignore[assignment]


class FigureAtKmAnswer(FigureAnswer):
    at_km = whole("The distance that the figure is for, km.")


class FigureAtDaysAnswer(FigureAnswer):
    at_days = whole("The time that the figure is for, days.")


class StayAwayAnswer(Answer):
    """A stay-away share: of those repaired elsewhere, the part that never comes back here."""

    value = number("The share that the capture share was estimated with.")
    lower = number("Lower 95 % limit; null where it is judgement.", null=True)
    upper = number("Upper 95 % limit; null where it is judgement.", null=True)
    n = whole("Repairs elsewhere that it was learnt from.")
    told = whole("Keepers on the call list who told.")
    status = one_of(Status, "ok, or a word for why it is not measured.")
    reason = text("Why it is not measured; empty where it is.")
    source = text("Judgement, or the call list and its day.")  # type: ignore[assignment]


class CaptureAnswer(Answer):
    """A capture share: the part of the failures (or comebacks) that come here to be seen."""

    value = number("The share, from 0 to 1; null, with the reason, where none is known.", null=True)
    lower = number("Lower 95 % limit.", null=True)
    upper = number("Upper 95 % limit.", null=True)
    here = number("Failures (comebacks) that came here, of vehicles looked at again.")
    elsewhere = number("Failures (comebacks) found to have been repaired elsewhere.")
    status = one_of(Status, "ok, or a word for what the share lacks.")
    reason = text("What the share rests on, where there is something to say.")
    stay_away = StayAwayAnswer(
        allow_null=True, help_text="The stay-away share; null where all repairs are seen."
    )
