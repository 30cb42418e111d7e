import hashlib
from importlib.resources import files

import numpy as np
import shapely

from plotter.tiles import Box, borders_in

DATA = files("plotter.tiles").joinpath("data")


def test_the_packed_borders_are_those_of_the_readme():
    packed = DATA.joinpath("borders-50m.bin").read_bytes()
    assert len(packed) <= 60_000
    assert hashlib.sha256(packed).hexdigest() in DATA.joinpath("README.md").read_text("utf-8")


def test_a_border_that_follows_a_parallel_lies_on_it():
    # From the Strait of Georgia to the Lake of the Woods the border of Canada is the parallel of
    # 49° north (Convention of 1818, treaty of 1846; from memory). The data are rounded to 1/500°.
    lines = borders_in(Box(48.9, -122.7, 49.1, -95.3))
    lats = np.concatenate([line[:, 0] for line in lines])
    lons = np.concatenate([line[:, 1] for line in lines])
    assert np.abs(lats - 49.0).max() < 0.01
    assert lons.min() < -122.6
    assert lons.max() > -95.4


def test_an_island_state_has_no_border():
    assert borders_in(Box(62.0, -26.0, 68.0, -12.0)) == ()  # Iceland


def test_lines_stay_inside_the_box_and_beside_it_across_180_degrees():
    box = Box(40.0, 0.0, 55.0, 20.0)
    lines = borders_in(box)
    assert len(lines) > 20
    for lat, lon in np.concatenate(lines):
        assert box.south_deg - 1e-9 <= lat <= box.north_deg + 1e-9
        assert box.west_deg - 1e-9 <= lon <= box.east_deg + 1e-9
    turned = borders_in(Box(40.0, 360.0, 55.0, 380.0))
    assert np.allclose(np.concatenate(turned), np.concatenate(lines) + np.array([0.0, 360.0]))


def test_saving_points_moves_no_border_farther_than_allowed():
    box = Box(40.0, 0.0, 55.0, 20.0)
    exact = shapely.MultiLineString([line[:, ::-1] for line in borders_in(box)])
    coarse = borders_in(box, tolerance_deg=0.1)
    assert sum(map(len, coarse)) < 0.5 * shapely.get_num_coordinates(exact)
    for point in np.concatenate(coarse):
        assert exact.distance(shapely.Point(point[::-1])) < 0.1 + 1e-9
