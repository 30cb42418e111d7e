"""The inks of the page keep their contrast, by day and by night."""

import re
from importlib.resources import files

import pytest

CSS = files("plotter.board").joinpath("assets", "board.css").read_text("utf-8")


def inks(selector):
    body = re.search(re.escape(selector) + r"\s*\{(.*?)\}", CSS, re.DOTALL)[1]
    return dict(re.findall(r"--([\w-]+):\s*(#[0-9a-f]{6})", body))


DAY = inks(":root")
NIGHT = DAY | inks(":root.night")


def luminance(colour):
    """WCAG 2.2, definition of relative luminance."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one, other):
    """WCAG 2.2, definition of contrast ratio."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("sheet", [DAY, NIGHT], ids=["day", "night"])
@pytest.mark.parametrize(
    "ink", ["ink", "quiet", "report", "bearing-text", "computed", "place", "grid-text"]
)
def test_text_reaches_four_and_a_half_to_one(sheet, ink):
    # 4.5 : 1 is WCAG 2.2 success criterion 1.4.3.
    for ground in ("paper", "halo"):
        assert contrast(sheet[ink], sheet[ground]) >= 4.5


@pytest.mark.parametrize("sheet", [DAY, NIGHT], ids=["day", "night"])
@pytest.mark.parametrize("ink", ["report", "bearing", "computed", "place", "chosen"])
def test_lines_reach_three_to_one_on_the_base(sheet, ink):
    # 3 : 1 is WCAG 2.2 success criterion 1.4.11.
    for ground in ("land", "water"):
        assert contrast(sheet[ink], sheet[ground]) >= 3.0


@pytest.mark.parametrize("sheet", [DAY, NIGHT], ids=["day", "night"])
def test_words_on_a_flag_and_lines_of_controls_are_seen(sheet):
    assert contrast(sheet["ink"], sheet["flag"]) >= 4.5
    assert contrast(sheet["line"], sheet["paper"]) >= 3.0
    assert contrast(sheet["focus"], sheet["paper"]) >= 3.0


def test_night_has_no_white_and_no_pure_red():
    for colour in inks(":root.night").values():
        r, g, b = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
        assert min(r, g, b) < 225
        assert not (r > 200 and g < 60 and b < 60)
