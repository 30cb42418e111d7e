"""Repeats by one sender: counted as little more than one, and said."""

import math
from dataclasses import replace

import pytest
from fix_families import TRUTH, ahead, azimuth, distance

from plotter.fix import Bearing, CommonError, fix
from plotter.fix.repeats import merged

POSTS = [ahead(TRUTH, b, 5000.0) for b in (180.0, 270.0, 20.0, 95.0)]
ASH, BIRCH, CEDAR, DOGWOOD = (
    Bearing(p, azimuth(p, TRUTH), 5.0, name)
    for p, name in zip(POSTS, ("Ash", "Birch", "Cedar", "Dogwood"), strict=True)
)


def turned(bearing, by_deg, **changes):
    return replace(bearing, bearing_true_deg=bearing.bearing_true_deg + by_deg, **changes)


@pytest.mark.parametrize(("count", "worth"), [(2, 1.212), (4, 1.356)])
def test_repeats_are_worth_their_equicorrelated_mean(count, worth):
    """Variance of the mean of k values with correlation c: s² (1 + (k − 1) c) / k; here c = .65."""
    (one,), row_of, (said,) = merged([turned(ASH, e) for e in (0.0, 2.0, -1.0, 3.0)[:count]])
    assert row_of == (0,) * count
    assert said.counted_as == pytest.approx(worth, abs=1e-3)
    assert one.sigma_deg == pytest.approx(5.0 / math.sqrt(worth), rel=1e-3)
    turn = sum((0.0, 2.0, -1.0, 3.0)[:count]) / count
    assert math.remainder(one.bearing_true_deg - ASH.bearing_true_deg - turn, 360.0) == (
        pytest.approx(0.0, abs=1e-9)
    )


@pytest.mark.parametrize(
    "other",
    [
        replace(ASH, sender="Birch"),
        replace(ASH, sender=""),
        replace(ASH, observer=ahead(POSTS[0], 90.0, 80.0)),
        turned(ASH, 16.0),
        turned(ASH, 180.0),
        replace(ASH, p_gross=0.2),
        replace(ASH, common=CommonError("x", 3.0)),
        replace(ASH, other_true_deg=9.0),
    ],
)
def test_what_differs_is_no_repeat(other):
    assert merged([ASH, other])[0] == (ASH, other)


def test_a_copy_does_not_blame_the_others():
    """One wrong bearing said three times, which would outvote three right ones if all counted."""
    wrong = turned(ASH, 70.0)
    answer = fix([wrong, BIRCH, CEDAR, DOGWOOD, wrong, turned(wrong, 1.0)])
    assert [v.sender for v in answer.bearings] == [
        "Ash", "Birch", "Cedar", "Dogwood", "Ash", "Ash",
    ]  # fmt: skip
    assert min(v.p_good for v in answer.bearings[1:4]) > 0.9
    first, last = answer.bearings[0], answer.bearings[5]
    assert last.residual_deg - first.residual_deg == pytest.approx(1.0, abs=1e-9)
    assert any("3 times from one place: counted as 1.3" in said for said in answer.findings)


def test_the_same_bearing_twice_is_nearly_the_same_fix():
    once, twice = fix([ASH, BIRCH, CEDAR]), fix([ASH, ASH, BIRCH, CEDAR])
    assert distance(once.best, twice.best) < 100.0
    assert twice.regions[1].area_km2 == pytest.approx(once.regions[1].area_km2, rel=0.12)
