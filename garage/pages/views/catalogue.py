"""The catalogue: which parts are followed, how they wear, and what counts as failed."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from garage.pages.in_view import in_view
from garage.pages.respond import page
from garage.records.models import PartKind


@login_required
@require_safe
def catalogue(request: HttpRequest) -> HttpResponse:
    kinds = PartKind.objects.order_by("system", "name")
    return page(request, "catalogue.html", in_view(request), None, kinds=kinds)
