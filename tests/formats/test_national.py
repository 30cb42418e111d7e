"""National grids and EPSG codes: table 02's rows of them, independent packages, round trips."""

import re

import pyproj
import pytest
from check_values import cases, latlon, row
from hypothesis import given, settings
from hypothesis import strategies as st
from pygeodesy import osgr

from plotter.errors import FormatError
from plotter.formats import FORMATS, lettered, reading
from plotter.formats.epsg import format_epsg
from plotter.formats.lettered import BRITISH, IRISH, square_corner, square_letters
from plotter.formats.national import GRIDS
from plotter.geodesy.datum import operation_from, to_wgs84
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Area, Position

TABLE = "02_utm_tm_ups_grids.csv"
ALL = (*GRIDS, BRITISH, IRISH)
NAMES = [*(grid.name for grid in ALL), "mga", "epsg"]
BOXES = {grid.name: grid.ground for grid in ALL}


def apart_m(a: Position, b: Position) -> float:
    return geodesic(a, b).distance_m


def on_grid(epsg: int, easting: float, northing: float) -> Position:
    lat, lon = operation_from(epsg, easting, northing).to_wgs84([easting], [northing])
    return Position(float(lat[0]), float(lon[0]))


# Case of table 02, code of the grid, code of its datum, printed to (grid units in metres).
PUBLISHED = [
    ("IOGP oblique stereographic (RD New)", 28992, 4289, 0.001),
    ("RD New origin", 28992, 4289, 0.01),
    ("IOGP LCC 1SP (Jamaica)", 24200, 4242, 0.005),
    ("IOGP LCC 2SP (Texas South Central)", 32040, 4267, 0.01 * 0.3048006),
]


@pytest.mark.parametrize(("case", "grid", "datum", "tolerance_m"), PUBLISHED)
def test_published_grid_positions(case, grid, datum, tolerance_m):
    """The printed grid numbers and the printed latitude come to the same place on WGS 84."""
    each = row(TABLE, case)
    lat, lon = latlon(each["inputs"].split(" (")[0].replace("degE", "E"))
    easting, northing = (
        float(v) for v in re.findall(r"\d+(?:\.\d+)?", re.sub(r"ftUS", "", each["expected"]))[:2]
    )
    place = to_wgs84(lat, lon, datum).position
    assert apart_m(on_grid(grid, easting, northing), place) <= tolerance_m * 1.5  # both ways
    text = f"EPSG:{grid} {easting:.2f} {northing:.2f}"
    found = reading(text)
    assert [each.format for each in found] == ["epsg"]
    assert apart_m(found[0].square.centre, place) <= tolerance_m + 0.01  # half a centimetre square


def test_swiss_example():
    each = row(TABLE, "Swiss approximate formula")
    place = Position(*latlon(each["inputs"]))
    # The printed answer is of a polynomial; the row gives the rigorous one, within 0.3 m.
    rigorous = re.search(r"rigorous answer ([\d.]+)/([\d.]+)", each["tolerance"]).groups()
    for code, away in ((2056, 0.0), (21781, 2_000_000.0)):
        easting, northing = (float(v) for v in format_epsg(place, code, 0.001).split()[1:])
        assert easting == pytest.approx(float(rigorous[0]) - away, abs=0.3)
        assert northing == pytest.approx(float(rigorous[1]) - away / 2, abs=0.3)
    assert FORMATS["lv95"].write(place, 1.0) == "LV95 2700000 1100000"


def test_every_national_row_is_checked():
    named = {case for case, *_ in PUBLISHED} | {"Swiss approximate formula"}
    assert {r["case"] for r in cases(TABLE, r"IOGP oblique|RD New|IOGP LCC|Swiss")} == named


@pytest.mark.parametrize("grid", ALL, ids=lambda grid: grid.name)
def test_codes_and_ground_are_those_of_the_registry(grid):
    crs = pyproj.CRS.from_epsg(grid.epsg)
    box = grid.ground
    assert crs.area_of_use.bounds == (box.west_deg, box.south_deg, box.east_deg, box.north_deg)
    assert "unknown" not in crs.name


def inside_ground(name: str):
    box = BOXES.get(name)
    if name == "mga":
        return st.builds(Position, st.floats(-43, -11), st.floats(114, 153))
    if name == "epsg":
        return st.builds(Position, st.floats(-79, 83), st.floats(-179, 179))
    return st.builds(
        Position,
        st.floats(box.south_deg + 0.001, box.north_deg - 0.001),
        st.floats(box.west_deg + 0.001, box.east_deg - 0.001),
    )


@pytest.mark.parametrize("name", NAMES)
@given(data=st.data(), size_m=st.sampled_from((1.0, 0.1, 0.01)))
@settings(max_examples=25)
def test_what_is_written_is_read_back_within_its_square(name, data, size_m):
    place = data.draw(inside_ground(name))
    try:
        text = FORMATS[name].write(place, size_m)
    except FormatError:
        # The registry's ground reaches past the lettered squares; that of a zone is smaller.
        assert name in ("osgb", "mga")
        return
    found = [each for each in reading(text) if each.format == name]
    assert len(found) == 1
    assert apart_m(found[0].square.centre, place) <= found[0].square.size_m
    at_centre = FORMATS[name].write(found[0].square.centre, size_m)
    # On the edge of a zone either zone is right.
    if at_centre.rsplit(" ", 2)[0] == text.rsplit(" ", 2)[0]:
        assert at_centre == text


@pytest.mark.parametrize("grid", GRIDS, ids=lambda grid: grid.name)
@given(data=st.data())
@settings(max_examples=20)
def test_numbers_are_those_of_proj(grid, data):
    """Against one whole PROJ pipeline; a datum without a fixed way may differ by its accuracy."""
    place = data.draw(inside_ground(grid.name))
    theirs = pyproj.Transformer.from_crs(4326, grid.epsg, always_xy=True)
    easting, northing = theirs.transform(place.lon_deg, place.lat_deg)
    words = FORMATS[grid.name].write(place, 0.01).removeprefix(f"{grid.prefix} ").split()
    assert [float(word) for word in words] == pytest.approx([easting, northing], abs=2.0)


@given(st.floats(50.2, 58.5), st.floats(-5.0, 1.5))
def test_british_references_by_an_independent_package(lat, lon):
    """Its own Helmert shift and its own projection."""
    place = Position(lat, lon)
    theirs = osgr.toOsgr(lat, lon)
    letters, easting, northing = FORMATS["osgb"].write(place, 1.0).split()[1:]
    corner = square_corner(BRITISH, letters)
    assert corner[0] + int(easting) == pytest.approx(theirs.easting, abs=1.5)
    assert corner[1] + int(northing) == pytest.approx(theirs.northing, abs=1.5)
    square = reading(f"OSGB {letters} {easting} {northing}")[0].square
    back = osgr.parseOSGR(f"{letters} {easting} {northing}").toLatLon()
    # The package gives the corner, ours is the middle.
    assert apart_m(square.centre, Position(back.lat, back.lon)) <= 1.0


def test_british_letters_are_those_of_an_independent_package():
    for column in range(7):
        for line in range(13):
            letters = square_letters(BRITISH, column, line)
            theirs = osgr.parseOSGR(f"{letters} 00000 00000")
            assert (int(theirs.easting), int(theirs.northing)) == (column * 100_000, line * 100_000)
            assert square_corner(BRITISH, letters) == (column * 100_000, line * 100_000)


def test_irish_letters():
    """The grid's published key, from memory: V is the south-west square, E the north-east one."""
    assert square_corner(IRISH, "V") == (0, 0)
    assert square_corner(IRISH, "E") == (400_000, 400_000)
    assert square_corner(IRISH, "A") == (0, 400_000)
    assert square_corner(IRISH, "I") is None
    letters = {square_letters(IRISH, c, r) for c in range(5) for r in range(5)}
    assert letters == set("ABCDEFGHJKLMNOPQRSTUVWXYZ")


def test_irish_reference_and_itm_name_one_place():
    """The same point on both grids, within the accuracy that each states."""
    irish, itm = reading("Irish grid O 15904 34671")[0], reading("ITM 715830 734697")[0]
    assert apart_m(irish.square.centre, itm.square.centre) <= irish.square.size_m


@pytest.mark.parametrize(
    ("text", "size_m"),
    [
        ("OSGB TQ 38876 77320", 1), ("OSGB TQ3887677320", 1), ("osgb tq 3887 7732", 10),
        ("British grid TQ 388 773", 100), ("British National Grid TQ 38 77", 1000),
        ("BNG TQ37", 10_000), ("OSGB TQ", 100_000), ("OSGB 538876 177320", 1),
        ("OSGB 538876.5 177320.5", 0.1), ("OSGB E 538876 N 177320", 1),
    ],
)  # fmt: skip
def test_british_squares_are_as_large_as_their_figures(text, size_m):
    (found,) = reading(text)
    place = on_grid(27700, 538876.5, 177320.5)
    doubt = int(re.search(r"good to (\d+) m", found.assumed[-1])[1])
    assert size_m + 2 < found.square.size_m <= size_m + 2 * doubt
    assert apart_m(found.square.centre, place) <= size_m


@pytest.mark.parametrize(
    "text",
    [
        "RD 155000 463000", "RD 155000,463000", "RD X 155000 Y 463000", "rd new 155000 463000",
        "RD 155 000 / 463 000", "RD E155000 N463000", "RD N 463000 E 155000",
        "RD 155000E 463000N", "RD: 155000 m, 463000 m", "EPSG:28992 155000 463000",
        "epsg 28992 155000 463000", "Dutch grid 155000 463000",
    ],
)  # fmt: skip
def test_ways_of_writing_two_numbers(text):
    (found,) = reading(text)
    assert apart_m(found.square.centre, on_grid(28992, 155000.5, 463000.5)) < 0.01


@pytest.mark.parametrize(
    ("text", "like"),
    [
        ("LV95 2'600'000 1'200'000", "LV95 2600000 1200000"),
        ("CH1903+ 2600000 1200000", "LV95 2600000 1200000"),
        ("CH1903 600000 200000", "LV03 600000 200000"),
        ("SWEREF 99 TM N 6580822 E 674032", "SWEREF99 TM 674032 6580822"),
        ("MGA2020 55 273741 5796490", "MGA2020 zone 55 273741 5796490"),
        ("MGA2020 zone 55H 273741 5796490", "MGA2020 zone 55 273741 5796490"),
    ],
)
def test_other_ways_of_naming_a_grid(text, like):
    assert reading(text)[0].square == reading(like)[0].square


def test_northing_first_is_taken_where_only_that_fits_and_said():
    (found,) = reading("EPSG:3006 6580822 674032")
    assert found.square == reading("EPSG:3006 674032 6580822")[0].square
    assert "northing first" in found.assumed[0]
    (found,) = reading("MGA2020 zone 55 5796490 273741")
    assert "northing first" in found.assumed[0]


def test_both_orders_are_given_where_the_registry_puts_north_first_and_both_fit():
    # ETRS89 / LAEA Europe: northing first in the registry, and square enough for both.
    found = reading("EPSG:3035 3200000 4300000")
    assert {each.assumed[0] for each in found} == {"easting first", "northing first"}


def test_australian_zone_without_a_datum_says_so_and_is_wider():
    (plain,), (dated,) = reading("MGA55 273741 5796490"), reading("MGA94 zone 55 273741 5796490")
    assert "GDA2020" in plain.assumed[0]
    assert plain.square.size_m > dated.square.size_m
    # Published: Flinders Peak, GDA94 (table 02), within a metre square and the stated accuracy.
    each = row(TABLE, "Flinders Peak MGA94/MGA2020 zone 55")
    flinders = Position(*latlon(each["inputs"]))
    assert apart_m(dated.square.centre, flinders) <= dated.square.size_m


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("RD 1 2", "outside the Dutch grid"), ("RD 155000", "two numbers"), ("RD", "two numbers"),
        ("LV95 600000 200000", "outside"), ("LV03 2600000 1200000", "outside"),
        ("OSGB 38876 77320", "letters"), ("OSGB ZZ 388 773", "not a square"),
        ("OSGB TQ 388 77", "equally many"), ("OSGB TQ 3887", None), ("OSGB TI 388 773", "square"),
        ("OSGB 990000 990000", "outside"), ("Irish grid I 159 346", "square"),
        ("MGA 273741 5796490", "zone"), ("MGA94 zone 12 273741 5796490", "zone 12"),
        ("EPSG:4326 48 2", "no grid"), ("EPSG:2046 1 2", "axes"), ("EPSG:999999 1 2", "known"),
        ("EPSG:28992 155000", "two numbers"), ("EPSG:28992 E 155000 E 463000", "both numbers"),
        ("NZTM 155000 463000", "outside"),
    ],
)  # fmt: skip
def test_what_a_grid_cannot_be_is_said(text, said):
    if said is None:
        # 38 and 87 east and north.
        assert len(reading(text)) == 1
        return
    with pytest.raises(FormatError, match=said):
        reading(text)


def test_the_size_of_feet_is_in_metres():
    (found,) = reading("EPSG:32040 2963504 254760")
    good = int(re.search(r"good to (\d+) m", found.assumed[0])[1])
    assert found.square.size_m == pytest.approx(0.3048006 + 2 * good, abs=2.0)


def test_an_area_far_away_asks_no_projection(monkeypatch):
    """A square without its grid is not even looked at where the grid does not reach."""

    def refuse(*_):
        raise AssertionError

    monkeypatch.setattr(lettered, "grid_reading", refuse)
    (found,) = reading("NB 44 88", Area(Position(34.2, 45.4), 100_000))
    assert found.format == "mgrs"
    with pytest.raises(AssertionError):
        reading("TQ 44 88", Area(Position(51.5, -0.1), 60_000))


def test_bare_squares_read_alike_with_and_without_their_grid():
    area = Area(Position(51.5, -0.1), 60_000)
    (bare,) = reading("TQ 388 773", area)
    (named,) = reading("OSGB TQ 388 773")
    assert bare.square == named.square
    assert bare.assumed[1:] == named.assumed
