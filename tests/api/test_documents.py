"""What the documents say of the API is what the code says.

`WRITE_DOCUMENTS=yes deploy/test tests/api/test_documents.py` writes the made parts anew.
"""

import os
from pathlib import Path
from typing import Any

import pytest
from rest_framework.test import APIClient

from tests.api import documents
from tests.api.scene import Scene

WRITES = os.environ.get("WRITE_DOCUMENTS") == "yes"
HOW = "write it anew: WRITE_DOCUMENTS=yes deploy/test tests/api/test_documents.py"


def made_part(path: Path, name: str, made: str) -> str:
    """The part as it stands in the document; written first where that was asked for."""
    text = path.read_text()
    if WRITES:
        text = documents.part(name).sub(lambda _: made, text)
        path.write_text(text)
    (standing,) = documents.part(name).findall(text)
    return str(standing)


def test_openapi_document_is_as_generated(repo: Path) -> None:
    path, made = repo / "docs" / "openapi.yaml", documents.openapi_yaml()
    if WRITES:
        path.write_text(made)
    assert path.read_text() == made, HOW


@pytest.mark.parametrize(
    ("file", "name", "make"),
    [
        ("api.md", "addresses", documents.endpoint_table),
        ("api.md", "parameters", documents.parameter_table),
        ("api.md", "problems", documents.problem_table),
        ("api.md", "faults", documents.fault_table),
        ("json.md", "fields", documents.field_tables),
    ],
)
def test_table_is_as_generated(repo: Path, file: str, name: str, make: Any) -> None:
    made = make()
    assert made_part(repo / "docs" / file, name, made) == made, HOW


@pytest.mark.parametrize(
    ("file", "address"),
    [
        ("json.md", "part-life/?origin=factory"),
        ("json.md", "comebacks/"),
        ("json.md", "early-failures/"),
        ("api.md", "early-failures/?leader=luck&colour=red"),
    ],
)
def test_example_is_what_the_scene_answers(
    repo: Path, scene: Scene, alder: APIClient, file: str, address: str
) -> None:
    answer = alder.get(f"/api/v1/{address}").json()
    wanted = documents.shown(answer)
    path = repo / "docs" / file
    (standing,) = documents.part(address).findall(path.read_text())
    if WRITES and not near(documents.example_read(standing), wanted):
        standing = made_part(path, address, documents.example(answer))
    assert near(documents.example_read(standing), wanted), HOW


def near(left: Any, right: Any) -> bool:
    """Equal but for the last digits, which differ between processors."""
    if isinstance(left, dict) and isinstance(right, dict):
        return left.keys() == right.keys() and all(near(left[key], right[key]) for key in left)
    if isinstance(left, list) and isinstance(right, list):
        return len(left) == len(right) and all(map(near, left, right))
    if isinstance(left, float) and isinstance(right, float):
        return left == pytest.approx(right, rel=1e-3, abs=1e-9)
    return bool(left == right)


def test_near_tells_what_differs() -> None:
    assert near({"a": [1.0, "x", None]}, {"a": [1.0 + 1e-7, "x", None]})
    for other in ({"a": [1.1, "x", None]}, {"a": [1.0, "x"]}, {"a": [1.0, "x", 0]}, {"b": []}):
        assert not near({"a": [1.0, "x", None]}, other)
