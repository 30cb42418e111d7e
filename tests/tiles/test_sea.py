"""Sea from coastlines, by the rule of OpenStreetMap: land on the left."""

import numpy as np
import pytest
import shapely

from plotter.tiles.build.sea import sea_beside
from plotter.tiles.grid import Box

BOX = Box(0.0, 0.0, 1.0, 1.0)
RING = [(0.3, 0.3), (0.7, 0.3), (0.7, 0.7), (0.3, 0.7), (0.3, 0.3)]  # anticlockwise: an island


def area(faces):
    return shapely.union_all(faces).area if faces else 0.0


def test_an_island_lies_in_the_sea_and_a_lagoon_in_it_is_sea():
    lagoon = [(0.4, 0.4), (0.4, 0.5), (0.5, 0.5), (0.5, 0.4), (0.4, 0.4)]  # clockwise
    assert area(sea_beside([shapely.LineString(RING)], BOX)) == pytest.approx(1 - 0.16)
    both = [shapely.LineString(RING), shapely.LineString(lagoon)]
    assert area(sea_beside(both, BOX)) == pytest.approx(1 - 0.16 + 0.01)
    assert area(sea_beside([shapely.MultiLineString(both)], BOX)) == pytest.approx(0.85)


def test_a_coast_that_runs_through_the_box_in_parts():
    """Eastwards: land to the north."""
    x = np.arange(-0.5, 1.6, 0.1)
    nodes = np.column_stack((x, 0.5 + 0.1 * np.sin(9 * x)))
    parts = [shapely.LineString(nodes[k : k + 2]) for k in range(len(nodes) - 1)]
    sea = sea_beside(parts, BOX)
    assert shapely.union_all(sea).contains(shapely.Point(0.5, 0.05))
    assert not shapely.union_all(sea).intersects(shapely.Point(0.5, 0.95))
    back = sea_beside([part.reverse() for part in parts], BOX)
    assert area(sea) + area(back) == pytest.approx(1.0)


def test_a_coast_that_ends_in_the_middle_says_nothing():
    assert sea_beside([shapely.LineString([(0.0, 0.5), (0.6, 0.5)])], BOX) == []
    assert sea_beside([shapely.LineString([(2.0, 0.5), (3.0, 0.5)])], BOX) == []
    assert sea_beside([], BOX) == []
