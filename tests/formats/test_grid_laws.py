"""No grid text is read wrong, and none loses a letter or a figure without a trace."""

import random
import re

import pytest
from grid_texts import grid_texts

from plotter.errors import FormatError
from plotter.formats.reading import reading
from plotter.formats.result import asks_of
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Position

SIZES = [(1, 600), pytest.param(2, 100_000, marks=pytest.mark.slow)]


def rates(seed, count):
    right = asked = refused = 0
    wrong = []
    for sample in grid_texts(seed, count):
        place = Position(sample.lat_deg, sample.lon_deg)
        try:
            found = reading(sample.text)
        except FormatError:
            refused += 1
            continue
        # The place lies in the square: no farther from its middle than its half diagonal.
        hits = [
            geodesic(each.square.centre, place).distance_m <= 0.75 * each.square.size_m + 0.1
            and each.square.size_m <= 1.05 * sample.size_m
            for each in found
        ]
        if not any(hits):
            wrong.append((sample, found))
        asks = len(hits) > 1 or bool(asks_of(found))
        right += hits == [True] and not asks
        asked += asks and any(hits)
    return right, asked, refused, wrong


@pytest.mark.parametrize(("seed", "count"), SIZES)
def test_no_grid_text_is_read_wrong(seed, count):
    right, asked, refused, wrong = rates(seed, count)
    print(f"\n{right} right, {asked} asked, {refused} refused of {count}")
    assert wrong == []
    assert refused <= 0.05 * count
    assert asked <= 0.05 * count


@pytest.mark.parametrize(("seed", "count"), [
    (3, 150), pytest.param(4, 3_000, marks=pytest.mark.slow),
])  # fmt: skip
def test_no_letter_or_figure_goes_or_changes_without_a_trace(seed, count):
    rng = random.Random(seed)  # noqa: S311 - a test needs to be repeatable, not secret
    faults = []
    for sample in grid_texts(seed, count):
        whole = _meanings(sample.text)
        if whole is None:
            continue
        for at, character in enumerate(sample.text):
            if not character.isalnum() or _is_a_name(sample.text, at):
                continue
            shorter = sample.text[:at] + sample.text[at + 1 :]
            if _meanings(shorter) == whole and not _leading_zero(sample.text, at):
                faults.append((sample.text, at, "taken away"))
            new = rng.choice("0123456789ABCDEFGHJKLMNPQRSTUVWXYZ")
            changed = sample.text[:at] + new + sample.text[at + 1 :]
            # N says the northern hemisphere for any band of it: another word for the same.
            if new not in (character.upper(), "N") and _meanings(changed) == whole:
                faults.append((sample.text, at, f"replaced by {new}"))
    assert faults == []


def _is_a_name(text, at):
    """Whether a letter belongs to a word that only names the kind of reference or of number."""
    start = at
    while start and text[start - 1].isalpha():
        start -= 1
    end = at
    while end < len(text) and text[end].isalpha():
        end += 1
    word = text[start:end].lower()
    return word in {
        "mgrs", "usng", "utm", "zone", "locator", "easting", "northing", "e", "n", "me", "mn",
    }  # fmt: skip


def _leading_zero(text, at):
    """A zone of one figure with or without its zero; so too one of those of a northing."""
    return text[at] == "0" and re.search(r"(?<!\d)0*$", text[:at]) is not None


def _meanings(text):
    try:
        found = reading(text)
    except FormatError:
        return None
    return [(each.format, each.square, each.assumed, each.left_out) for each in found]
