"""No constraint of the records goes untested."""

from pathlib import Path

from tests.records.constraints import named_constraints


def test_each_named_constraint_is_broken_by_some_test() -> None:
    written = "".join(
        path.read_text(encoding="utf-8")
        for path in Path(__file__).parent.glob("test_constraints_*.py")
    )
    untested = [name for name in named_constraints() if f'refused_by("{name}")' not in written]
    assert untested == []
