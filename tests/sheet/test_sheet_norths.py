"""The three norths of a page, by PROJ for the grid and by pygeomag for the compass."""

import datetime as dt
import re

import pytest
from pygeomag import GeoMag
from pyproj import Proj
from sheet_examples import DAY, scene_of, sheet_of, text_of

from plotter.geodesy.magnetic import decimal_year
from plotter.geodesy.position import Position
from plotter.sheet.margin import _spread
from plotter.sheet.norths import norths_of
from plotter.sheet.plan import ground_of, plan_pages

PLACES = [(48.2, 11.5, 32), (-38.42, -22.35, 27), (64.1, -21.9, 27), (-33.9, 18.4, 34)]


def frame_about(lat, lon):
    shown = scene_of([("Desk", "", "note nothing")], (lat, lon))
    return plan_pages(ground_of(shown, Position(lat, lon))).pages[0].frame


@pytest.mark.parametrize(("lat", "lon", "zone"), PLACES)
def test_declination_change_and_convergence(lat, lon, zone):
    frame = frame_about(lat, lon)
    norths = norths_of(frame, DAY)
    middle = frame.middle
    year = decimal_year(DAY)
    model = GeoMag(coefficients_file="wmm/WMM_2025.COF")
    now = model.calculate(glat=middle.lat_deg, glon=middle.lon_deg, alt=0, time=year)
    later = model.calculate(glat=middle.lat_deg, glon=middle.lon_deg, alt=0, time=year + 1)
    assert norths.declination_deg == pytest.approx(now.d, abs=0.02)
    grid = Proj(32600 + zone if lat > 0 else 32700 + zone)
    angle = grid.get_factors(middle.lon_deg, middle.lat_deg).meridian_convergence
    assert norths.convergence_deg == pytest.approx(angle, abs=1e-6)
    words = " ".join(norths.lines)
    minutes = int(re.search(r"moving (\d+)' ([EW]) a year", words)[1])
    assert minutes == pytest.approx(abs(later.d - now.d) * 60.0, abs=1.0)
    east = re.search(r"a year", words) and (later.d > now.d)
    assert re.search(r"moving \d+' ([EW])", words)[1] == ("E" if east else "W")
    assert DAY.isoformat() in words


def test_the_words_turn_a_bearing_the_right_way():
    """Bearing from grid north = magnetic + declination − convergence."""
    for lat, lon, _ in PLACES:
        norths = norths_of(frame_about(lat, lon), DAY)
        sign, size = re.search(
            r"Magnetic to grid: (add|subtract) ([\d.]+)°", norths.lines[0]
        ).groups()
        turned = 100.0 + (1 if sign == "add" else -1) * float(size)
        true = 100.0 + norths.declination_deg
        assert turned == pytest.approx(true - norths.convergence_deg, abs=0.06)


def test_the_figure_keeps_order_and_sides():
    for grid, magnetic in (
        (1.0, -20.0),
        (-2.0, -1.9),
        (12.0, 14.0),
        (0.0, 3.0),
        (-40.0, -64.0),
        (30, 2),
    ):
        shown = _spread(grid, magnetic)
        assert shown["TN"] == 0.0
        for kind, angle in (("GN", grid), ("MN", magnetic)):
            assert (shown[kind] > 0) == (angle > 0)
            assert (shown[kind] < 0) == (angle < 0)
        assert (shown["GN"] < shown["MN"]) == (grid < magnetic)
        assert abs(shown["GN"] - shown["MN"]) >= 7.0


def test_near_the_magnetic_pole_the_sheet_warns():
    shown = scene_of([("Desk", "", "note nothing")], (84.5, 150.0))
    made, _ = sheet_of(shown, (84.5, 150.0))
    assert "compass is" in text_of(made.pdf)[0]


def test_the_day_after_a_leap_day_is_no_trouble():
    assert norths_of(frame_about(48.2, 11.5), dt.date(2028, 2, 29)).lines
