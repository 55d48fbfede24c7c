"""docs/demo.md shows what the register finds today."""

import os
from pathlib import Path

import pytest

from fixtures.demo.truth import DEMO_TRUTH
from tests.demo.document import BEGIN, END, document_with, found_tables
from tests.demo.world import Found

pytestmark = pytest.mark.django_db


def test_demo_document_holds_what_is_found(found: Found, repo: Path) -> None:
    path = repo / "docs" / "demo.md"
    text = path.read_text(encoding="utf-8")
    renewed = document_with(text, found_tables(found))
    if os.environ.get("WRITE_DOCUMENTS") == "yes":
        path.write_text(renewed, encoding="utf-8")
        text = renewed
    assert text == renewed, (
        "run WRITE_DOCUMENTS=yes pytest tests/demo/test_document.py and read the change"
    )


def test_demo_document_names_every_organisation_and_family(repo: Path) -> None:
    text = (repo / "docs" / "demo.md").read_text(encoding="utf-8")
    for each in DEMO_TRUTH.organisations:
        assert each.name in text
    for family in DEMO_TRUTH.families:
        assert family.name in text


def test_document_without_its_marks_is_refused() -> None:
    with pytest.raises(ValueError, match="in this order"):
        document_with(f"{END} then {BEGIN}", "")
