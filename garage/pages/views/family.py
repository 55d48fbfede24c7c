"""An engine family: how long its parts last, how often it comes back."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_safe

from garage.evidence.family_reference import family_references
from garage.pages.family_sheet import family_sheet
from garage.pages.in_view import in_view
from garage.pages.reference_told import reference_table
from garage.pages.reports import report_read
from garage.pages.respond import page
from garage.records.selectors import families_in_scope


@login_required
@require_safe
def family(request: HttpRequest, family_id: int) -> HttpResponse:
    view = in_view(request)
    found = get_object_or_404(families_in_scope(scope=view.scope), pk=family_id)
    reading = report_read(request, view)
    sheet = family_sheet(family=found, reading=reading)
    references = family_references(family_id=found.pk, organisation_ids=view.scope.organisation_ids)
    told = reference_table(references)
    return page(request, "family.html", view, reading, family=found, sheet=sheet, reference=told)
