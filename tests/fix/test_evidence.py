import math

import pytest

from plotter.errors import FormatError
from plotter.fix import Bearing, Support, default_sigma_deg
from plotter.geodesy.position import Position

POST = Position(47.0, 8.0)


@pytest.mark.parametrize(
    ("kind", "limit_deg"), [("class A", 2.0), ("class B", 5.0), ("class C", 10.0)]
)
def test_classes_are_half_their_published_limits(kind, limit_deg):
    """Radio Regulations, Atlantic City 1947, appendix 15; reading them as 95 % is our own."""
    assert default_sigma_deg(kind) == limit_deg / 2


def test_other_kinds_are_assumed_and_ordered():
    """Common practice, no source."""
    kinds = ("class C", "hand-held directional", "null or loop", "that way")
    assert [default_sigma_deg(kind) for kind in kinds] == [5.0, 6.0, 10.0, 20.0]


def test_compass_adds_in_quadrature():
    assert default_sigma_deg("class C", compass=True) == pytest.approx(math.sqrt(34.0))


def test_unknown_kind_lists_the_known():
    with pytest.raises(FormatError, match=r"'sextant'.*class A.*that way"):
        default_sigma_deg("sextant")


def test_bearings_come_into_range():
    bearing = Bearing(POST, -10.0, 5.0, other_true_deg=725.0)
    assert bearing.bearing_true_deg == 350.0
    assert bearing.other_true_deg == 5.0


@pytest.mark.parametrize(
    "wrong",
    [
        {"sigma_deg": 0.0},
        {"sigma_deg": math.nan},
        {"sigma_deg": 181.0},
        {"observer_sigma_m": -1.0},
        {"observer_sigma_m": math.inf},
        {"p_gross": -0.1},
        {"p_gross": 0.6, "p_reciprocal": 0.4},
        {"bearing_true_deg": math.nan},
    ],
)
def test_impossible_bearings_are_refused(wrong):
    with pytest.raises(FormatError):
        Bearing(**{"observer": POST, "bearing_true_deg": 10.0, "sigma_deg": 5.0, **wrong})


@pytest.mark.parametrize("radius", [0.0, -5.0, math.nan, math.inf])
def test_impossible_support_is_refused(radius):
    with pytest.raises(FormatError, match="radius"):
        Support(radius)


def test_whole_numbers_and_numpy_numbers_become_plain_floats():
    """2026-11-25: Support(30000) made the cells' sides whole numbers that overflowed."""
    import numpy as np

    bearing = Bearing(POST, np.float32(45), np.float32(5), observer_sigma_m=3)
    assert all(
        type(value) is float
        for value in (bearing.bearing_true_deg, bearing.sigma_deg, bearing.observer_sigma_m)
    )
    assert type(Support(30_000).radius_m) is float
