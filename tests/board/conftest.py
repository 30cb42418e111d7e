"""Fixtures of the board's tests."""

import sys
from pathlib import Path

import pytest

# tests/ is no package; its shared helpers are found beside this folder.
sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from board_examples import DAY, NOW, example_fix, example_picture, formats_stand_in
from browser_support import browser

from plotter.board import build_board, scene


@pytest.fixture(scope="session")
def example_scene():
    return scene(
        example_picture(),
        [("Whistle", example_fix())],
        date=DAY,
        now_utc=NOW,
        all_formats=formats_stand_in,
    )


@pytest.fixture(scope="session")
def example_board(example_scene):
    return build_board(example_scene)


@pytest.fixture(scope="session")
def chromium():
    with browser() as found:
        yield found
