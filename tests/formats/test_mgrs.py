"""MGRS and USNG: round trips at every precision, independent packages, bulk, and completion."""

import mgrs as mgrs_package
import numpy as np
import pyproj
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from pygeodesy import mgrs as pygeodesy_mgrs
from pygeodesy import toMgrs, toUtmUps8
from strategies import HARD_PLACES, positions

from plotter.errors import FormatError
from plotter.formats.mgrs import FORMAT, format_mgrs, parse_mgrs
from plotter.formats.mgrs_arrays import format_mgrs_array
from plotter.geodesy.geodesic import destination, geodesic
from plotter.geodesy.position import Area, Position

EIFFEL = Position(48.8582, 2.2945)


def sphere_points(n, seed):
    rng = np.random.default_rng(seed)
    return np.degrees(np.arcsin(rng.uniform(-1, 1, n))), rng.uniform(-180, 180, n)


@pytest.mark.parametrize("figures", range(6))
@given(place=positions)
def test_round_trip(figures, place):
    text = format_mgrs(place, figures)
    square = parse_mgrs(text)
    assert square.size_m == 10 ** (5 - figures)
    assert format_mgrs(square.centre, figures) == text
    assert geodesic(square.centre, place).distance_m <= 1.5 * square.size_m


@pytest.mark.parametrize("figures", range(6))
@pytest.mark.parametrize("place", HARD_PLACES, ids=str)
def test_hard_places(place, figures):
    text = format_mgrs(place, figures)
    square = parse_mgrs(text)
    assert format_mgrs(square.centre, figures) == text
    if abs(place.lat_deg) < 80:  # nearer the pole a ring of longitudes is no polygon
        meridian = square.centre.lon_deg
        ring = [((p.lon_deg - meridian + 180) % 360 - 180, p.lat_deg) for p in square.corners]
        dx = (place.lon_deg - meridian + 180) % 360 - 180
        near = shapely.Polygon(ring).distance(shapely.Point(dx, place.lat_deg))
        assert near * 111_000 <= 0.01 + square.size_m * 0.003


@given(positions, st.integers(0, 4))
def test_coarser_is_a_prefix_of_finer(place, figures):
    fine, coarse = format_mgrs(place, 5), format_mgrs(place, figures)
    letters = len(fine) - 10
    assert coarse == fine[: letters + figures] + fine[letters + 5 : letters + 5 + figures]


def test_against_the_mgrs_package_on_100_000_points():
    """Trap: that package's own series is off by parts of a millimetre, so a coordinate that lies so
    near a whole metre may fall on the other side. Every such disagreement is settled by PROJ."""
    lat, lon = sphere_points(100_000, 6)
    keep = (lat >= -80) & (lat < 84)  # it stays in band X at 84 N, and has no other polar trap
    lat, lon = lat[keep], lon[keep]
    ours = format_mgrs_array(lat, lon)
    package = mgrs_package.MGRS()
    differing = [
        i
        for i, (a, o) in enumerate(zip(lat.tolist(), lon.tolist(), strict=True))
        if package.toMGRS(a, o) != ours[i]
    ]
    assert len(differing) < 0.002 * lat.size
    for i in differing:
        zone = int(ours[i][:2])
        easting, northing = pyproj.Proj(proj="utm", zone=zone, ellps="WGS84", south=lat[i] < 0)(
            lon[i], lat[i]
        )
        assert int(ours[i][5:10]) == int(easting + 1e-6) % 100_000
        assert int(ours[i][10:]) == int(northing + 1e-6) % 100_000


def test_reading_back_against_the_mgrs_package():
    lat, lon = sphere_points(20_000, 7)
    texts = format_mgrs_array(lat, lon)
    columns = FORMAT.read_array(texts)
    assert columns.ok.all()
    package = mgrs_package.MGRS()
    for i in range(0, lat.size, 7):
        a, o = package.toLatLon(str(texts[i]))  # the centre of the square, as ours
        assert (
            geodesic(Position(a, o), Position(columns.lat_deg[i], columns.lon_deg[i])).distance_m
            < 0.002
        )


def test_against_pygeodesy():
    lat, lon = sphere_points(400, 8)
    for a, o in zip(lat.tolist(), lon.tolist(), strict=True):
        theirs = toMgrs(toUtmUps8(a, o)).toStr(prec=0, sep="")
        assert format_mgrs(Position(a, o)) == theirs.replace(" ", "")
    assert pygeodesy_mgrs.parseMGRS("31UDQ4825111932").toLatLon().lat == pytest.approx(
        parse_mgrs("31UDQ4825111932").corners[0].lat_deg, abs=1e-5
    )


@pytest.mark.parametrize("figures", [0, 1, 3, 5])
def test_array_form_is_the_scalar_form_by_row(figures):
    places = [*HARD_PLACES, *(Position(a, o) for a, o in zip(*sphere_points(300, 9), strict=True))]
    lat = [p.lat_deg for p in places]
    lon = [p.lon_deg for p in places]
    texts = format_mgrs_array(lat, lon, figures)
    assert texts.tolist() == [format_mgrs(p, figures) for p in places]
    columns = FORMAT.read_array(texts.tolist())
    for i, text in enumerate(texts.tolist()):
        square = parse_mgrs(text)
        assert (
            geodesic(square.centre, Position(columns.lat_deg[i], columns.lon_deg[i])).distance_m
            < 1e-3
        )
        assert columns.size_m[i] == square.size_m


def test_bulk_keeps_bad_rows_with_their_reason():
    texts = ["31UDQ4825111932", "31u dq 48251 11932", "99XXX", "", "31UDQ482", "ZAH", "Ω" * 15]
    columns = FORMAT.read_array(texts)
    assert columns.ok.tolist() == [True, True, False, False, False, True, False]
    assert columns.lat_deg[0] == columns.lat_deg[1]
    assert sorted(columns.reasons) == [2, 3, 4, 6]
    assert "3 figures" in columns.reasons[4]
    assert FORMAT.read_array([]).ok.tolist() == []


def test_many_rows_in_threads_are_in_order():
    lat, lon = sphere_points(50_000, 10)
    texts = format_mgrs_array(lat, lon)
    for i in range(0, 50_000, 1009):
        assert texts[i] == format_mgrs(Position(lat[i], lon[i]))


def test_bad_numbers_are_refused_with_their_row():
    with pytest.raises(FormatError, match="row 1 is not a place"):
        format_mgrs_array([1.0, np.nan], [2.0, 3.0])
    with pytest.raises(FormatError, match="0 to 5 figures"):
        format_mgrs_array([1.0], [2.0], 6)


@pytest.mark.parametrize(
    "text",
    ["31UDQ4825111932", "31U DQ 48251 11932", "31u dq 48251 11932", "MGRS 31UDQ 4825111932",
     "usng: 31U DQ 48251 11932", " 31UDQ 48251  11932 "],
)  # fmt: skip
def test_spacing_and_case(text):
    (found,) = FORMAT.readings(text, None)
    assert geodesic(found.square.centre, EIFFEL).distance_m < 1
    assert found.assumed == ()


def test_missing_zone_is_completed_from_the_area():
    area = Area(EIFFEL, 20_000)
    (found,) = FORMAT.readings("DQ 48251 11932", area)
    assert found.assumed == ("zone 31U, from the area of operations",)
    assert geodesic(found.square.centre, EIFFEL).distance_m < 1
    (found,) = FORMAT.readings("482 119", area)
    assert found.assumed == ("zone and square 31UDQ, from the area of operations",)
    assert found.square.size_m == 100
    (joined,) = FORMAT.readings("482119", area)
    assert joined.square == found.square


def test_figures_alone_give_every_square_of_a_large_area():
    found = FORMAT.readings("50 50", Area(EIFFEL, 150_000))
    assert len(found) > 3
    assert len({each.square.centre for each in found}) == len(found)
    for each in found:
        assert geodesic(each.square.centre, EIFFEL).distance_m <= 150_000


def test_without_an_area_a_missing_zone_is_said():
    with pytest.raises(FormatError, match="does not say the grid zone"):
        FORMAT.readings("DQ 48251 11932", None)
    assert FORMAT.readings("48251 11932", None) == []


def test_letters_that_are_in_no_zone_of_the_area():
    with pytest.raises(FormatError, match="in none of the zones of the area"):
        FORMAT.readings("ZZ 48251 11932", Area(EIFFEL, 20_000))


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("31U DQ 4825 11932", "9 figures"),
        ("31U DQ 482 11", "5 figures"),
        ("31U DQ 48 2511", "2 figures east and 4 north"),
        ("31UDI4825111932", "'I' in .* 1 or 0 may be meant"),
        ("61UDQ4825111932", "zone 61"),
        ("31IDQ4825111932", "'I' in .* is not one of the bands"),
        ("34XDH0000000000", "zone 34X"),
        ("31UJQ4825111932", "'J' in .* is not one of the columns of zone 31"),
        ("31UAA0000000000", "does not lie in zone 31U"),
        ("ZJP0000000000", "outside the polar area"),
    ],
)
def test_what_is_wrong_is_said(text, match):
    with pytest.raises(FormatError, match=match) as caught:
        parse_mgrs(text)
    assert text in str(caught.value)


def test_a_square_is_cut_where_its_zone_ends():
    whole, cut = parse_mgrs("31UDQ"), parse_mgrs("31NAA")
    assert min(p.lon_deg for p in cut.corners) == pytest.approx(0, abs=1e-9)
    assert cut.size_m == whole.size_m == 100_000
    assert cut.centre.lon_deg > 0


@given(
    st.floats(-78, 82), st.floats(-180, 180), st.floats(0, 1), st.floats(0, 360),
    st.sampled_from([3_000.0, 30_000.0, 240_000.0, 2_000_000.0]), st.integers(1, 5),
)  # fmt: skip
def test_what_is_cut_off_a_reference_is_completed_in_every_area_that_holds_it(
    lat, lon, share, bearing, radius_m, figures
):
    """The full reference is the check: the mgrs package writes it, and the area holds its place."""
    area = Area(Position(lat, lon), radius_m)
    place = destination(area.centre, bearing, share * radius_m)
    # Less than a centimetre south of the equator the package rounds the northing over it and
    # writes the row of the north with the band of the south: a square that does not exist.
    if not -79.9 < place.lat_deg < 83.9 or -1e-7 < place.lat_deg < 0.0:
        return
    code = mgrs_package.MGRS().toMGRS(place.lat_deg, place.lon_deg, MGRSPrecision=figures)
    full = code.rjust(5 + 2 * figures, "0")
    for cut in (3, 5) if figures > 1 else (3,):  # two figures alone are no reference
        try:
            found = FORMAT.readings(full[cut:], area)
        except FormatError as error:
            # Too many squares fit, as they can in the largest area only.
            if "ask for the grid zone" not in str(error) or radius_m <= 240_000:
                raise
            continue
        meant = parse_mgrs(full)
        assert any(
            each.square.size_m == meant.size_m
            and geodesic(each.square.centre, meant.centre).distance_m < 1e-3
            for each in found
        )
        for each in found:
            away = geodesic(each.square.centre, area.centre).distance_m
            assert away <= radius_m + 2 * each.square.size_m


def test_figures_that_fit_hundreds_of_squares_are_asked_about():
    with pytest.raises(
        FormatError, match=r"about 1257 squares .* ask for the grid zone and the two"
    ):
        FORMAT.readings("48251 11932", Area(EIFFEL, 2_000_000))
