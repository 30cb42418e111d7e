"""What archives cover of an area: counted against tiles made here, boxes against geodesics."""

import pytest
from archive_examples import png, write_mbtiles
from hypothesis import given
from hypothesis import strategies as st

from plotter.geodesy.geodesic import destination
from plotter.geodesy.position import Area, Position
from plotter.tiles import open_archive, tiles_in
from plotter.tiles.area_box import box_of_area
from plotter.tiles.coverage import level_coverage, metres_per_pixel

AREA = Area(Position(43.15, 6.1), 5_000.0)


@given(st.floats(-88.0, 88.0), st.floats(-180.0, 179.9), st.floats(100.0, 200e3))
def test_the_box_holds_the_circle(lat, lon, radius_m):
    area = Area(Position(lat, lon), radius_m)
    box = box_of_area(area)
    for bearing in range(0, 360, 15):
        place = destination(area.centre, float(bearing), radius_m)
        assert box.south_deg - 1e-9 <= place.lat_deg <= box.north_deg + 1e-9
        beside = [place.lon_deg + turn for turn in (-360.0, 0.0, 360.0)]
        # Between the bearings that are looked at the true edge bulges by 1e-3 of the radius.
        room = 0.002 * (box.east_deg - box.west_deg) + 1e-9
        assert any(box.west_deg - room <= each <= box.east_deg + room for each in beside)


def test_tiles_are_counted_level_by_level(tmp_path):
    box = box_of_area(AREA)
    half = list(tiles_in(box, 13))[::2]
    path = tmp_path / "map.mbtiles"
    write_mbtiles(path, [(t, png()) for t in (*tiles_in(box, 10), *half)])
    levels = level_coverage([open_archive(path)], AREA)
    assert [(level.zoom, level.share == 1.0) for level in levels] == [(10, True), (13, False)]
    assert levels[1].present == len(half)
    assert levels[1].wanted == len(list(tiles_in(box, 13)))


def test_two_archives_count_together(tmp_path):
    tiles = list(tiles_in(box_of_area(AREA), 12))
    assert len(tiles) > 2
    for name, some in (("a", tiles[:2]), ("b", tiles[1:])):
        write_mbtiles(tmp_path / f"{name}.mbtiles", [(t, png()) for t in some])
    archives = [open_archive(tmp_path / f"{name}.mbtiles") for name in "ab"]
    (level,) = level_coverage(archives, AREA)
    assert level.present == level.wanted == len(tiles)


def test_ground_of_a_pixel():
    """156 543.03 m at level 0 on the equator: the figure every web map's tables print."""
    assert metres_per_pixel(0.0, 0) == pytest.approx(156_543.03, abs=0.01)
    assert metres_per_pixel(60.0, 3) == pytest.approx(156_543.03 / 16, rel=1e-6)
