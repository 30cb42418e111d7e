import numpy as np
import pytest

from plotter.fix.quadtree import grow


def bell(width_m, x0=1234.0, y0=-777.0):
    def density(x, y, half_side):
        v = width_m**2 + half_side**2 / 3.0
        r2 = (x - x0) ** 2 + (y - y0) ** 2
        return -0.5 * r2 / v - np.log(v), np.ones_like(x), np.full_like(x, width_m)

    return density


@pytest.mark.parametrize("width_m", [3.0, 50.0, 2000.0])
def test_cells_tile_the_square_and_sum_to_one(width_m):
    leaves = grow(bell(width_m), 30e3)
    assert leaves.mass.sum() == pytest.approx(1.0, abs=1e-12)
    assert leaves.area_m2.sum() == pytest.approx(60e3**2, rel=1e-12)


@pytest.mark.parametrize("width_m", [3.0, 50.0, 2000.0])
@pytest.mark.parametrize(("scale", "held"), [(1.1774, 0.5), (2.4477, 0.95)])
def test_circles_hold_what_a_bell_holds(width_m, scale, held):
    """Chi-square with two degrees of freedom; the table's own scales."""
    leaves = grow(bell(width_m), 30e3)
    inside = np.hypot(leaves.x_m - 1234.0, leaves.y_m + 777.0) < scale * width_m
    assert leaves.mass[inside].sum() == pytest.approx(held, abs=0.01)
    assert leaves.mass @ leaves.x_m == pytest.approx(1234.0, abs=0.05 * width_m)


def test_no_leaf_holds_more_than_the_tolerance():
    leaves = grow(bell(300.0), 30e3, tolerance=1 / 1000)
    assert leaves.mass.max() <= 1 / 1000


def test_limits_hold_for_a_point_like_density():
    """Narrower than the smallest cell: the depth, the size and the number of leaves are bounded."""
    leaves = grow(bell(1e-3), 2e6)
    assert leaves.half_side_m.min() >= 0.25
    assert leaves.level.size <= 60_000


def test_limit_on_the_number_of_leaves():
    leaves = grow(bell(5e3), 30e3, tolerance=1e-6)
    assert leaves.level.size <= 60_000
