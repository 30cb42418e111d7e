"""The smooth line through the steps of the cells."""

import numpy as np
from fix_families import BY_NAME, PLANE, TRUTH, fixed_truth
from hypothesis import given
from hypothesis import strategies as st

from plotter.fix import fix
from plotter.fix.chart import chart_at
from plotter.fix.contour import CellFinder
from plotter.fix.posterior import posterior
from plotter.fix.quadtree import DEEPEST, grow
from plotter.fix.region import densest_first, region

SCENE = fixed_truth(BY_NAME["good cross"], np.random.default_rng(1))
LEAVES = posterior(SCENE, BY_NAME["good cross"].support).leaves
FINDER = CellFinder(LEAVES)


@given(st.integers(0, 2**DEEPEST - 1), st.integers(0, 2**DEEPEST - 1))
def test_the_finder_finds_the_cell_that_holds_a_point(column, row):
    index = int(FINDER.at(np.array([column]), np.array([row]))[0])
    size = 2 ** (DEEPEST - int(LEAVES.level[index]))
    assert LEAVES.column[index] * size <= column < (LEAVES.column[index] + 1) * size
    assert LEAVES.row[index] * size <= row < (LEAVES.row[index] + 1) * size


def test_a_round_bell_has_a_round_outline():
    """Radius by chi-square with two degrees of freedom, √(−2 ln(1−P)) σ, all round within 2 %."""
    sigma = 500.0

    def bell(x, y, _half_side):
        return -0.5 * (x * x + y * y) / sigma**2, np.ones_like(x), np.full_like(x, sigma)

    leaves = grow(bell, 16e3)
    chart = chart_at(TRUTH)
    for p in (0.5, 0.95):
        (piece,) = region(chart, leaves, densest_first(leaves), p, lambda _: (0.0, 0.0)).pieces
        ring = piece.polygon.outer
        x, y = PLANE([c.lon_deg for c in ring], [c.lat_deg for c in ring])
        radius = np.hypot(x, y)
        wanted = sigma * np.sqrt(-2.0 * np.log(1.0 - p))
        # The steps of the cells alone are up to a fifth of the radius.
        assert np.abs(radius / wanted - 1.0).max() < 0.02


def test_what_is_drawn_is_where_the_density_crosses_the_limit():
    """Along the outline of a fix the logarithm of the density differs by less than a tenth."""
    family = BY_NAME["one reciprocal of 4"]
    scene = fixed_truth(family, np.random.default_rng(2))
    after = posterior(scene, family.support)
    ring = fix(scene, family.support).regions[1].pieces[0].polygon.outer
    points = after.chart.points(ring)
    value, _ = after.still_model.log_likelihood(points, np.zeros(len(ring)))
    assert np.std(value) < 0.1
