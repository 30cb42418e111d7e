import math

import numpy as np
import pytest
import shapely
from fix_families import BY_NAME, FAMILIES, GEOD, TRUTH, fixed_truth, shape_of

from plotter.fix import Support, fix
from plotter.fix.chart import chart_at
from plotter.fix.posterior import posterior
from plotter.fix.quadtree import grow
from plotter.fix.region import densest_first, densest_leaves, region


def scene(family, seed=0):
    return fixed_truth(family, np.random.default_rng(seed))


def region_of_density(density, radius_m, probability=0.95):
    leaves = grow(density, radius_m)
    chart = chart_at(TRUTH)

    def middle(piece):
        return float(leaves.x_m[piece[0]]), float(leaves.y_m[piece[0]])

    return region(chart, leaves, densest_first(leaves), probability, middle)


def geodesic_km2(found):
    total = 0.0
    for piece in found.pieces:
        for ring in (piece.polygon.outer, *piece.polygon.holes):
            area, _ = GEOD.polygon_area_perimeter(
                [p.lon_deg for p in ring], [p.lat_deg for p in ring]
            )
            total += area  # a hole runs clockwise and counts below zero
    return total / 1e6


@pytest.mark.parametrize("family", FAMILIES, ids=lambda f: f.name)
def test_outlines_are_valid_and_run_anticlockwise(family):
    for found in fix(scene(family), family.support).regions:
        for piece, shape in zip(found.pieces, shape_of(found).geoms, strict=True):
            assert shape.is_valid
            assert shape.exterior.is_ccw
            assert not any(hole.is_ccw for hole in shape.interiors)
            if piece.share >= 0.05:
                assert shape.covers(shapely.Point(piece.best.lon_deg, piece.best.lat_deg))


@pytest.mark.parametrize("family", FAMILIES, ids=lambda f: f.name)
def test_area_is_the_geodesic_area_of_the_outline(family):
    """Karney's polygon area through PROJ, from the corners alone."""
    for found in fix(scene(family), family.support).regions:
        assert geodesic_km2(found) == pytest.approx(found.area_km2, rel=2e-4)


@pytest.mark.parametrize("family", FAMILIES, ids=lambda f: f.name)
def test_shares_add_up(family):
    for found in fix(scene(family), family.support).regions:
        assert sum(p.share for p in found.pieces) == pytest.approx(found.probability, abs=3e-4)
        assert sum(p.area_km2 for p in found.pieces) == pytest.approx(found.area_km2)
        shares = [p.share for p in found.pieces]
        assert shares == sorted(shares, reverse=True)


@pytest.mark.parametrize("name", ["good cross", "narrow base", "short", "long 500 km, 1°"])
def test_area_against_finer_cells(name):
    """Four times the cells: 1 % bias and 2 % scatter are stated."""
    family = BY_NAME[name]
    areas = []
    for tolerance in (1 / 4000, 1 / 16000):
        after = posterior(scene(family), family.support, tolerance=tolerance)
        chosen = densest_leaves(densest_first(after.leaves), after.leaves.mass, 0.95)
        areas.append(after.leaves.area_m2[chosen].sum())
    assert areas[0] == pytest.approx(areas[1], rel=0.03)


def test_a_ring_of_probability_keeps_its_hole_and_the_island_in_it():
    """A ridge round a hill, high at 9 km: areas and shares by integration along the radius."""

    def height(r):
        return np.exp(-0.5 * ((r - 9e3) / 400.0) ** 2) + np.exp(-0.5 * (r / 900.0) ** 2)

    def density(x, y, _half_side):
        return np.log(height(np.hypot(x, y)) + 1e-30), np.ones_like(x), np.full_like(x, 400.0)

    r = (np.arange(160_000) + 0.5) * 0.1
    ground = 2.0 * math.pi * r * 0.1
    order = np.argsort(-height(r))
    mass = (height(r) * ground)[order]
    chosen = order[: np.searchsorted(np.cumsum(mass) / mass.sum(), 0.95)]
    hill, ridge = chosen[r[chosen] < 5e3], chosen[r[chosen] > 5e3]

    found = region_of_density(density, 16e3)
    assert [len(piece.polygon.holes) for piece in found.pieces] == [1, 0]
    for piece, part in zip(found.pieces, (ridge, hill), strict=True):
        assert piece.area_km2 == pytest.approx(ground[part].sum() / 1e6, rel=0.02)
        share = (height(r) * ground)[part].sum() / mass.sum()
        assert piece.share == pytest.approx(share, abs=0.003)
    hole = shapely.Polygon([(p.lon_deg, p.lat_deg) for p in found.pieces[0].polygon.holes[0]])
    island = found.pieces[1].best
    assert hole.contains(shapely.Point(island.lon_deg, island.lat_deg))
    assert geodesic_km2(found) == pytest.approx(found.area_km2, rel=1e-4)


def test_round_bell_has_the_textbook_area():
    """Chi-square with two degrees of freedom: −2 ln(1−P) π σ²."""

    def bell(x, y, _half_side):
        return -0.5 * (x * x + y * y) / 500.0**2, np.ones_like(x), np.full_like(x, 500.0)

    for probability in (0.5, 0.95):
        expected = -2.0 * math.log1p(-probability) * math.pi * 0.25
        found = region_of_density(bell, 20e3, probability)
        assert found.area_km2 == pytest.approx(expected, rel=0.015)


def test_long_sides_bend_with_the_ground():
    """A uniform density leaves a square of 3 000 km: its sides are given in steps of 20 km."""
    family = BY_NAME["long 500 km, 3°"]
    answer = fix(scene(BY_NAME["good cross"])[:1], Support(family.radius_m, TRUTH))
    assert geodesic_km2(answer.regions[1]) == pytest.approx(answer.regions[1].area_km2, rel=2e-4)
