"""Take the records out: one archive, for the owners of an organisation."""

import tempfile

from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.http import FileResponse, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.views.decorators.http import require_POST, require_safe

from garage.pages.in_view import in_view
from garage.pages.respond import page
from garage.pages.write import acting, now, today
from garage.records.choices import Role
from garage.records.permissions import organisations_owned
from garage.records.services.export import archive_export


@login_required
@require_safe
def export(request: HttpRequest) -> HttpResponse:
    owned = organisations_owned(request.user)
    if not owned:
        raise PermissionDenied(
            "only an owner takes an organisation's records out. Ask an owner of yours."
        )
    return page(request, "export.html", in_view(request), None, owned=owned)


@login_required
@require_POST
def export_take(request: HttpRequest, organisation_id: int) -> HttpResponseBase:
    """The archive itself; the trail keeps who took it."""
    member = acting(request, organisation_id, least=Role.OWNER)
    # It has no name in any folder, and is gone once it is sent.
    out = tempfile.TemporaryFile()  # noqa: SIM115 - the answer closes it
    archive_export(organisation=member.organisation, out=out, at=now(), by=member.user)
    out.seek(0)
    return FileResponse(
        out,
        as_attachment=True,
        filename=f"{member.organisation.code}-{today():%Y-%m-%d}.zip",
        headers={"Cache-Control": "private, no-store"},
    )
