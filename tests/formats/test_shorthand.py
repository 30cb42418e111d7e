"""What operators leave out is completed from the area, said, and offered beside a plain meaning."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plotter.errors import FormatError
from plotter.formats import reading
from plotter.formats.latlon import format_latlon
from plotter.formats.maidenhead import format_maidenhead
from plotter.formats.zones import inside
from plotter.geodesy.geodesic import destination, geodesic
from plotter.geodesy.position import Area, Position

AREA = Area(Position(-38.42, -22.35), 25_000)

places_inside = st.builds(
    lambda bearing, metres: destination(AREA.centre, bearing, metres),
    st.floats(0, 360),
    st.floats(0, 24_000),
)


@given(places_inside)
def test_minutes_alone_mean_the_place_in_the_area(place):
    lat, lon = format_latlon(place, "ddm", 3).split()
    text = f"{lat[3:-2]} {lon[4:-2]}"  # the minutes of 38°25.759'S 022°20.405'W
    found = reading(text, AREA)
    assert min(geodesic(each.square.centre, place).distance_m for each in found) < 3.0
    for each in found:
        if inside(each.square.centre, AREA):
            assert any("from the area of operations" in why for why in each.assumed)


@given(places_inside)
def test_decimals_alone_mean_the_place_in_the_area(place):
    lat, lon = f"{place.lat_deg:.4f}", f"{place.lon_deg:.4f}"
    text = f"{lat[lat.index('.') :]} {lon[lon.index('.') :]}"
    found = reading(text, AREA)
    assert min(geodesic(each.square.centre, place).distance_m for each in found) < 20.0


@given(places_inside)
def test_the_end_of_a_locator_means_the_place_in_the_area(place):
    text = format_maidenhead(place, 6)[2:]
    found = reading(text, AREA)
    assert any(geodesic(each.square.centre, place).distance_m < 7_000 for each in found)
    assert all("from the area of operations" in each.assumed[0] for each in found)


@pytest.mark.parametrize("text", ["25.759 20.405", ".4497 .2725"])
def test_a_plain_meaning_stays_beside_the_completed_one(text):
    assert len(reading(text)) == 1
    assert len(reading(text, AREA)) == 2


@pytest.mark.parametrize("text", ["48.8582, 2.2945", "48.8582 22.2945", "-25.759 -20.405"])
def test_degrees_far_away_are_no_shorthand(text):
    assert len(reading(text, AREA)) == 1


def test_without_an_area_nothing_is_completed():
    with pytest.raises(FormatError):
        reading("81tn")
