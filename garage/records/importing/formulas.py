"""Cells that a spreadsheet would take for a formula, and the apostrophe that keeps them text.

A text that begins with one of these signs is written with an apostrophe before it; reading takes
it off again. A text that begins with apostrophes and then such a sign gets one more, so that none
is lost, whatever it began with.
"""

import re

from garage.records.importing.columns import WRITTEN_FORMS, Column

#: With these a cell begins to be a formula: OWASP community pages, "CSV Injection". The wide forms
#: beside them are judgement: some spreadsheets take them for the same signs.
FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
_SIGNS = "".join(re.escape(sign) for sign in FORMULA_SIGNS)
_IS_FORMULA = re.compile(f"'*[{_SIGNS}]")
_WAS_FORMULA = re.compile(f"'+[{_SIGNS}]")


def cell_written(column: Column, text: str) -> str:
    """A text as it is written into a cell of this column. Numbers and codes stay as they are."""
    return apostrophe_set(text) if column.form in WRITTEN_FORMS else text


def apostrophe_set(text: str) -> str:
    """The text as a cell that no spreadsheet computes."""
    return f"'{text}" if _IS_FORMULA.match(text) else text


def apostrophe_taken_off(cell: str) -> str:
    """The text of such a cell."""
    return cell[1:] if _WAS_FORMULA.match(cell) else cell
