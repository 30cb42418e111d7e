import hashlib
import zlib
from importlib.resources import files

import numpy as np
import pytest
import shapely

from plotter.errors import TileError
from plotter.tiles import Box, land_in
from plotter.tiles.outline import unpack

DATA = files("plotter.tiles").joinpath("data")


def shape(land):
    return shapely.unary_union(
        [shapely.Polygon(p.rings[0][:, ::-1], [r[:, ::-1] for r in p.rings[1:]]) for p in land]
    )


@pytest.fixture(scope="module")
def world():
    return shape(land_in(Box(-90.0, -180.0, 90.0, 180.0)))


def test_the_packed_world_is_the_one_of_the_readme():
    packed = DATA.joinpath("land-50m.bin").read_bytes()
    assert len(packed) <= 350_000
    assert hashlib.sha256(packed).hexdigest() in DATA.joinpath("README.md").read_text("utf-8")


@pytest.mark.parametrize(
    ("name", "lat", "lon", "on_land"),
    [
        # Common geography, from memory; far enough from any coast for the coarse outline.
        ("middle of Australia", -25.0, 134.0, True),
        ("middle of the Sahara", 23.0, 10.0, True),
        ("Antarctica", -85.0, 0.0, True),
        ("South Pacific", -40.0, -130.0, False),
        ("North Atlantic", 45.0, -35.0, False),
        ("Caspian Sea, a lake of the outline", 42.0, 50.5, False),
    ],
)
def test_land_is_land_and_sea_is_sea(world, name, lat, lon, on_land):
    assert world.contains(shapely.Point(lon, lat)) is on_land, name


def test_the_area_of_the_land_is_that_of_the_earth(world):
    # Land is 29 % of the globe, 149 million square kilometres (CIA World Factbook, "World":
    # 148.94 million, ice shelves aside; from memory). Integrated on the sphere of equal area,
    # radius 6371 km: 2 % is what the outline's scale and the sphere leave.
    area = 0.0
    for part in shapely.get_parts(world):
        for ring, sign in [(part.exterior, 1), *((hole, -1) for hole in part.interiors)]:
            lon, lat = np.radians(shapely.get_coordinates(ring)).T
            strip = np.diff(lon) * (np.sin(lat[:-1]) + np.sin(lat[1:])) / 2
            area += sign * abs(strip.sum()) * 6371.0**2
    assert area == pytest.approx(148.94e6, rel=0.02)


def test_a_clip_stays_inside_its_box_and_loses_nothing(world):
    box = Box(35.0, -10.0, 60.0, 30.0)
    clipped = shape(land_in(box))
    west, south, east, north = clipped.bounds
    assert min(west + 10.0, south - 35.0, 30.0 - east, 60.0 - north) >= 0.0
    expected = world.intersection(shapely.box(-10.0, 35.0, 30.0, 60.0))
    assert clipped.symmetric_difference(expected).area == pytest.approx(0.0, abs=1e-9)


def test_a_box_across_180_degrees_runs_on():
    land = shape(land_in(Box(62.0, 170.0, 70.0, 195.0)))
    # The far east of Asia goes on past 180 (common geography, from memory).
    assert land.contains(shapely.Point(178.0, 67.0))
    assert land.contains(shapely.Point(183.0, 67.0))
    assert land.bounds[2] > 185.0


def test_a_coarse_outline_is_smaller_and_near(world):
    box = Box(-85.0, -180.0, 85.0, 180.0)
    fine, coarse = land_in(box), land_in(box, tolerance_deg=0.2)
    count = [sum(len(ring) for p in land for ring in p.rings) for land in (fine, coarse)]
    assert count[1] < count[0] / 5
    inside = world.intersection(shapely.box(-180, -85, 180, 85))
    assert shape(coarse).area == pytest.approx(inside.area, rel=0.02)


def test_the_open_sea_has_no_land():
    assert land_in(Box(-45.0, -135.0, -40.0, -130.0)) == ()


def test_damaged_data_is_named():
    packed = DATA.joinpath("land-50m.bin").read_bytes()
    whole = zlib.decompress(packed)
    for bad in (packed[:1000], b"", zlib.compress(whole[:-8]), zlib.compress(whole[:403])):
        with pytest.raises(TileError, match="land outline is damaged"):
            unpack(bad)
