"""The examples in the docstrings of the room, and its list of public names."""

import doctest
import importlib
import pkgutil

import pytest

import plotter.fix

MODULES = [f"plotter.fix.{m.name}" for m in pkgutil.iter_modules(plotter.fix.__path__)]


@pytest.mark.parametrize("name", MODULES)
def test_examples(name):
    result = doctest.testmod(importlib.import_module(name))
    assert result.failed == 0


def test_public_names_are_there_and_sorted():
    assert sorted(plotter.fix.__all__) == plotter.fix.__all__
    assert all(hasattr(plotter.fix, name) for name in plotter.fix.__all__)
