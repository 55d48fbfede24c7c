"""Holds real answers against the OpenAPI document, and lets no member through that it lacks."""

import copy
import functools
from typing import Any

from drf_spectacular.generators import SchemaGenerator
from jsonschema import Draft202012Validator


@functools.cache
def openapi_document() -> dict[str, Any]:
    return dict(SchemaGenerator().get_schema(request=None, public=True))


@functools.cache
def _closed_components() -> dict[str, Any]:
    components = copy.deepcopy(openapi_document()["components"])
    for schema in components["schemas"].values():
        if "properties" in schema:
            schema["additionalProperties"] = False
    return dict(components)


def departures(response: Any, path: str, method: str = "get") -> list[str]:
    """Where an answer departs from what the document says of this path and status."""
    answers = openapi_document()["paths"][path][method]["responses"]
    status = str(response.status_code)
    if status not in answers:
        return [f"{method} {path} may not answer {status}; it may: {', '.join(answers)}"]
    media_type = response.headers["Content-Type"].partition(";")[0]
    content = answers[status]["content"]
    if media_type not in content:
        return [f"{method} {path} {status} is not offered as {media_type}"]
    schema = {**content[media_type]["schema"], "components": _closed_components()}
    checker = Draft202012Validator(schema, format_checker=Draft202012Validator.FORMAT_CHECKER)
    return [f"{fault.json_path}: {fault.message}" for fault in checker.iter_errors(response.json())]
