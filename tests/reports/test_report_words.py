"""A report taken apart: what kind it is and its parts, as said."""

import pytest

from plotter.errors import FormatError
from plotter.reports.words import (
    AreaWords,
    BearingWords,
    HalfwayWords,
    IncidentWords,
    NoteWords,
    OffsetWords,
    PlaceWords,
    PositionWords,
    words_of,
)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("31U DQ 48251 11932", PositionWords("31U DQ 48251 11932")),
        ("at 48.5N 2.5E", PositionWords("48.5N 2.5E", head="at")),
        ("position is JN58td", PositionWords("JN58td", head="position")),
        ("the old bridge", PositionWords("the old bridge")),
        ("place 31U DQ 48251 11932", PlaceWords("31U DQ 48251 11932")),
        ("Place: 48.5N 2.5E", PlaceWords("48.5N 2.5E")),
        ("note road blocked, tree down", NoteWords("road blocked, tree down")),
        ("Note: all well", NoteWords("all well")),
        ("incident Storm on Harrow", IncidentWords("Storm on Harrow")),
        ("area 30 km around 48.5N 2.5E", AreaWords(30_000, "48.5N 2.5E")),
        ("area radius 5 nm around JN58td", AreaWords(9_260, "JN58td")),
    ],
)
def test_kinds(text, expected):
    assert words_of(text) == expected


@pytest.mark.parametrize(
    ("text", "degrees", "north", "sigma", "where"),
    [
        ("bearing 245 magnetic", 245, "magnetic", None, None),
        ("bearing 245° true", 245, "true", None, None),
        ("bearing 245 degrees grid", 245, "grid", None, None),
        ("Bearing 245 M", 245, "magnetic", None, None),
        ("bearing 245T", 245, "true", None, None),
        ("bearing 245", 245, None, None, None),
        ("bearing 360 true", 0, "true", None, None),
        ("bearing 245 magnetic ± 5", 245, "magnetic", 5, None),
        ("bearing 245 magnetic +/- 5 degrees", 245, "magnetic", 5, None),
        ("bearing 245 plus or minus 7.5", 245, None, 7.5, None),
        ("bearing 245 true sigma 3 from the chapel", 245, "true", 3, "the chapel"),
        ("bearing 245 true within 10° from 31U DQ 48 11", 245, "true", 10, "31U DQ 48 11"),
        ("bearing 245 magnetic from own position", 245, "magnetic", None, None),
        ("bearing 4355 mils grid", 244.96875, "grid", None, None),
        ("bearing to it is 245 true", 245, "true", None, None),
    ],
)
def test_bearings(text, degrees, north, sigma, where):
    found = words_of(text)
    assert isinstance(found, BearingWords)
    assert found.direction.degrees == degrees
    assert found.direction.north == north
    assert found.sigma_deg == sigma
    assert found.where == where


def test_how_a_bearing_was_taken():
    assert words_of("bearing 245 true class A").method == "class A"
    assert words_of("bearing 245 true by loop from the chapel").method == "null or loop"
    plain = words_of("bearing 245 true")
    assert (plain.method, plain.compass) == ("hand-held directional", False)
    assert words_of("bearing 245 magnetic").compass  # read off a compass, or said so
    assert words_of("bearing 245 true compass").compass


@pytest.mark.parametrize(
    ("text", "metres", "unit", "degrees", "north", "where"),
    [
        ("2.4 km on 240 magnetic from the bridge", 2400, 100, 240, "magnetic", "the bridge"),
        ("600 m on 045 true from 31U DQ 48 11", 600, 1, 45, "true", "31U DQ 48 11"),
        ("2 nm on 310 from the light", 3704, 1852, 310, None, "the light"),
        ("at 3 nautical miles on 10° true from Hut", 5556, 1852, 10, "true", "Hut"),
        ("1.5 miles on bearing 90 grid from Hut", 2414.016, 160.9344, 90, "grid", "Hut"),
    ],
)
def test_offsets(text, metres, unit, degrees, north, where):
    found = words_of(text)
    assert isinstance(found, OffsetWords)
    assert found.distance_m == pytest.approx(metres)
    assert found.unit_m == pytest.approx(unit)
    assert (found.direction.degrees, found.direction.north, found.where) == (degrees, north, where)


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("", "empty"),
        ("bearing north-west", "cannot read 'bearing north-west' as a bearing"),
        ("bearing 400 true", "bearing 400 in .* more than 360 degrees"),
        ("bearing 6500 mils", "more than a circle"),
        ("bearing 245 true ± 0", "not usable"),
        ("bearing 245 true or thereabouts", "cannot read 'or thereabouts'"),
        ("2 cubits on 240 true from the bridge", "unknown unit of length 'cubits'"),
        ("2 km on 240 true", "does not say from where"),
        ("area somewhere", "as an area"),
    ],
)
def test_what_is_wrong_is_said(text, match):
    with pytest.raises(FormatError, match=match):
        words_of(text)


@pytest.mark.parametrize(
    ("text", "metres", "unit", "degrees", "spacing", "north", "where"),
    [
        ("600 metres north-east of the bridge", 600, 100, 45, 45, "true", "the bridge"),
        ("600 m northeast of the bridge", 600, 100, 45, 45, "true", "the bridge"),
        ("at 650 m NE of Hut", 650, 10, 45, 45, "true", "Hut"),
        ("1.5 km NNE of Hut", 1500, 100, 22.5, 22.5, "true", "Hut"),
        ("2 nm west by north from the light", 3704, 1852, 281.25, 11.25, "true", "the light"),
        ("1000 m south magnetic of Hut", 1000, 1000, 180, 45, "magnetic", "Hut"),
        ("3 miles to the south of Hut", 4828.032, 1609.344, 180, 45, "true", "Hut"),
        ("six hundred metres north-east of hut two", 600, 100, 45, 45, "true", "hut two"),
    ],
)
def test_offsets_by_a_point_of_the_compass(text, metres, unit, degrees, spacing, north, where):
    found = words_of(text)
    assert isinstance(found, OffsetWords)
    assert found.distance_m == pytest.approx(metres)
    assert found.unit_m == pytest.approx(unit)
    direction = found.direction
    assert (direction.degrees, direction.unit_deg, direction.north) == (degrees, spacing, north)
    assert found.where == where
    assert found.point


@pytest.mark.parametrize(
    "text", ["600 m up of the bridge", "600 m north-east", "the hut of 600 m north", "north of 6 m"]
)
def test_what_is_no_point_of_the_compass_is_a_position(text):
    assert isinstance(words_of(text), PositionWords)


@pytest.mark.parametrize(
    ("text", "ends"),
    [
        ("halfway between the bridge and the light", "the bridge and the light"),
        ("at half-way between A and B", "A and B"),
        ("half way between A and B", "A and B"),
        ("Midway between A and B", "A and B"),
    ],
)
def test_halfway(text, ends):
    assert words_of(text) == HalfwayWords(ends)


def test_figures_may_be_said_in_words():
    bearing = words_of("bearing two four five magnetic plus or minus five from hut two")
    assert (bearing.direction.degrees, bearing.sigma_deg, bearing.where) == (245, 5, "hut two")
    offset = words_of("two point four kilometres on oh four five true from the bridge")
    assert (offset.distance_m, offset.unit_m, offset.direction.degrees) == (2400, 100, 45)
    assert words_of("area thirty km around 47N 8E") == AreaWords(30_000, "47N 8E")
    assert words_of("two four five") == PositionWords("two four five")
