import numpy as np
import pytest
import shapely

from plotter.fix.outline import rings_of_cells, signed_area


def polygons(rings):
    """Assemble rings with another library, to see whether they are proper rings at all."""
    shells = [shapely.Polygon(r) for r in rings if signed_area(r) > 0]
    holes = [shapely.Polygon(r) for r in rings if signed_area(r) < 0]
    return shells, holes


def random_quadtree(rng, depth=6):
    """Some of the leaves of a random quad-tree, as column, row, size."""
    cells = [(0, 0, 2**depth)]
    leaves = []
    while cells:
        x, y, size = cells.pop()
        if size == 2**depth or (size > 1 and rng.uniform() < 0.75):
            half = size // 2
            cells += [(x + dx, y + dy, half) for dx in (0, half) for dy in (0, half)]
        else:
            leaves.append((x, y, size))
    keep = rng.uniform(size=len(leaves)) < rng.uniform(0.2, 0.9)
    return np.array(leaves)[keep].T


@pytest.mark.parametrize("seed", range(40))
def test_outline_is_the_union_by_another_library(seed):
    column, row, size = random_quadtree(np.random.default_rng(seed))
    rings = rings_of_cells(column, row, size)
    shells, holes = polygons(rings)
    assert all(shape.is_valid for shape in shells + holes)
    union = shapely.union_all(shapely.box(column, row, column + size, row + size))
    ours = shapely.difference(shapely.union_all(shells), shapely.union_all(holes))
    # A piece inside a hole is taken away with the hole: put it back.
    inside = [s for s in shells if not ours.covers(s.representative_point())]
    ours = shapely.union_all([ours, *(shapely.intersection(union, s) for s in inside)])
    assert shapely.symmetric_difference(ours, union).area == 0.0
    assert sum(signed_area(r) for r in rings) == int((size * size).sum())


def test_cells_that_touch_at_a_corner_are_apart():
    rings = rings_of_cells(np.array([0, 1]), np.array([0, 1]), np.array([1, 1]))
    assert sorted(signed_area(r) for r in rings) == [1, 1]


def test_ring_of_cells_has_one_hole():
    x, y = np.meshgrid(np.arange(3), np.arange(3))
    keep = ~((x == 1) & (y == 1)).ravel()
    rings = rings_of_cells(x.ravel()[keep], y.ravel()[keep], np.ones(8, dtype=np.int64))
    assert sorted(signed_area(r) for r in rings) == [-1, 9]


def test_two_holes_that_touch_are_two_rings():
    x, y = np.meshgrid(np.arange(4), np.arange(4))
    x, y = x.ravel(), y.ravel()
    keep = ~(((x == 1) & (y == 1)) | ((x == 2) & (y == 2)))
    rings = rings_of_cells(x[keep], y[keep], np.ones(keep.sum(), dtype=np.int64))
    assert sorted(signed_area(r) for r in rings) == [-1, -1, 16]


def test_neighbours_of_unequal_size_join():
    rings = rings_of_cells(np.array([0, 2, 2]), np.array([0, 0, 1]), np.array([2, 1, 1]))
    assert len(rings) == 1
    assert len(rings[0]) == 4
