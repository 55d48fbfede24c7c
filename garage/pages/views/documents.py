"""Photos and documents: opened by those who may, added to jobs and claims."""

from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import FileResponse, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.views.decorators.http import require_POST, require_safe

from garage.pages.forms.documents import DocumentForm, upload_of
from garage.pages.in_view import in_view
from garage.pages.respond import page
from garage.pages.write import acting, done, now, tried
from garage.records.claims import access_claim
from garage.records.documents import (
    EXTENSIONS,
    SHOWN_IN_PAGE,
    access_document,
    document_storage,
)
from garage.records.services.documents import document_add

#: Whatever a file holds, a browser that shows it runs nothing of it.
SANDBOX = "default-src 'none'; sandbox"


@login_required
@require_safe
def document(request: HttpRequest, document_id: int) -> HttpResponseBase:
    """The file itself. Only photos are shown in the page; all else is saved."""
    found = access_document(scope=in_view(request).scope, document_id=document_id)
    answer = FileResponse(
        document_storage().open(found.stored_as),
        as_attachment=found.content_type not in SHOWN_IN_PAGE,
        filename=f"document-{found.pk}.{EXTENSIONS[found.content_type]}",
        content_type=found.content_type,
    )
    answer.headers["Content-Security-Policy"] = SANDBOX
    answer.headers["Cache-Control"] = "private, no-store"
    return answer


@login_required
@require_POST
def claim_document(request: HttpRequest, claim_id: int) -> HttpResponse:
    """Add a file to a claim; one that is refused comes back on a page of its own."""
    found = access_claim(scope=in_view(request).scope, claim_id=claim_id)
    member = acting(request, found.organisation_id)
    form = DocumentForm(request.POST, request.FILES)

    def keep(said: dict[str, Any]) -> None:
        document_add(belongs_to=found, upload=upload_of(said), at=now(), by=member.user)

    if tried(form, keep):
        return done(request, "The document is kept.", "claim", found.pk)
    return page(request, "document_add.html", in_view(request), None, form=form)
