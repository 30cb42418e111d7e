import math
from functools import partial

import numpy as np
import pytest
from fix_families import TRUTH, ahead, azimuth
from scipy import stats

from plotter import fix
from plotter.fix.bells import erf
from plotter.fix.chart import chart_at
from plotter.fix.likelihood import bearing_model

# One bell, no slip; the other kind is below.
Bearing = partial(fix.Bearing, exact=True)


def density(bearing, angles_deg, distance_m=5000.0):
    """Density of one bearing to points all round the observer, who stands at the centre."""
    chart = chart_at(bearing.observer)
    x = distance_m * np.sin(np.radians(angles_deg))
    y = distance_m * np.cos(np.radians(angles_deg))
    return np.exp(held(bearing_model(chart, [bearing]), chart.lift(x, y)).log)


def held(model, points):
    """Bearings against bare points."""
    return model.hold(model.look(points), np.zeros(points.shape[1]), shares=True)


def test_erf_against_the_standard_library():
    x = np.linspace(0.0, 6.0, 2001)
    np.testing.assert_allclose(erf(x), [math.erf(v) for v in x], atol=1.5e-7)


@pytest.mark.parametrize("sigma_deg", [1.0, 5.0, 20.0, 33.0, 35.0, 60.0, 120.0])
@pytest.mark.parametrize("other", [None, 40.0])
def test_density_integrates_to_one_over_the_circle(sigma_deg, other):
    """A density of the bearing given the azimuth; here the azimuth runs, which is the same."""
    angles = np.arange(0.0, 360.0, 0.05)
    bearing = Bearing(TRUTH, 10.0, sigma_deg, other_true_deg=other)
    # Observers' position and half side are nil, so only the metre that guards d = 0 is left.
    total = density(bearing, angles).sum() * math.radians(0.05)
    assert total == pytest.approx(1.0, abs=2e-6)


def test_density_is_the_stated_mixture():
    sigma = math.radians(5.0)
    bearing = Bearing(TRUTH, 10.0, 5.0, p_reciprocal=0.02, p_gross=0.05)

    def bell(r):
        return math.exp(-0.5 * (r / sigma) ** 2) / (sigma * math.sqrt(2.0 * math.pi))

    for off in (0.0, 3.0, -12.0, 90.0, 175.0, 180.0):
        near, back = math.radians(off), math.radians(180.0 - abs(off))
        expected = 0.93 * bell(near) + 0.02 * bell(back) + 0.05 / (2.0 * math.pi)
        assert density(bearing, np.array([10.0 + off]))[0] == pytest.approx(expected, rel=1e-6)


def test_observer_error_widens_the_near_field_only():
    sure, unsure = (Bearing(TRUTH, 0.0, 2.0, observer_sigma_m=s) for s in (0.0, 300.0))
    off = np.array([8.0])
    assert density(unsure, off, 2000.0)[0] > 10 * density(sure, off, 2000.0)[0]
    far = density(unsure, off, 500e3)[0]
    assert far == pytest.approx(density(sure, off, 500e3)[0], rel=1e-2)


def test_many_bearings_neither_overflow_nor_lose_their_sum():
    """More factors than one product holds: the logarithm is n times the one of a single bearing."""
    bearing = Bearing(TRUTH, 0.0, 0.1)
    chart = chart_at(TRUTH)
    points = chart.points([ahead(TRUTH, 0.02, 3000.0)])
    one = held(bearing_model(chart, [bearing]), points).log
    many = held(bearing_model(chart, [bearing] * 150), points).log
    assert many[0] == pytest.approx(150 * one[0], rel=1e-12)


def test_verdict_chances_are_those_of_bayes():
    chart = chart_at(TRUTH)
    model = bearing_model(chart, [Bearing(TRUTH, 0.0, 5.0)])
    behind = chart.points([ahead(TRUTH, 180.0, 5000.0)])
    good, back, _, _ = held(model, behind).shares
    bell = 1.0 / (math.radians(5.0) * math.sqrt(2.0 * math.pi))
    assert good[0, 0] == pytest.approx(0.0, abs=1e-12)
    assert back[0, 0] == pytest.approx(0.02 * bell / (0.02 * bell + 0.05 / (2 * math.pi)), rel=1e-5)


def test_second_meaning_counts_half():
    bearing = Bearing(TRUTH, 0.0, 5.0, other_true_deg=90.0)
    plain = density(Bearing(TRUTH, 0.0, 5.0, p_gross=0.0, p_reciprocal=0.0), np.array([0.0]))[0]
    at = density(bearing, np.array([0.0, 90.0]))
    expected = 0.93 * 0.5 * plain + 0.05 / (2 * math.pi)
    np.testing.assert_allclose(at, expected, rtol=1e-6)


def test_single_precision_agrees_with_double_all_round_and_at_the_observer_itself():
    """Angles from every quadrant, the axes, a metre off, 100 km off and the place itself."""
    chart = chart_at(TRUTH)
    model = bearing_model(chart, [Bearing(TRUTH, 33.0, 5.0), Bearing(TRUTH, 90.0, 40.0)])
    angle = np.radians(np.linspace(0.0, 360.0, 721))
    for distance in (0.0, 1.0, 700.0, 100e3):
        points = chart.lift(distance * np.sin(angle), distance * np.cos(angle))
        half_side = np.full(angle.size, 30.0)
        exact = model.hold(model.look(points), half_side, shares=True)
        quick_model = model.in_single()
        quick = quick_model.hold(quick_model.look(points), half_side, shares=True)
        assert np.abs(quick.log - exact.log).max() < 2e-5
        assert np.abs(quick.shares.good - exact.shares.good).max() < 2e-5


def test_a_stated_error_is_two_bells_and_a_slip_that_all_share():
    """By scipy: the slip is summed over finely here, over five nodes there."""
    sigmas, said = (5.0, 8.0), (3.0, -14.0)
    posts = [ahead(TRUTH, b, 5000.0) for b in (180.0, 270.0)]
    chart = chart_at(TRUTH)
    bearings = [
        fix.Bearing(p, azimuth(p, TRUTH) + off, sigma)
        for p, off, sigma in zip(posts, said, sigmas, strict=True)
    ]
    slips = np.linspace(-5.0, 5.0, 2001)
    weight = stats.norm.pdf(slips) * (slips[1] - slips[0])
    product = np.ones_like(slips)
    for off, sigma in zip(said, sigmas, strict=True):
        left = np.radians(off - 0.4 * sigma * slips)
        bells = [stats.norm.pdf(left, scale=math.radians(k * sigma)) for k in (1.0, 3.0)]
        product *= 0.93 * (0.85 * bells[0] + 0.15 * bells[1]) + 0.05 / (2 * np.pi)
    ours = held(bearing_model(chart, bearings), chart.points([TRUTH]))
    assert math.exp(ours.log[0]) == pytest.approx(float(product @ weight), rel=0.02)
    assert ours.shares.near[1, 0] < ours.shares.good[1, 0]


@pytest.mark.parametrize("kappa", [0.3, 0.7, 1.0, 1.5, 2.0])
def test_who_does_not_know_where_he_stands_hardly_tells_a_direction(kappa):
    """Against the offset normal distribution (Mardia & Jupp, Directional Statistics, 2000, 3.5.6,
    from memory): the two differ by less than .17 of their mass, and by a factor of 2.4 at most,
    where a bell alone is 1000 times too low behind."""
    angle = np.linspace(-np.pi, np.pi, 720, endpoint=False)
    cosine = kappa * np.cos(angle)
    exact = np.exp(-0.5 * kappa**2) * (
        1.0 + cosine * stats.norm.cdf(cosine) / stats.norm.pdf(cosine)
    )
    exact /= exact.sum()
    away_m = 10e3
    chart = chart_at(TRUTH)
    bearing = fix.Bearing(
        TRUTH, 0.0, 1e-3, "A", observer_sigma_m=away_m / kappa, p_gross=0.0, p_reciprocal=0.0,
        exact=True,
    )  # fmt: skip
    model = bearing_model(chart, [bearing])
    points = chart.lift(away_m * np.sin(angle), away_m * np.cos(angle))
    ours = np.exp(model.hold(model.look(points), np.zeros(angle.size), shares=False).log)
    ours /= ours.sum()
    assert 0.5 * np.abs(ours - exact).sum() < 0.17
    assert np.abs(np.log(ours / exact)).max() < math.log(2.4)
