"""The board on paper: day whatever the screen is, with the caution and every report."""

import io

import numpy as np
import pypdfium2
import pytest

pytestmark = pytest.mark.browser


def printed(page):
    """The first page as grey levels, and the words of all pages."""
    document = pypdfium2.PdfDocument(io.BytesIO(page.pdf(format="A4", print_background=True)))
    words = " ".join(sheet.get_textpage().get_text_range() for sheet in document)
    grey = document[0].render(scale=1.5).to_pil().convert("L")
    return np.asarray(grey, dtype=float), " ".join(words.split())


def test_a_board_at_night_is_printed_as_by_day(opened, example_board):
    """What was drawn for the night would be pale words with dark edges on white paper."""
    page = opened(example_board)
    by_day, words = printed(page)
    page.get_by_role("button", name="Night").click()
    by_night, same_words = printed(page)
    assert words == same_words
    assert "read back before committing people" in words
    assert by_day.shape == by_night.shape
    assert by_day.mean() > 200
    assert np.mean(np.abs(by_day - by_night) > 60) < 0.01
    assert page.evaluate("document.documentElement.className").split() == ["night"]
