"""The prior that hearing makes: against integration by scipy and distances of PROJ."""

import math

import numpy as np
import pytest
from fix_families import TRUTH, ahead, distance
from scipy import integrate

from plotter.fix import Bearing, Listening, Range, Support, fix
from plotter.fix.chart import chart_at
from plotter.fix.hearing import heard_from, hearing_model, hearing_prior
from plotter.fix.posterior import posterior
from plotter.geodesy.position import Area

RADIUS_M = 512e3
POSTS = [ahead(TRUTH, b, d) for b, d in ((10.0, 4000.0), (130.0, 9000.0), (250.0, 2000.0))]
BEARINGS = [Bearing(p, 0.0, 5.0) for p in POSTS]


def density(evidence, places, *, area=None, watches=()):
    """Of the prior alone, at bare points."""
    chart = chart_at(TRUTH)
    rows = heard_from(chart, evidence)
    hearing = hearing_prior(chart, evidence, rows, RADIUS_M, area)
    model = hearing_model(chart, evidence, hearing, watches, np.zeros(len(evidence)))
    points = chart.points(places)
    return np.exp(model.hold(model.look(points), np.zeros(len(places)), shares=False).log)


def by_hand(posts, places):
    """The stated formula, each sum over the ground by scipy in the plane about the posts."""
    ranges = 500.0 * 2.0 ** np.arange(10)
    east = [distance(TRUTH, p) * math.sin(math.radians(b)) for p, b in posts]
    north = [distance(TRUTH, p) * math.cos(math.radians(b)) for p, b in posts]

    def all_hear(x, y, range_m):
        squares = ((x - e) ** 2 + (y - n) ** 2 + 0.0 for e, n in zip(east, north, strict=True))
        return math.prod(1.0 / (1.0 + (s / range_m**2) ** 1.25) for s in squares)

    weights, terms = [], []
    for range_m in ranges:
        # Polar about the middle of the plane, the radius by its logarithm.
        whole, _ = integrate.dblquad(
            lambda t, a, r=range_m: math.exp(2 * t)
            * all_hear(math.exp(t) * math.sin(a), math.exp(t) * math.cos(a), r),
            0.0, 2.0 * math.pi, math.log(1.0), math.log(RADIUS_M * 2.0 / math.sqrt(math.pi)),
            epsabs=0.0, epsrel=1e-4,
        )  # fmt: skip
        grid = np.linspace(-10e3, 10e3, 81)
        best = max(all_hear(x, y, range_m) for x in grid for y in grid)
        best = max(best, *(all_hear(e, n, range_m) for e, n in zip(east, north, strict=True)))
        weights.append(range_m**-0.5 * best)
        terms.append(
            [
                math.prod(1.0 / (1.0 + (distance(p, place) / range_m) ** 2.5) for p, _ in posts)
                / whole
                for place in places
            ]
        )
    weights = np.asarray(weights) / sum(weights)
    return weights @ np.asarray(terms)


def test_the_prior_is_the_stated_formula():
    posts = list(zip(POSTS[:2], (10.0, 130.0), strict=True))
    places = [ahead(TRUTH, b, d) for b, d in ((0, 500.0), (70, 6e3), (200, 30e3), (320, 150e3))]
    ours = density(BEARINGS[:2], places)
    # Ranges of less than a thousandth of the weight are left out, and the mesh is coarse: 3 %.
    np.testing.assert_allclose(ours, by_hand(posts, places), rtol=0.03)


@pytest.mark.parametrize("area", [None, Area(ahead(TRUTH, 80.0, 20e3), 15e3)])
@pytest.mark.parametrize("count", [1, 2, 3])
def test_the_prior_sums_to_one_over_the_ground(count, area):
    """On a polar net about the first post, whose own place is the only sharp one of one post."""
    net = np.geomspace(20.0, RADIUS_M * 1.45, 260)
    middle, widths = np.sqrt(net[1:] * net[:-1]), np.diff(net)
    angles = np.arange(0.0, 360.0, 5.0) + 2.5
    chart = chart_at(TRUTH)
    start = chart.points([POSTS[0]])[:2, 0]
    x = start[0] + np.outer(np.sin(np.radians(angles)), middle).ravel()
    y = start[1] + np.outer(np.cos(np.radians(angles)), middle).ravel()
    inside = np.maximum(np.abs(x), np.abs(y)) < RADIUS_M
    evidence = BEARINGS[:count]
    hearing = hearing_prior(chart, evidence, heard_from(chart, evidence), RADIUS_M, area)
    model = hearing_model(chart, evidence, hearing, (), np.zeros(count))
    points = chart.lift(x[inside], y[inside])
    value = np.exp(model.hold(model.look(points), np.zeros(inside.sum()), shares=False).log)
    ground = np.tile(middle * widths * math.radians(5.0), angles.size)[inside]
    ground *= chart.area_element(points)
    assert float(value @ ground) == pytest.approx(1.0, abs=0.03)


def test_the_area_of_operations_has_a_quarter():
    area = Area(ahead(TRUTH, 90.0, 100e3), 5e3)
    (within, beside) = density(BEARINGS, [area.centre, ahead(area.centre, 0.0, 6e3)], area=area)
    plain = density(BEARINGS, [area.centre])[0]
    assert within == pytest.approx(0.75 * plain + 0.25 / (math.pi * 5e3**2), rel=1e-6)
    assert beside < 0.01 * within


def test_places_within_100_m_are_one_that_heard_and_six_are_enough():
    chart = chart_at(TRUTH)
    twins = [Bearing(ahead(TRUTH, 90.0, 40.0 * i), 0.0, 5.0) for i in range(3)]
    assert len(heard_from(chart, twins)) == 1
    ring = [Bearing(ahead(TRUTH, 30.0 * i, 5e3), 0.0, 5.0) for i in range(12)]
    assert len(heard_from(chart, ring)) == 6
    watches = [Listening(POSTS[0], heard=True), Listening(POSTS[1], heard=False)]
    assert heard_from(chart, watches) == [0]
    assert heard_from(chart, [*watches, Range(POSTS[2], 500.0, 50.0)]) == [2]


def test_a_stated_range_narrows_and_a_deaf_post_pushes_away():
    near = fix([*BEARINGS[:1], Listening(POSTS[1], heard=True, range_m=4e3)])
    open_ = fix([*BEARINGS[:1], Listening(POSTS[1], heard=True)])
    assert near.regions[1].area_km2 < 0.5 * open_.regions[1].area_km2
    there = ahead(POSTS[0], 0.0, 6e3)
    deaf = density([*BEARINGS[:1], Listening(there, heard=False)], [there, POSTS[0]], watches=[1])
    plain = density(BEARINGS[:1], [there, POSTS[0]])
    assert deaf[0] / plain[0] < 0.4 * deaf[1] / plain[1]


def test_an_explicit_patch_is_kept_as_it_is():
    after = posterior(BEARINGS, Support(9e3, TRUTH))
    assert after.hearing is None
    assert after.leaves.radius_m == 9e3


def test_the_chance_that_all_are_right_does_not_hang_on_how_far_is_computed():
    """Two that meet at 300 m: with a patch of 60 km they were held for wrong at over 99 %."""
    posts = [ahead(TRUTH, b, 300.0) for b in (180.0, 270.0)]
    answer = fix([Bearing(p, b, 10.0) for p, b in zip(posts, (3.0, 87.0), strict=True)])
    assert answer.p_all_good > 0.85
