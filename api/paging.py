"""One page of a list."""

from collections.abc import Mapping
from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from api.serializers.fields import whole


def page_of(rows: QuerySet[Any], asked: Mapping[str, Any]) -> dict[str, Any]:
    """The page asked for; beyond the last there are no results."""
    page, page_size = asked["page"], asked["page_size"]
    count = rows.count()
    start = (page - 1) * page_size
    return {
        "count": count,
        "page": page,
        "page_size": page_size,
        "next_page": page + 1 if start + page_size < count else None,
        "results": list(rows[start : start + page_size]),
    }


def paged(row: type[serializers.Serializer[Any]], name: str) -> type[serializers.Serializer[Any]]:
    """The answer that holds a page of these rows."""
    fields = {
        "__doc__": "One page of a list.",
        "count": whole("Rows on all pages together."),
        "page": whole("This page, from 1."),
        "page_size": whole("Rows on a page."),
        "next_page": whole("The page after this one; null on the last.", null=True),
        "results": row(many=True, help_text="The rows."),
    }
    return type(name, (serializers.Serializer,), fields)
