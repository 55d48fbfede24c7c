"""The examples in docstrings of the mathematics and the evidence run, and say what they print."""

import doctest
import importlib
import pkgutil

import pytest

import garage.evidence
import garage.lifetimes

MODULES = sorted(
    each.name
    for package in (garage.lifetimes, garage.evidence)
    for each in pkgutil.walk_packages(package.__path__, f"{package.__name__}.")
    if not each.ispkg
)


@pytest.mark.parametrize("name", MODULES)
def test_examples_of_module(name: str) -> None:
    module = importlib.import_module(name)
    assert doctest.testmod(module).failed == 0


def test_examples_are_there_to_run() -> None:
    finder = doctest.DocTestFinder(exclude_empty=True)
    examples = sum(
        len(test.examples)
        for name in MODULES
        for test in finder.find(importlib.import_module(name))
    )
    assert examples > 30
