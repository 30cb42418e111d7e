"""Laws of any scene: turned, mirrored or moved it has the same answer, and so has a line reversed.

The Earth is round about its axis and alike on both sides of the equator and of every meridian, so
these changes are exact and need no formula of the package.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
from fix_families import TRUTH, ahead, azimuth, distance
from hypothesis import given, settings
from hypothesis import strategies as st

from plotter.fix import Bearing, CommonError, fix
from plotter.fix.chart import chart_at, mean_position
from plotter.fix.model import model_of
from plotter.geodesy.position import Position

LOOP = {"p_reciprocal": 0.48, "p_gross": 0.04}


@st.composite
def bearings(draw):
    """Bearings of every make: shared and assumed errors, second meanings, loops, unsure places."""
    middle = draw(st.sampled_from([TRUTH, Position(89.7, 20.0), Position(-0.03, 179.99)]))
    found = []
    for i in range(draw(st.integers(1, 5))):
        common = draw(st.sampled_from([None, None, CommonError("a", 4.0), CommonError("b", 15.0)]))
        loop = draw(st.booleans())
        found.append(
            Bearing(
                ahead(middle, draw(st.floats(0, 360)), draw(st.floats(50.0, 8000.0))),
                draw(st.floats(0, 360)),
                draw(st.floats(0.5, 40.0)),
                f"Post {i}",
                observer_sigma_m=draw(st.sampled_from([0.0, 200.0])),
                other_true_deg=draw(st.none() | st.floats(0, 360)),
                sigma_stated=draw(st.booleans()),
                common=common,
                **(LOOP if loop else {}),
            )
        )
    return found


def turned_about_the_axis(by_deg):
    """Of the Earth; at the pole this turns the scene, at the equator it moves it."""

    def place(p):
        return Position(p.lat_deg, p.lon_deg + by_deg)

    return place, lambda bearing: bearing


def mirrored_east_and_west():
    return (lambda p: Position(p.lat_deg, -p.lon_deg)), (lambda bearing: -bearing)


def mirrored_at_the_equator():
    return (lambda p: Position(-p.lat_deg, p.lon_deg)), (lambda bearing: 180.0 - bearing)


def changed(found, place, direction):
    return [
        replace(
            b,
            observer=place(b.observer),
            bearing_true_deg=direction(b.bearing_true_deg),
            other_true_deg=None if b.other_true_deg is None else direction(b.other_true_deg),
        )
        for b in found
    ]


def likelihoods(found, places, middle):
    """Logarithm of the likelihood of bare points, and every verdict there."""
    chart = chart_at(middle)
    model, _ = model_of(chart, found, 30e3)
    shares = []
    log, _ = model.log_likelihood(chart.points(places), np.zeros(len(places)), shares)
    return log, np.concatenate(shares[0][:2])


def assert_alike(one, other):
    np.testing.assert_allclose(one[0], other[0], atol=2e-4)
    np.testing.assert_allclose(one[1], other[1], atol=2e-4)


def points_about(found):
    middle = mean_position([b.observer for b in found])
    around = [ahead(middle, k * 47.0, 150.0 * 1.4**k) for k in range(14)]
    along = [ahead(b.observer, b.bearing_true_deg + t, 3000.0) for b in found for t in (2.0, 178.0)]
    return middle, around + along


CHANGES = [
    turned_about_the_axis(37.0),
    turned_about_the_axis(180.0),
    mirrored_east_and_west(),
    mirrored_at_the_equator(),
]


@settings(max_examples=60)
@given(bearings(), st.sampled_from(CHANGES))
def test_turning_moving_and_mirroring_the_scene_changes_only_where_it_lies(found, change):
    middle, places = points_about(found)
    place, direction = change
    there = changed(found, place, direction)
    assert_alike(
        likelihoods(found, places, middle),
        likelihoods(there, [place(p) for p in places], place(middle)),
    )


@settings(max_examples=60)
@given(bearings(), st.data())
def test_reversing_a_bearing_of_unknown_sense_changes_nothing(found, data):
    """Right and reciprocal change their names, whatever errors the others share."""
    i = data.draw(st.integers(0, len(found) - 1))
    found[i] = replace(found[i], **LOOP)
    other = found[i].other_true_deg
    back = list(found)
    back[i] = replace(
        found[i],
        bearing_true_deg=found[i].bearing_true_deg + 180.0,
        other_true_deg=None if other is None else other + 180.0,
    )
    middle, places = points_about(found)
    one, reversed_ = (likelihoods(each, places, middle) for each in (found, back))
    np.testing.assert_allclose(one[0], reversed_[0], atol=2e-4)
    n = len(found)
    np.testing.assert_allclose(one[1][i], reversed_[1][n + i], atol=2e-4)


@settings(max_examples=60)
@given(bearings(), st.integers(0, 4), st.floats(1.0, 20.0))
def test_an_error_that_others_share_leaves_a_bearing_as_it_was(found, i, sigma_deg):
    """One bearing beside two that share an error: its own density there is that of it alone."""
    alone = replace(found[i % len(found)], common=None)
    sharing = [
        Bearing(
            ahead(alone.observer, b, 4000.0), b + 170.0, 3.0, common=CommonError("x", sigma_deg)
        )
        for b in (10.0, 100.0)
    ]
    middle, places = points_about([alone])
    one, two, both = (
        likelihoods(each, places, middle)[0] for each in ([alone], sharing, [alone, *sharing])
    )
    np.testing.assert_allclose(both, one + two, atol=2e-4)


@pytest.mark.parametrize("reversed_", [(), (0,), (1, 2), (0, 1, 2)])
def test_loops_beside_a_declared_shared_error_are_read_from_both_sides(reversed_):
    """The whole fix: two posts share 4°, three loops point either way."""
    share = CommonError("declination", 4.0)
    posts = [ahead(TRUTH, b, 5000.0) for b in (150.0, 210.0, 20.0, 95.0, 300.0)]
    rights = [azimuth(p, TRUTH) for p in posts]
    sharing = [
        Bearing(p, r + 3.0, 2.0, common=share) for p, r in zip(posts[:2], rights, strict=False)
    ]
    loops = [
        Bearing(p, r + (180.0 if i in reversed_ else 0.0), 6.0, **LOOP)
        for i, (p, r) in enumerate(zip(posts[2:], rights[2:], strict=True))
    ]
    straight = fix(
        [
            *sharing,
            *(replace(b, bearing_true_deg=r) for b, r in zip(loops, rights[2:], strict=True)),
        ]
    )
    answer = fix([*sharing, *loops])
    assert distance(answer.best, straight.best) < 1.0
    assert answer.regions[1].area_km2 == pytest.approx(straight.regions[1].area_km2, rel=1e-3)
    assert distance(answer.best, TRUTH) < 3.0 * math.sqrt(answer.regions[1].area_km2 * 1e6)
    for i, verdict in enumerate(answer.bearings[2:]):
        assert (verdict.p_reciprocal if i in reversed_ else verdict.p_good) > 0.9
