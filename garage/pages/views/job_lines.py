"""Job lines that wait for a person, what was learnt of them, and how it is taken back."""

from dataclasses import dataclass

from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from garage.pages.forms.job_lines import SEVERAL, MeaningSet, meaning_set
from garage.pages.in_view import InView, in_view
from garage.pages.line_words import (
    answer_words,
    guess_initial,
    guess_words,
    kind_names,
    one_tap,
)
from garage.pages.respond import page
from garage.pages.write import acting, done, may_write, now
from garage.records.line_answers import (
    access_answer,
    access_line,
    answers_learnt,
    lines_waiting,
)
from garage.records.models import LineToReview, Membership
from garage.records.services.job_lines import answer_withdraw, line_answer

LINES_A_PAGE = 20


@dataclass(frozen=True)
class LineShown:
    """A line with its guess; `means` is the form that answers it, None where one may not."""

    line: LineToReview
    guess: list[str]
    one_tap: list[tuple[str, list[dict[str, str]]]]
    means: MeaningSet | None


@login_required
@require_safe
def job_lines(request: HttpRequest) -> HttpResponse:
    """The queue, most seen first, each with its guess and a form."""
    view = in_view(request)
    names = kind_names()
    shown = Paginator(lines_waiting(scope=view.scope), LINES_A_PAGE).get_page(
        request.GET.get("page")
    )
    writes = _writes(request, view)
    rows = [
        LineShown(
            line,
            guess_words(line, names),
            one_tap(line),
            _means(line, names) if line.organisation_id in writes else None,
        )
        for line in shown
    ]
    return page(request, "job_lines.html", view, None, shown=shown, rows=rows)


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def job_line(request: HttpRequest, line_id: int) -> HttpResponse:
    """Say what one line means: one thing, several, or nothing to record."""
    view = in_view(request)
    line = access_line(scope=view.scope, line_id=line_id)
    member = acting(request, line.organisation_id)
    names = kind_names()
    made = meaning_set(
        None if "nothing" in request.POST else request.POST or None,
        initial=guess_initial(line),
        kinds=list(names.items()),
        name=f"line{line.pk}",
        rows=SEVERAL,
    )
    if request.method == "POST" and _answered(request, line, made, member):
        return done(request, "That is learnt: equal lines are read so from now on.", "job-lines")
    guess = guess_words(line, names)
    return page(request, "job_line.html", view, None, line=line, guess=guess, means=made)


@login_required
@require_safe
def line_answers(request: HttpRequest) -> HttpResponse:
    """What was learnt, phrase by phrase."""
    view = in_view(request)
    writes = _writes(request, view)
    shown = Paginator(answers_learnt(scope=view.scope), LINES_A_PAGE).get_page(
        request.GET.get("page")
    )
    rows = [(each, answer_words(each.rows), each.organisation.pk in writes) for each in shown]
    return page(request, "line_answers.html", view, None, shown=shown, rows=rows)


@login_required
@require_POST
def line_answer_back(request: HttpRequest, answer_id: int) -> HttpResponse:
    answer = access_answer(scope=in_view(request).scope, answer_id=answer_id)
    member = acting(request, answer.organisation_id)
    answer_withdraw(answer=answer, at=now(), by=member.user)
    return done(request, "The answer is taken back; the line waits again.", "line-answers")


def _answered(
    request: HttpRequest, line: LineToReview, made: MeaningSet, member: Membership
) -> bool:
    if "nothing" in request.POST:
        line_answer(line=line, meanings=[], at=now(), by=member.user)
        return True
    if not made.is_valid():
        return False
    line_answer(line=line, meanings=made.meanings(), at=now(), by=member.user)
    return True


def _means(line: LineToReview, names: dict[str, str]) -> MeaningSet:
    """The short form: one row, with the first of the guess."""
    first = guess_initial(line)[:1]
    return meaning_set(initial=first, kinds=list(names.items()), name=f"line{line.pk}")


def _writes(request: HttpRequest, view: InView) -> set[int]:
    """The organisations in view for which this person may answer."""
    return {each.pk for each in view.shown if may_write(request, each.pk)}
