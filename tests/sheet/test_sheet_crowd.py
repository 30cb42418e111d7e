"""Five hundred reports on one sheet: numbers with a list, and no word on another."""

import re

import numpy as np
import pypdfium2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from plotter.cli import main
from plotter.sheet.numbering import gathered, in_ranges

COUNT = 500


@pytest.fixture(scope="module")
def sheet(tmp_path_factory):
    folder = tmp_path_factory.mktemp("crowd")
    rng = np.random.default_rng(3)
    rows = ["time_utc,sender,subject,report"]
    for k in range(COUNT):
        lat, lon = 47.0 + rng.normal(0.0, 0.02), 8.0 + rng.normal(0.0, 0.03)
        rows.append(f"2026-03-14T09:{k % 60:02}Z,Team {k},,{lat:.5f}N {lon:.5f}E")
    (folder / "reports.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    (folder / "tiles").mkdir()
    out = folder / "sheet.pdf"
    words = ["sheet", str(folder / "reports.csv"), "--tiles", str(folder / "tiles"), "-o", str(out)]
    with pytest.raises(SystemExit, match="0"):
        main([*words, "--scale", "50000"])
    return pypdfium2.PdfDocument(out)


def words_of(page):
    """Each run of figures on the map with its box in points."""
    text = page.get_textpage()
    found = []
    for k in range(text.count_rects()):
        box = text.get_rect(k)
        words = text.get_text_bounded(*box).strip()
        if re.fullmatch(r"[\d–, ]+", words):
            found.append((words, box))
    return found


def test_every_report_has_a_number_in_the_list_the_nearest_first(sheet):
    text = "\n".join(page.get_textpage().get_text_range() for page in sheet)
    numbers = [int(n) for n in re.findall(r"(\d+) Team \d+\b", text)]
    assert set(range(1, COUNT + 1)) <= set(numbers)
    listed = [n for n in numbers if n <= COUNT]
    assert listed[: COUNT // 2] == sorted(listed[: COUNT // 2])


def test_ranges_say_every_number_once():
    assert in_ranges([3, 1, 2, 7, 9, 8, 12]) == "1–3, 7–9, 12"


@given(st.sets(st.integers(1, 60), min_size=1))
def test_ranges_can_be_read_back(numbers):
    found = set()
    for part in in_ranges(numbers).split(", "):
        first, _, last = part.partition("–")
        found |= set(range(int(first), int(last or first) + 1))
    assert found == numbers


@given(st.lists(st.tuples(st.floats(0, 200), st.floats(0, 200)), min_size=1, max_size=80))
def test_nothing_is_lost_when_it_is_gathered(places):
    groups = gathered([(place, k) for k, place in enumerate(places)])
    assert sorted(n for _, numbers in groups for n in numbers) == list(range(len(places)))


def test_no_number_stands_on_another(sheet):
    page = sheet[next(k for k in range(len(sheet)) if len(words_of(sheet[k])) > 60)]
    boxes = [box for _, box in words_of(page)]
    over = 0
    for k, (left, bottom, right, top) in enumerate(boxes):
        for other in boxes[k + 1 :]:
            wide = min(right, other[2]) - max(left, other[0])
            high = min(top, other[3]) - max(bottom, other[1])
            over += wide > 1.0 and high > 1.0
    assert over == 0
