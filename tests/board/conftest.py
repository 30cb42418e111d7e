"""Fixtures of the board's tests."""

import pytest
from board_examples import DAY, NOW, example_fix, example_picture, formats_stand_in
from board_pages import until_painted
from browser_support import open_page

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


@pytest.fixture
def opened(chromium, tmp_path):
    """Open boards; each page must have asked for nothing but its own file when it is closed."""
    contexts = []

    def show(board, **size):
        path = tmp_path / f"board{len(contexts)}.html"
        path.write_bytes(board.html.encode("utf-8"))
        context = open_page(chromium, path, **size)
        page, seen = context.__enter__()
        contexts.append((context, seen, path))
        until_painted(page)
        return page

    yield show
    for context, seen, path in contexts:
        context.__exit__(None, None, None)
        assert seen.requests == [path.as_uri()]
        # Reading pixels back is the test's own doing; the browser remarks on it.
        assert [c for c in seen.complaints if not c.startswith("Canvas2D: Multiple")] == []
