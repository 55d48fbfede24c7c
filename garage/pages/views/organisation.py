"""Choose the organisation in view."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from garage.pages.in_view import choose_organisation


@login_required
@require_POST
def organisation_in_view(request: HttpRequest) -> HttpResponse:
    """Back to the start: the page one came from may be of a vehicle no longer in view."""
    choose_organisation(request, request.POST.get("organisation", ""))
    return redirect("start")
