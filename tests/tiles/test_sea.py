"""Sea from coastlines, by the rule of OpenStreetMap: land on the left.

The truth is a made coast of whole rings; extracts are cut from it as tools cut them.
"""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from plotter.tiles.build.sea import runs_of, shores

BOX = shapely.box(10.0, 50.0, 11.0, 51.0)
RING = [(10.3, 50.3), (10.7, 50.3), (10.7, 50.7), (10.3, 50.7), (10.3, 50.3)]  # an island
NOBODY = np.empty((0, 2))


def made(lines, ground=BOX, houses=NOBODY):
    return shores(runs_of(lines), ground, np.asarray(houses, dtype=float))


def area(faces):
    return shapely.union_all(faces).area if faces else 0.0


def test_an_island_lies_in_the_sea_and_a_lagoon_in_it_is_sea():
    lagoon = [(10.4, 50.4), (10.4, 50.5), (10.5, 50.5), (10.5, 50.4), (10.4, 50.4)]  # clockwise
    assert area(made([shapely.LineString(RING)]).sea) == pytest.approx(1 - 0.16)
    both = [shapely.LineString(RING), shapely.LineString(lagoon)]
    assert area(made(both).sea) == pytest.approx(1 - 0.16 + 0.01)
    assert area(made([shapely.MultiLineString(both)]).sea) == pytest.approx(0.85)


def test_a_coast_that_runs_through_the_box_in_parts():
    """Eastwards: land to the north."""
    x = np.arange(9.5, 11.6, 0.1)
    nodes = np.column_stack((x, 50.5 + 0.1 * np.sin(9 * x)))
    parts = [shapely.LineString(nodes[k : k + 2]) for k in range(len(nodes) - 1)]
    sea = made(parts).sea
    assert shapely.union_all(sea).contains(shapely.Point(10.5, 50.05))
    assert not shapely.union_all(sea).intersects(shapely.Point(10.5, 50.95))
    back = made([part.reverse() for part in parts]).sea
    assert area(sea) + area(back) == pytest.approx(1.0)


def test_a_coast_that_ends_in_the_middle_leaves_its_ground_unknown():
    found = made([shapely.LineString([(10.0, 50.5), (10.6, 50.5)])])
    assert not found.sea
    assert area(found.unknown) == pytest.approx(1.0)


def test_an_island_that_is_not_whole_leaves_the_sea_about_it_unknown():
    """However small: a sea drawn over half an island drowns whoever is on it."""
    small = np.array(RING) * 0.1 + np.array([10.5, 50.4]) * 0.9
    far = [(10.0, 50.9), (11.0, 50.9)]
    found = made([shapely.LineString(small[:4]).segmentize(0.001), shapely.LineString(far)])
    assert not shapely.union_all(found.sea).intersects(shapely.Point(10.5, 50.2))
    assert shapely.union_all(found.unknown).contains(shapely.Point(10.5, 50.2))


def test_a_sea_in_which_houses_stand_is_none():
    houses = np.random.default_rng(1).uniform([10.0, 50.0], [11.0, 51.0], (500, 2))
    found = made([shapely.LineString(RING)], houses=houses)
    assert not found.sea
    assert area(found.unknown) == pytest.approx(1.0)


def test_without_a_coast_the_world_outline_decides():
    """By any atlas: the middle of the Atlantic, of the Sahara, the shore at Biarritz."""
    ocean, desert = shapely.box(-40.0, 30.0, -39.0, 31.0), shapely.box(5.0, 24.0, 6.0, 25.0)
    shore = shapely.box(-2.0, 43.0, -1.2, 44.0)
    assert area(made([], ocean).sea) == pytest.approx(1.0)
    assert made([], desert).sea == made([], desert).unknown == []
    assert area(made([], shore).unknown) == pytest.approx(0.8)
    # Where somebody lives, there is land.
    assert made([], shore, [(-1.5, 43.5)]).unknown == []


def coast(seed, count=14, spacing=0.0004):
    """Rings of islands in a sea, nodes some 40 m apart, land on the left."""
    rng = np.random.default_rng(seed)
    lands = []
    for _ in range(count):
        turns = np.linspace(0.0, 2.0 * np.pi, 400, endpoint=False)
        waves = sum(
            rng.uniform(-0.25, 0.25) / k * np.sin(k * turns + rng.uniform(0, 7))
            for k in range(2, 9)
        )
        radius = rng.uniform(0.005, 0.05) * (1.0 + waves)
        middle = rng.uniform([10.0, 50.0], [10.4, 50.25])
        ring = middle + np.column_stack((radius * np.cos(turns) * 1.5, radius * np.sin(turns)))
        lands.append(shapely.Polygon(ring))
    land = shapely.union_all(lands)
    rings = []
    for part in shapely.get_parts(land):
        whole = shapely.segmentize(shapely.orient_polygons(part), spacing)
        rings += [shapely.get_coordinates(ring) for ring in (whole.exterior, *whole.interiors)]
    return land, rings


def cut_out(rings, box, *, one_beyond):
    """Runs of nodes within a box; `one_beyond` keeps the first node on its other side as well."""
    west, south, east, north = box.bounds
    parts = []
    for ring in rings:
        nodes = ring[:-1]
        there = ((nodes >= [west, south]) & (nodes <= [east, north])).all(axis=1)
        if one_beyond:
            there = there | np.roll(there, 1) | np.roll(there, -1)
        if there.all():
            parts.append(shapely.LineString(ring))
            continue
        first = int(np.flatnonzero(~there)[0])
        nodes, there = np.roll(nodes, -first, axis=0), np.roll(there, -first)
        edges = np.flatnonzero(np.diff(np.concatenate(([0], there.astype(int), [0]))))
        runs = [nodes[a:b] for a, b in edges.reshape(-1, 2) if b - a >= 2]
        parts += [shapely.LineString(run) for run in runs]
    return parts


@settings(max_examples=120)
@given(
    st.integers(0, 30),
    st.floats(10.0, 10.3),
    st.floats(50.0, 50.2),
    st.floats(0.02, 0.15),
    st.booleans(),
)
def test_extracts_of_a_made_coast_are_right_or_not_known(seed, west, south, size, one_beyond):
    """Never wrong by more than 1 % of what is said to be known."""
    land, rings = coast(seed)
    box = shapely.box(west, south, west + size * 1.5, south + size)
    parts = cut_out(rings, box, one_beyond=one_beyond)
    if not parts:
        return
    found = made(parts, box)
    known = box.difference(shapely.union_all(found.unknown))
    sea = shapely.union_all(found.sea)
    wrong = sea.symmetric_difference(box.difference(land)).intersection(known).area
    assert wrong <= 0.01 * box.area


def test_most_extracts_of_a_made_coast_are_known():
    land, rings = coast(3)
    rng = np.random.default_rng(7)
    known = whole = 0
    for _ in range(60):
        west, south = rng.uniform([10.0, 50.0], [10.3, 50.2])
        box = shapely.box(west, south, west + 0.12, south + 0.08)
        parts = cut_out(rings, box, one_beyond=False)
        if parts:
            whole += 1
            known += not made(parts, box).unknown
    assert land.area > 0.0
    assert whole > 30
    assert known >= 0.9 * whole
