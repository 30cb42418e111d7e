"""Fixtures of the board's tests."""

import pytest
from board_examples import DAY, NOW, example_fix, example_picture, formats_stand_in

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
