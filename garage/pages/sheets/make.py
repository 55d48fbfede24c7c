"""Make a printed sheet: an accessible PDF from a template and plain data."""

import json
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import Any

import typst

FOLDER = Path(__file__).parent


def sheet_pdf(template: str, data: dict[str, Any], *, made_on: date) -> bytes:
    """The PDF (UA-1) of a template in this folder; the same data gives the same bytes.

    Data goes in as JSON, never as text of the template. The first call must not come before a
    process is forked.
    """
    made_at = datetime.combine(made_on, time(), tzinfo=UTC)
    pdf: bytes = typst.compile(
        FOLDER / template,
        root=FOLDER,
        sys_inputs={"data": json.dumps(data, ensure_ascii=False)},
        ignore_system_fonts=True,
        pdf_standards=["ua-1"],
        timestamp=int(made_at.timestamp()),
    )
    return pdf
