"""Somebody else's tables: sent in, mapped by a person, looked at as they would land, imported."""

from dataclasses import replace
from typing import Any

from django import forms
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods, require_POST

from garage.pages.forms.tables import MappingForm, RuleForm, UploadForm
from garage.pages.in_view import in_view
from garage.pages.landing import landing_told
from garage.pages.respond import page
from garage.pages.write import acting, done, now, today, tried
from garage.records.models import TableUpload
from garage.records.services.import_runs import table_run_queue
from garage.records.services.table_uploads import (
    NewTable,
    table_upload,
    upload_discard,
    upload_look,
    upload_map,
    upload_mapping,
)
from garage.records.table_sources import access_upload, sources_listed, uploads_listed


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def tables(request: HttpRequest) -> HttpResponse:
    """Tables under way, and one sent in."""
    view = in_view(request)
    sent = request.method == "POST"
    form = UploadForm(
        request.POST if sent else None, request.FILES or None, organisations=view.shown
    )
    kept: list[TableUpload] = []

    def keep(said: dict[str, Any]) -> None:
        member = acting(request, said["organisation"].pk)
        content = said["content"]
        new = NewTable(said["source_name"], content.name, content.file, content.size)
        kept.append(
            table_upload(
                organisation=member.organisation, new=new, as_of=today(), at=now(), by=member.user
            )
        )

    if sent and tried(form, keep):
        return done(request, "Look through what was proposed.", "table", kept[0].pk)
    waiting, sources = uploads_listed(scope=view.scope), sources_listed(scope=view.scope)
    return page(request, "tables.html", view, None, form=form, waiting=waiting, sources=sources)


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def table(request: HttpRequest, upload_id: int) -> HttpResponse:
    """Say what the columns, values and ambiguous cells mean; see the first rows land."""
    found = access_upload(scope=in_view(request).scope, upload_id=upload_id)
    member = acting(request, found.organisation_id)
    if request.method != "POST":
        return _table_page(request, found)
    mapping = upload_mapping(found)
    look = upload_look(upload=found, mapping=mapping, as_of=today())
    form = MappingForm(request.POST, look=look, mapping=mapping)
    if tried(
        form, lambda _: upload_map(upload=found, mapping=form.said(), at=now(), by=member.user)
    ):
        return done(
            request, "Kept. The first rows below are as they would land.", "table", found.pk
        )
    return _table_page(request, found, form=form)


@login_required
@require_POST
def table_rule(request: HttpRequest, upload_id: int) -> HttpResponse:
    """Add a rule for some rows, or take all such rules back."""
    found = access_upload(scope=in_view(request).scope, upload_id=upload_id)
    member = acting(request, found.organisation_id)
    mapping = upload_mapping(found)
    takes_back = "take_back" in request.POST
    form: forms.Form = forms.Form(request.POST)
    if not takes_back:
        form = RuleForm(request.POST, headers=mapping.headers)

    def keep(_: dict[str, Any]) -> None:
        kept = tuple(each for each in mapping.rules if not takes_back or each.when_source is None)
        added = (form.said(),) if isinstance(form, RuleForm) else ()
        changed = replace(mapping, rules=(*kept, *added))
        upload_map(upload=found, mapping=changed, at=now(), by=member.user)

    if tried(form, keep):
        return done(request, "The rules are kept.", "table", found.pk)
    return _table_page(request, found, rule=form)


@login_required
@require_POST
def table_import(request: HttpRequest, upload_id: int) -> HttpResponse:
    """Have the table imported in the background, or only tried; its page says what comes of it."""
    found = access_upload(scope=in_view(request).scope, upload_id=upload_id)
    member = acting(request, found.organisation_id)
    run = table_run_queue(table=found, dry_run="try" in request.POST, at=now(), by=member.user)
    return redirect("import-run", run.pk)


@login_required
@require_POST
def table_discard(request: HttpRequest, upload_id: int) -> HttpResponse:
    found = access_upload(scope=in_view(request).scope, upload_id=upload_id)
    member = acting(request, found.organisation_id)
    upload_discard(upload=found, at=now(), by=member.user)
    return done(request, "The table was let go.", "tables")


def _table_page(
    request: HttpRequest,
    upload: TableUpload,
    form: MappingForm | None = None,
    rule: forms.Form | None = None,
) -> HttpResponse:
    mapping = upload_mapping(upload)
    if form is None:
        look = upload_look(upload=upload, mapping=mapping, as_of=today())
        form = MappingForm(look=look, mapping=mapping)
    return page(
        request,
        "table.html",
        in_view(request),
        None,
        upload=upload,
        form=form,
        look=form.look,
        landing=landing_told(form.look),
        rule_form=rule or RuleForm(headers=mapping.headers),
        row_rules=[each for each in mapping.rules if each.when_source is not None],
    )
