"""What stands beside a position is left out only where it cannot be a part of it, and is said.

Laws over positions that are complete, half complete or bare, with all that people say around them:
a side, a figure or a way that is said is never passed over.
"""

import re

from hypothesis import given, settings
from hypothesis import strategies as st

from plotter.errors import FormatError
from plotter.geodesy.position import Area, Position
from plotter.voice.spoken import spoken_reading

AREA = Area(Position(9.0, 14.0), 60_000)
SIDES = ("west", "south", "West", "oeste", "Süd", "ouest", "westlich", "W", "S")

numbers = st.integers(0, 89_999).map(lambda n: f"{n / 1000:.3f}")
complete = st.builds(lambda a, o: f"{a}N {o}E", numbers, numbers)
half = st.builds(lambda a, o: f"{a} S, {o}", numbers, numbers)
bare = st.builds(lambda a, o: f"{a}, {o}", numbers, numbers)
gaps = st.sampled_from(
    [" ", ", ", " - ", ". ", " (", " degrees, ", " that is ", " to the ", " and "]
)  # fmt: skip
befores = st.sampled_from(["", "we are at ", "man down at ", "Team 4 ", "two casualties, ", "at "])
tails = st.sampled_from(
    ["", " over", ", two casualties", " one serious", " at 14:05", " 1405", ", 14 05", " 20 people",
     ", 4 POB", " altitude 350 m", " in 15 minutes", ", bridge 12 is down", " (± 10 m)", ", 7"]
)  # fmt: skip
grids = st.sampled_from(
    ["31U DQ 482 119", "31UDQ48251193", "JN58td", "27H UT 81 48", "31U DQ 48 11"]
)  # fmt: skip
areas = st.sampled_from([None, AREA])


def read(text, area):
    try:
        return spoken_reading(text, area)
    except FormatError:
        return ()


@given(befores, half | bare, gaps, st.sampled_from(SIDES), tails, areas)
@settings(max_examples=300)
def test_a_side_that_is_said_is_never_taken_for_free_talk(before, position, gap, side, tail, area):
    text = f"{before}{position}{gap}{side}{')' if '(' in gap else ''}{tail}"
    for each in read(text, area):
        west = side.lower() in ("west", "oeste", "ouest", "westlich", "w")
        if west:
            assert each.square.centre.lon_deg <= 0, (text, each)
        elif "S, " not in position:
            assert each.square.centre.lat_deg <= 0 or not any(
                "no letter" in why for why in each.assumed
            ), (text, each)


@given(befores, complete | half | bare | grids, tails, areas)
@settings(max_examples=300)
def test_every_figure_is_in_the_position_or_said_to_be_left_out(before, position, tail, area):
    text = before + position + tail
    for each in read(text, area):
        if not each.rests_on:
            continue
        parts = each.rests_on + "".join(each.left_out)
        assert sorted(re.findall(r"\d", parts)) == sorted(re.findall(r"\d", text)), (text, each)
        # No number is cut: what is left out begins and ends between numbers.
        at = text.index(each.rests_on)
        end = at + len(each.rests_on)
        assert not re.match(r"[.,]?\d", text[end:]), (text, each)
        assert not re.search(r"\d[.,]?$", text[:at]), (text, each)


@given(befores, complete | grids, tails, areas)
@settings(max_examples=300)
def test_what_is_said_around_a_complete_position_does_not_move_it(before, position, tail, area):
    expected = {each.square.centre for each in spoken_reading(position, area)}
    found = {each.square.centre for each in read(before + position + tail, area)}
    # Nothing, or the same place among what is offered.
    assert not found or found & expected, (before + position + tail, found)


@given(complete, st.integers(2, 900), st.sampled_from(["m", "km", "metres"]), st.sampled_from(
    ["north", "south-west", "west", "east"]), st.booleans())  # fmt: skip
def test_a_way_beside_a_position_is_not_passed_over(position, length, unit, point, first):
    way = f"{length} {unit} {point}" if first else f"{point} {length} {unit}"
    assert read(f"{position}, {way}", None) == ()
    assert read(f"{position} then {way}", None) == ()
