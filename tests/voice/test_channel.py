"""The noisy channel: whatever slips make of a run, it is among those that may have been meant."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from plotter.voice.channel import SLIP_RATE, meant_runs
from plotter.voice.fields import all_fields
from plotter.voice.mistakes import CODES, confusion

figures = st.text("0123456789", min_size=2, max_size=7)
letters = st.text("ABCDEFGHJKLMNPQRSTUVWXYZ", min_size=2, max_size=4)


@st.composite
def slipped(draw, run):
    """A run after one slip, made here by code of its own."""
    alphabet = "0123456789" if run.isdigit() else "ABCDEFGHJKLMNPQRSTUVWXYZ"
    at = draw(st.integers(0, len(run) - 1))
    kind = draw(st.sampled_from(["other", "exchanged", "left out", "twice", "put in"]))
    if kind == "other":
        return run[:at] + draw(st.sampled_from(alphabet)) + run[at + 1 :]
    if kind == "exchanged":
        return run[:at] + run[at : at + 2][::-1] + run[at + 2 :]
    if kind == "left out":
        return run[:at] + run[at + 1 :]
    if kind == "twice":
        return run[:at] + run[at] + run[at:]
    return run[:at] + draw(st.sampled_from(alphabet)) + run[at:]


@given(st.data(), st.one_of(figures, letters), st.integers(0, 2))
def test_what_was_meant_is_always_found(data, run, slips):
    received = run
    for _ in range(slips):
        if len(received) > 1:
            received = data.draw(slipped(received))
    found = meant_runs(received, len(run), 12)
    texts = [found.text(i) for i in range(found.slips.size)]
    assert len(set(texts)) == len(texts)
    at = texts.index(run)
    assert found.slips[at] <= slips
    assert 0 < found.chance[at] <= 1
    chance, count = found.of([run, "0" * len(run) if run[0] != "0" else "9" * len(run)])
    assert (chance[0], count[0]) == (found.chance[at], found.slips[at])


@given(st.text("0123456789", min_size=3, max_size=3))
def test_the_chances_of_what_one_slip_makes_of_a_run_add_up_to_no_more_than_all(meant):
    """Over every text of the same length that may be received, the chances are a distribution."""
    total = 0.0
    for value in range(1000):
        received = f"{value:03d}"
        if received != meant:
            chance, _ = meant_runs(received, 3, 3, 1).of([meant])
            total += float(chance[0])
    assert 0 < total <= SLIP_RATE


def test_confusions_are_chances():
    table = confusion()
    assert table.sum(axis=1) == pytest.approx(np.ones(36))
    assert (np.diag(table) == 0).all()
    # Common practice, no source: nine is what five is taken for most often.
    assert CODES[int(np.argmax(table[5]))] == "9"


@pytest.mark.parametrize(
    ("text", "name", "fields"),
    [
        ("31U DQ 48251 11932", "mgrs", {"prefix": "31UDQ", "easting": "48251"}),
        ("mgrs 31UDQ4825111932", "mgrs", {"prefix": "31UDQ", "figures": "4825111932"}),
        ("DQ 482 119", "mgrs", {"prefix": "DQ", "easting": "482", "northing": "119"}),
        ("48251 11932", "mgrs", {"easting": "48251", "northing": "11932"}),
        ("31U 448251E 5411932N", "utm", {"easting": "448251", "northing": "5411932"}),
        ("zone 31U E 448251.5 N 5411932", "utm", {"prefix": "31U", "easting": "448251"}),
        ("JN18DU55", "maidenhead", {"locator": "JN18DU55"}),
        ("48.8582N 2.2945E", "latlon", {"latitude": "48.8582", "longitude side": "E"}),
        ("-33.8568, 151.2153", "latlon", {"latitude": "33.8568", "latitude side": "-"}),
        ("E2.2945 N48.8582", "latlon", {"latitude": "48.8582", "longitude": "2.2945"}),
        ("48 51.49N 002 17.67E", "latlon", {"latitude": "48 51.49", "longitude": "002 17.67"}),
    ],
)
def test_a_text_is_taken_apart_by_its_format(text, name, fields):
    found = all_fields(text)[0]
    assert found.format == name
    assert {key: found.get(key).text for key in fields} == fields
    assert found.with_texts({}) == found.text
