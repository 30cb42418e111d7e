"""Spoken positions and places relative to others in a report, with the ground they leave open."""

import datetime as dt

import pytest

from plotter.formats import reading
from plotter.geodesy.geodesic import destination, geodesic
from plotter.geodesy.north import declination_deg
from plotter.geodesy.position import Area, Position
from plotter.reports import Said
from plotter.reports.replay import replay

START = dt.datetime(2026, 3, 14, 9, 0, tzinfo=dt.UTC)
# Invented ground.
BRIDGE, LIGHT = Position(-38.42, -22.35), Position(-38.42, -22.23)
PLACES = [
    ("Desk", "", "area 40 km around 38.42S 22.35W"),
    ("Desk", "bridge", "place 38.42000S 22.35000W"),
    ("Desk", "light", "place 38.42000S 22.23000W"),
    ("Desk", "Hook and Eye", "place 38.40000S 22.35000W"),
]


def last(text, *places):
    rows = [*(places or PLACES), ("Team 1", "casualty", text)]
    found = replay([Said(i + 2, START + dt.timedelta(hours=i), *row) for i, row in enumerate(rows)])
    return found.unread[-1] if found.unread else found.positions[-1]


def inside(square, place):
    """Whether a place lies in the ring of a square's corners, by crossing an eastward ray."""
    ring = [(p.lat_deg, p.lon_deg) for p in square.corners]
    crossings = 0
    for (a, b), (c, d) in zip(ring, [*ring[1:], ring[0]], strict=True):
        if (a > place.lat_deg) != (c > place.lat_deg):
            crossings += place.lon_deg < b + (place.lat_deg - a) * (d - b) / (c - a)
    return crossings % 2 == 1


@pytest.mark.parametrize(
    ("words", "degrees", "half_deg"),
    [("north-east", 45, 22.5), ("NNE", 22.5, 11.25), ("north-east by north", 33.75, 5.625)],
)
def test_a_point_of_the_compass_is_as_wide_as_its_spacing(words, degrees, half_deg):
    report = last(f"600 metres {words} of the bridge")
    square = report.reading.square
    assert geodesic(square.centre, destination(BRIDGE, degrees, 600)).distance_m < 1e-6
    for turn in (-half_deg, half_deg):
        # The bridge itself is known to a metre: a tenth of a degree at this distance.
        assert inside(square, destination(BRIDGE, degrees + turn * 0.99, 600))
        assert not inside(
            square, destination(BRIDGE, degrees + turn + (0.3 if turn > 0 else -0.3), 600)
        )
    # 600 m said beside a point of the compass is one figure: 550 m to 650 m.
    for distance, within in ((545, False), (555, True), (645, True), (655, False)):
        assert inside(square, destination(BRIDGE, degrees, distance)) is within
    assert report.questions == (
        f"Assumed {words} from true north, give or take {half_deg:g}°: read it back.",
    )


def test_a_point_from_magnetic_north_is_turned():
    square = last("6 km north magnetic of the bridge").reading.square
    turn = declination_deg(BRIDGE, START.date())
    assert abs(turn) > 5
    assert geodesic(square.centre, destination(BRIDGE, turn, 6000)).distance_m < 1


def test_two_nautical_miles_from_the_light():
    report = last("2 nm on 310 from the light")
    assert geodesic(report.reading.square.centre, destination(LIGHT, 310, 3704)).distance_m < 1e-6
    assert len(report.others) == 1  # true or magnetic, as it did not say
    said = last("two nautical miles on three one zero from the light")
    assert said.reading.square == report.reading.square
    assert said.said.text == "two nautical miles on three one zero from the light"


def test_halfway():
    report = last("halfway between the bridge and the light")
    square = report.reading.square
    way = geodesic(BRIDGE, LIGHT)
    middle = destination(BRIDGE, way.bearing_true_deg, way.distance_m / 2)
    assert geodesic(square.centre, middle).distance_m < 1e-3
    # Nearer to a half than to a third or two thirds: 5/12 to 7/12 of the way.
    for share, within in ((0.41, False), (0.42, True), (0.58, True), (0.59, False)):
        place = destination(BRIDGE, way.bearing_true_deg, share * way.distance_m)
        assert inside(square, place) is within
    assert report.questions == ("Assumed halfway give or take a twelfth of the way: read it back.",)


def test_a_name_with_an_and_of_its_own():
    square = last("midway between Hook and Eye and the bridge").reading.square
    assert geodesic(square.centre, Position(-38.41, -22.35)).distance_m < 1


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("halfway between the bridge and the mill", "no place called 'the mill'"),
        ("halfway between the bridge", "does not name two places"),
        ("halfway between the bridge and the bridge", "are the same place"),
        ("600 m north-east of the mill", "no place called 'the mill'"),
        ("600 cubits north of the bridge", "unknown unit of length 'cubits'"),
    ],
)
def test_what_cannot_be_found_is_said(text, reason):
    assert reason in last(text).reason


def test_a_spoken_position_is_kept_as_heard_and_what_was_dropped_is_asked():
    text = "grid is two seven hotel uniform tango eight one, four eight, over"
    report = last(text)
    assert report.said.text == text
    assert report.reading.square == reading("27H UT 81 48")[0].square
    assert report.questions == (
        "Assumed the words mean '27HUT81 48', leaving out 'grid is', 'over': read it back.",
    )


def test_degrees_without_marks_keep_every_reading():
    report = last("38 25 45 south 22 20 24 west")
    assert len(report.others) == 2
    assert any("the words degrees, minutes and" in question for question in report.questions)


def test_spoken_places_areas_and_origins():
    report = last(
        "2 km on 090 true from grid two seven hotel, uniform tango, eight one, four eight",
        ("Desk", "", "area 40 km around three eight decimal four south two two decimal three west"),
    )
    start = reading("27H UT 81 48")[0].square.centre
    assert geodesic(report.reading.square.centre, destination(start, 90, 2000)).distance_m < 1e-6
    area = replay(
        [Said(2, START, "Desk", "", "area thirty km around 38 decimal 4 south 22 decimal 3 west")]
    ).area
    assert area == Area(Position(-38.4, -22.3), 30_000)
