"""Render a page with what every page's head needs."""

from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from garage.pages.in_view import InView
from garage.pages.reports import Reading


def page(
    request: HttpRequest,
    template: str,
    view: InView,
    reading: Reading | None,
    **context: Any,
) -> HttpResponse:
    kind_query = ""
    if reading is not None and reading.asks_for_kind:
        kind_query = "?" + urlencode({"part_kind": reading.part_kind.code})
    return render(
        request,
        f"pages/{template}",
        {"in_view": view, "reading": reading, "kind_query": kind_query, **context},
    )


def pdf_answer(pdf: bytes, *, name: str) -> HttpResponse:
    """A printed sheet, shown in the browser under this name."""
    headers = {"Content-Disposition": f'inline; filename="{name}.pdf"'}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)
