"""Taking all turns of a shared error at once is the same as taking one after the other."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plotter.fix import Bearing
from plotter.fix.chart import chart_at
from plotter.fix.likelihood import BearingModel, bearing_model
from plotter.fix.mixture import blend
from plotter.geodesy.position import Position

MIDDLE = Position(47.0, 8.0)


@st.composite
def scenes(draw):
    rng = np.random.default_rng(draw(st.integers(0, 2**32)))
    sigma = draw(st.sampled_from([0.5, 2.0, 5.0, 10.0, 25.0, 60.0]))
    count = draw(st.integers(2, 7))
    bearings = [
        Bearing(
            Position(47.0 + lat, 8.0 + lon),
            float(said),
            sigma,
            f"Post {i}",
            observer_sigma_m=draw(st.sampled_from([0.0, 30.0, 9e3])),
        )
        for i, (lat, lon, said) in enumerate(
            zip(*rng.uniform(-0.1, 0.1, (2, count)), rng.uniform(0, 360, count), strict=True)
        )
    ]
    points = rng.uniform(-20e3, 20e3, (2, 300))
    half_side = rng.choice([0.0, 20.0, 900.0], 300)
    return bearings, points, half_side


@given(scenes(), st.booleans())
@settings(max_examples=40)
def test_all_turns_at_once_are_each_turn_by_itself(scene, single):
    """Both are the documented mixture; the first leaves out bells that are nothing there."""
    bearings, (x, y), half_side = scene
    chart = chart_at(MIDDLE)
    model = bearing_model(chart, bearings)
    if single:
        model = model.in_single()
    angles = model._angles(model.look(chart.lift(x, y)), half_side)
    (unit,) = model.steady
    assert len(unit.turns_rad) > 1
    at_once = model._unit(unit, angles, 1.0, shares=True)
    each = model._each_turn(unit, angles, 1.0, shares=True)
    assert at_once.log == pytest.approx(each.log, abs=2e-4 if single else 2e-5)
    for one, other in zip(at_once.shares, each.shares, strict=True):
        assert np.asarray(one) == pytest.approx(np.asarray(other), abs=1e-4 if single else 2e-5)


def test_a_turn_by_more_than_a_right_angle_is_taken_by_itself():
    bearings = [Bearing(MIDDLE, 10.0, 5.0, "A"), Bearing(Position(47.1, 8.0), 190.0, 5.0, "B")]
    model = bearing_model(chart_at(MIDDLE), bearings)
    (unit,) = model.steady
    far = replace(unit, turns_rad=unit.turns_rad * 40.0)
    points = chart_at(MIDDLE).lift(np.linspace(-9e3, 9e3, 50), np.full(50, 3e3))
    angles = model._angles(model.look(points), np.zeros(50))
    ways = [model._independent(far.rows, angles, 1.0, turn, shares=False) for turn in far.turns_rad]
    held = BearingModel._unit(model, far, angles, 1.0, shares=False)
    assert held.log == pytest.approx(blend(far.log_weights, ways).log, abs=1e-12)
