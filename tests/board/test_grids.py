import mgrs
import pytest
from maidenhead import to_maiden
from pyproj import Transformer

from plotter.board.grids import maidenhead_grid, maidenhead_levels, utm_grid, utm_levels
from plotter.tiles import Box

BOX = Box(43.0, 5.8, 43.3, 6.2)  # zones 31 and 32
BOXES = {
    "two zones": BOX,
    "equator": Box(-0.3, 9.2, 0.3, 9.8),
    "south": Box(-45.3, 170.2, -45.0, 170.6),
    "180 degrees": Box(-17.2, 179.8, -16.9, 180.3),
    "Norway": Box(59.8, 2.7, 60.2, 3.4),
    "Svalbard": Box(78.0, 8.5, 78.4, 9.6),
}


def epsg(zone, south):  # PROJ's own definition of the zone
    return Transformer.from_crs(
        "EPSG:4326", f"EPSG:{32700 if south else 32600}{''}"[:-2] + f"{zone:02d}"
    )


def zone_by_mgrs(lat, lon):
    """The zone by an independent library."""
    return int(mgrs.MGRS().toMGRS(lat, (lon + 180) % 360 - 180, MGRSPrecision=0)[:2])


@pytest.mark.parametrize("name", BOXES)
def test_every_grid_line_lies_on_its_figure(name):
    # Independent routes: PROJ's own UTM for the figure, the mgrs library for the zone.
    box = BOXES[name]
    checked = 0
    for line in utm_grid(box, 10_000.0).lines:
        if line.label.startswith("zone"):
            continue
        middle = [sum(values) / 2 for values in zip(line.points[0], line.points[1], strict=True)]
        zone = zone_by_mgrs(*middle)
        for lat, lon in line.points[1:-1]:
            east, north = epsg(zone, middle[0] < 0).transform(lat, lon)
            value = north if line.northing else east
            assert value == pytest.approx(float(line.label) * 1000, abs=1e-3)
            checked += 1
    assert checked > 10


@pytest.mark.parametrize("name", BOXES)
def test_lines_stay_inside_the_area(name):
    box = BOXES[name]
    for level in utm_levels(box):
        for line in level.lines:
            for lat, lon in line.points:
                assert box.south_deg - 1e-9 <= lat <= box.north_deg + 1e-9
                assert box.west_deg - 1e-9 <= lon <= box.east_deg + 1e-9


def test_between_its_points_a_line_strays_less_than_two_metres():
    for line in utm_grid(BOXES["Svalbard"], 10_000.0).lines:
        if not line.northing:
            continue
        for (lat1, lon1), (lat2, lon2) in zip(line.points[1:-2], line.points[2:-1], strict=True):
            middle = (lat1 + lat2) / 2, (lon1 + lon2) / 2
            _, north = epsg(zone_by_mgrs(*middle), False).transform(*middle)
            assert north == pytest.approx(float(line.label) * 1000, abs=2.0)


def test_both_zones_have_lines_and_the_seam_is_named():
    labels = [line.label for line in utm_grid(BOX, 10_000.0).lines if not line.northing]
    assert "740" in labels
    assert "260" in labels
    assert "zone 32" in labels


def test_squares_are_named_as_the_mgrs_library_names_them():
    def name(lat, lon):
        return mgrs.MGRS().toMGRS(lat, lon, MGRSPrecision=0)

    level = utm_grid(BOX, 100_000.0, name)
    assert {label.text[:3] for label in level.labels} == {"31T", "32T"}
    for label in level.labels:
        for lat in (label.area.south_deg + 1e-4, label.area.north_deg - 1e-4):
            for lon in (label.area.west_deg + 1e-4, label.area.east_deg - 1e-4):
                assert name(lat, lon) == label.text


def test_spacings_suit_the_area():
    small = Box(43.0, 6.0, 43.03, 6.04)
    large = Box(40.0, 2.0, 46.0, 10.0)
    assert utm_levels(small)[-1].spacing == 100.0
    assert utm_levels(BOX)[-1].spacing == 1_000.0
    assert utm_levels(large)[-1].spacing == 10_000.0


def test_a_continent_has_no_tangle_of_lines():
    assert utm_levels(Box(30.0, -20.0, 60.0, 40.0)) == ()


def test_the_poles_have_no_utm_grid():
    assert utm_levels(Box(85.0, 0.0, 86.0, 10.0)) == ()


@pytest.mark.parametrize("name", BOXES)
def test_maidenhead_squares_are_named_as_the_maidenhead_library_names_them(name):
    for step, pairs in ((10.0, 1), (1.0, 2), (2.5 / 60, 3)):
        level = maidenhead_grid(BOXES[name], step)
        assert level.labels
        for label in level.labels:
            lat = (label.area.south_deg + label.area.north_deg) / 2
            lon = (label.area.west_deg + label.area.east_deg) / 2
            # maidenhead 1.8 is right for six characters only (it gives FJ for the field of JN).
            whole = to_maiden(lat, (lon + 180) % 360 - 180, 3)
            assert label.text == whole[: 2 * pairs]


def test_maidenhead_levels_leave_out_what_would_be_a_haze():
    assert [level.spacing for level in maidenhead_levels(BOX)] == [10.0, 1.0, 2.5 / 60]
    world = maidenhead_levels(Box(-80.0, -180.0, 80.0, 180.0))
    assert [level.spacing for level in world] == [10.0]
