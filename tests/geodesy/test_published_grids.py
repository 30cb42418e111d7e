"""Transverse Mercator, UTM and UPS against table 02, every row that is one of them."""

import math
import re

import pytest
from check_values import cases, label, latlon, row, rows, sexagesimal

from plotter.formats.mgrs import format_mgrs
from plotter.geodesy.ellipsoid import Ellipsoid
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.grid import UPS_NORTH, UPS_SOUTH, convergence_deg, zone_of
from plotter.geodesy.polar_stereographic import PolarStereographic
from plotter.geodesy.position import Position
from plotter.geodesy.transverse_mercator import TransverseMercator

TABLE = "02_utm_tm_ups_grids.csv"
ARC_SECOND = 1 / 3600
CLARKE_1866 = Ellipsoid(6378206.4, 294.9786982)  # Snyder PP 1395
GRS80 = Ellipsoid(6378137.0, 298.257222101)
AIRY = Ellipsoid(6377563.396, 299.3249646)
INTERNATIONAL = Ellipsoid(6378388.0, 297.0)  # DMA prints e² = 0.006722670022, the same figure

# Rows of other projections: they are checked in tests/formats/test_national.py.
NATIONAL = r"IOGP oblique|RD New|IOGP LCC|Swiss"
# Outside what the plotter does, each with its reason.
OUTSIDE = {
    # Needs the exact projection with elliptic functions, for a place 90 degrees off the meridian;
    # ours gives NaN beyond 80 degrees.
    "TM far from central meridian",
    # A local Cartesian frame: positions here have no height.
    "Local ENU",
}


def zone_tm(zone: int, ellipsoid: Ellipsoid, *, south: bool = False) -> TransverseMercator:
    return TransverseMercator(
        6.0 * zone - 183, 0.9996, 500_000, 1e7 if south else 0, ellipsoid=ellipsoid
    )


def one(pair):
    return float(pair[0][0]), float(pair[1][0])


def test_snyder_inverse():
    # Snyder's worked example: lat0 0, lon0 75 W, k0 0.9996, Clarke 1866, no false origin.
    grid = TransverseMercator(-75, 0.9996, 0, 0, ellipsoid=CLARKE_1866)
    lat, lon = one(grid.inverse([127106.5], [4484124.4]))
    expected = row(TABLE, "Snyder TM inverse")["expected"]
    assert (lat, lon) == pytest.approx(latlon(expected), abs=1e-6)


@pytest.mark.parametrize(
    ("case", "zone"),
    [
        ("Flinders Peak MGA94/MGA2020 zone 55", 55),
        ("Buninyong zone 55", 55),
        ("Buninyong zone 54 (adjacent zone)", 54),
    ],
)
def test_australian_manual(case, zone):
    each = row(TABLE, case)
    place = each["inputs"] if "37" in each["inputs"] else row(TABLE, "Buninyong zone 55")["inputs"]
    lat, lon = latlon(place)
    grid = zone_tm(zone, GRS80, south=True)
    easting, northing = one(grid.forward([lat], [lon]))
    convergence, scale = one(grid.convergence_and_scale([lat], [lon]))
    printed = each["expected"]
    assert abs(easting - float(re.search(r"E ([\d.]+)", printed)[1])) <= 0.001
    assert abs(northing - float(re.search(r"N ([\d.]+)", printed)[1])) <= 0.001
    icsm = sexagesimal(re.search(r"convergence ([+-][\d. ]+\d)", printed)[1])
    assert abs(-convergence - icsm) <= 0.01 * ARC_SECOND  # ICSM's sign is the opposite of ours
    assert abs(scale - float(re.search(r"k ([\d.]+)", printed)[1])) <= 1e-8


def test_australian_grid_line():
    """Plane distance and plane bearing between the two published grid positions."""
    grid = zone_tm(55, GRS80, south=True)
    points = [
        one(grid.forward([lat], [lon]))
        for lat, lon in (
            latlon(row(TABLE, c)["inputs"])
            for c in ("Flinders Peak MGA94/MGA2020 zone 55", "Buninyong zone 55")
        )
    ]
    east, north = points[1][0] - points[0][0], points[1][1] - points[0][1]
    printed = row(TABLE, "Grid line Flinders Peak - Buninyong")["expected"]
    assert (
        abs(math.hypot(east, north) - float(re.search(r"distance ([\d.]+)", printed)[1])) <= 0.001
    )
    plane = math.degrees(math.atan2(east, north)) % 360
    assert abs(plane - sexagesimal(printed.split("plane bearing ")[1])) <= 0.01 * ARC_SECOND
    # Grid bearing of the geodesic itself: its true bearing less the convergence.
    lat, lon = latlon(row(TABLE, "Flinders Peak MGA94/MGA2020 zone 55")["inputs"])
    end = latlon(row(TABLE, "Buninyong zone 55")["inputs"])
    true = geodesic(Position(lat, lon), Position(*end), ellipsoid=GRS80).bearing_true_deg
    convergence, _ = one(grid.convergence_and_scale([lat], [lon]))
    forward = sexagesimal(re.search(r"grid bearings ([\d. ]+) and", printed)[1])
    assert abs(true - convergence - forward) <= 0.02 * ARC_SECOND


def test_iogp_tm_example():
    each = row(TABLE, "IOGP TM example")
    grid = TransverseMercator(-2, 0.9996012717, 400_000, -100_000, 49, AIRY)
    printed = [float(v) for v in re.findall(r"[EN] ([\d.]+)", each["expected"])]
    assert one(grid.forward([50.5], [0.5])) == pytest.approx(printed, abs=0.011)


def test_proj_utm_32():
    grid = zone_tm(32, GRS80)
    printed = [float(v) for v in row(TABLE, "ETRS89 UTM 32")["expected"].split(",")]
    assert one(grid.forward([55], [12])) == pytest.approx(printed, abs=1e-4)


def test_dma_zone_boundary():
    each = row(TABLE, "DMA 2-11 ID2 zone 47/48")
    for zone, northing, easting in re.findall(
        r"zone (\d+): N ([\d.]+) E ([\d.]+)", each["expected"]
    ):
        found = one(zone_tm(int(zone), INTERNATIONAL).forward([30], [102]))
        assert found == pytest.approx((float(easting), float(northing)), abs=0.01)


def test_dma_two_zones():
    each = row(TABLE, "DMA 2-11 ID3 zone 12/11")
    lat, lon = latlon(each["inputs"])
    for zone, northing, easting in re.findall(
        r"zone (\d+): N ([\d.]+) E ([\d.]+)", each["expected"]
    ):
        found = one(zone_tm(int(zone), INTERNATIONAL).forward([lat], [lon]))
        assert found == pytest.approx((float(easting), float(northing)), abs=0.02)


@pytest.mark.parametrize("each", cases(TABLE, "DMA 2-11 ID[4567]"), ids=label)
def test_dma_inverse(each):
    lat, lon = latlon(each["expected"])
    texts = each["inputs"].split(";")
    for text in texts:
        northing, easting, zone = re.search(r"N ([\d.]+) E ([\d.]+) zone (\d+)", text).groups()
        grid = zone_tm(int(zone), INTERNATIONAL, south=text.rstrip().endswith("S"))
        found = one(grid.inverse([float(easting)], [float(northing)]))
        # Coordinates are printed to a centimetre: 0.0003" of latitude.
        assert abs(found[0] - lat) <= 0.001 * ARC_SECOND
        assert abs(found[1] - lon) <= 0.0012 * ARC_SECOND


@pytest.mark.parametrize("each", cases(TABLE, "UPS ID[12]"), ids=label)
def test_ups_forward(each):
    text = each["inputs"]
    lat, lon = latlon(text)
    found = one(UPS_NORTH.forward([lat], [lon]))
    convergence, scale = one(UPS_NORTH.convergence_and_scale([lat], [lon]))
    printed = {
        key: float(value)
        for key, value in re.findall(r"(N|E|convergence|k) ([+-]?[\d.]+)", each["expected"])
    }
    assert found == pytest.approx((printed["E"], printed["N"]), abs=0.01)
    assert convergence == pytest.approx(printed["convergence"], abs=1e-7)
    assert scale == pytest.approx(printed["k"], abs=1e-8)


def test_ups_south_inverse():
    each = row(TABLE, "UPS ID6 south inverse")
    northing, easting = (float(v) for v in re.findall(r"[NE] (\d+)", each["inputs"]))
    lat, lon = one(UPS_SOUTH.inverse([easting], [northing]))
    assert abs(lat - latlon(each["expected"])[0]) <= 0.001 * ARC_SECOND
    assert lon == pytest.approx(latlon(each["expected"])[1], abs=0.001 * ARC_SECOND)


@pytest.mark.parametrize("each", cases(TABLE, "GeoConvert "), ids=label)
def test_geoconvert(each):
    place = Position(*(float(v) for v in each["inputs"].split(";")[0].split(",")))
    printed = each["expected"]
    match = re.search(r"UTM/UPS (\d\d|UPS )\s*([ns]) (\d+) (\d+); MGRS (\w+); ", printed)
    zone, hemisphere, easting, northing, mgrs = match.groups()
    if zone.isdigit():
        assert zone_of(place) == int(zone)
        grid = TransverseMercator(
            6.0 * int(zone) - 183, 0.9996, 500_000, 1e7 if hemisphere == "s" else 0
        )
    else:
        assert zone_of(place) == 0
        grid = PolarStereographic(hemisphere == "s", 0.994, 2e6, 2e6)
    found = one(grid.forward([place.lat_deg], [place.lon_deg]))
    assert found == pytest.approx((float(easting), float(northing)), abs=0.5)
    assert format_mgrs(place) == mgrs
    gamma = float(re.search(r"convergence ([+-]?[\d.]+)", printed)[1])
    assert convergence_deg(place) == pytest.approx(gamma, abs=1e-8)


@pytest.mark.parametrize("each", cases(TABLE, "Zone exception "), ids=label)
def test_zone_exceptions(each):
    place = Position(*latlon(each["inputs"]))
    zone, easting, northing, mgrs = re.search(
        r"UTM (\d\d)[A-X] (\d+) (\d+); MGRS (\w+)", each["expected"]
    ).groups()
    assert zone_of(place) == int(zone)
    found = one(
        TransverseMercator(6.0 * int(zone) - 183, 0.9996, 500_000, 0).forward(
            [place.lat_deg], [place.lon_deg]
        )
    )
    assert found == pytest.approx((float(easting), float(northing)), abs=0.5)
    assert format_mgrs(place) == mgrs


def test_exception_edges():
    each = row(TABLE, "Exception edges")
    places = [tuple(map(float, p.split(","))) for p in re.findall(r"\(([\d.,]+)\)", each["inputs"])]
    expected = [e.strip() for e in each["expected"].split(";")]
    assert len(places) == len(expected)
    for place, zone_and_band in zip(places, expected, strict=True):
        assert format_mgrs(Position(*place), 0)[:3] == zone_and_band


def test_every_grid_row_is_checked_or_named():
    pattern = (
        r"Snyder TM|Flinders|Buninyong|Grid line|IOGP TM|ETRS89 UTM|DMA 2-11|UPS ID|GeoConvert"
        r"|Zone exception|Exception edges"
    )
    left = [
        each["case"]
        for each in rows(TABLE)
        if not re.match(pattern, each["case"])
        and not re.match(NATIONAL, each["case"])
        and each["case"] not in OUTSIDE
    ]
    assert left == []


def test_far_from_the_central_meridian_is_no_number():
    grid = TransverseMercator(0, 0.9996, 0, 0)
    assert math.isnan(one(grid.forward([0.0], [90.0]))[0])
