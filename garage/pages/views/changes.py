"""The audit trail of an organisation, for its owners: who changed what."""

from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from garage.pages.in_view import in_view
from garage.pages.respond import page
from garage.pages.trail import row_told
from garage.pages.write import acting
from garage.records.audit_trail import audit_listed
from garage.records.choices import Role

ROWS_A_PAGE = 100


@login_required
@require_safe
def changes(request: HttpRequest, organisation_id: int) -> HttpResponse:
    member = acting(request, organisation_id, least=Role.OWNER)
    listed = audit_listed(organisation=member.organisation)
    shown = Paginator(listed, ROWS_A_PAGE).get_page(request.GET.get("page"))
    return page(
        request,
        "changes.html",
        in_view(request),
        None,
        organisation=member.organisation,
        shown=shown,
        rows=[row_told(each) for each in shown],
    )
