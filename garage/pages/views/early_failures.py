"""The early failures, repeat failures first."""

from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from garage.pages.flag_filter import FlagFilter
from garage.pages.flags import flags_told
from garage.pages.in_view import in_view
from garage.pages.reports import report_read
from garage.pages.respond import page
from garage.pages.words import percent

FLAGS_A_PAGE = 25


@login_required
@require_safe
def early_failures(request: HttpRequest) -> HttpResponse:
    view = in_view(request)
    reading = report_read(request, view)
    early = None if reading.report is None else reading.report["early_failures"]
    every = [] if early is None else early["flags"]
    asked = FlagFilter(request.GET, flags=every)
    shown = Paginator(asked.kept(every), FLAGS_A_PAGE).get_page(request.GET.get("page"))
    return page(
        request,
        "early_failures.html",
        view,
        reading,
        early=early,
        false_discovery=None if early is None else percent(early["false_discovery_level"]),
        flag_count=len(every),
        form=asked,
        shown=shown,
        flags=flags_told(shown.object_list),
    )
