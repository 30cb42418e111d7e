"""Distances, reported places, watches, ground, shared and assumed errors, and what moves.

The oracle is plain numerical integration on a fine grid or over many draws, with geodesics of PROJ
and densities of scipy: other code, other formulas for the geometry, no quad-tree.
"""

import datetime as dt
import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from check_values import numbers, row
from fix_families import GEOD, PLANE, TRUTH, ahead, azimuth, distance, holds, shape_of
from scipy import integrate, stats

from plotter.errors import FormatError
from plotter.fix import (
    Bearing,
    CommonError,
    Ground,
    Listening,
    Motion,
    Polygon,
    Range,
    Sighting,
    Support,
    circle_sigma_m,
    default_motion,
    fix,
    radio_horizon_m,
)
from plotter.fix.chart import chart_at
from plotter.fix.model import model_of
from plotter.fix.posterior import posterior
from plotter.formats.reading import reading
from plotter.geodesy.position import Position

NOON = dt.datetime(2026, 5, 1, 12, tzinfo=dt.UTC)
SUPPORT = Support(20e3, TRUTH)


def log_likelihood(evidence, places, motion=None, radius_m=20e3, at_utc=None):
    """Ours, at bare points."""
    chart = chart_at(TRUTH)
    model, _ = model_of(chart, evidence, radius_m, (), motion, at_utc)
    return model.log_likelihood(chart.points(places), np.zeros(len(places)))[0]


def off(observer, bearing_deg, lat, lon):
    """Bearing minus azimuth, [−180, 180), and distance, by PROJ."""
    n = np.size(lat)
    az, _, d = GEOD.inv(np.full(n, observer.lon_deg), np.full(n, observer.lat_deg), lon, lat)
    return (bearing_deg - az + 180.0) % 360.0 - 180.0, d


def mixture(angle_deg, sigma_deg, p_reciprocal=0.02, p_gross=0.05):
    """The stated mixture of one bearing, per radian, errors far below half a turn."""
    sigma = math.radians(sigma_deg)
    near = np.radians(np.abs(angle_deg))
    good = stats.norm.pdf(near, scale=sigma)
    back = stats.norm.pdf(np.pi - near, scale=sigma)
    return (1 - p_reciprocal - p_gross) * good + p_reciprocal * back + p_gross / (2 * np.pi)


@pytest.mark.parametrize(("kind", "factor"), [("r68", 1.515), ("r95", 2.448), ("cep", 1.177)])
def test_circles(kind, factor):
    """Textbook factors of a round normal error, √(−2 ln(1−P)); common practice, no source."""
    assert 1000.0 / circle_sigma_m(1000.0, kind) == pytest.approx(factor, abs=6e-4)


def test_radio_horizon():
    """ITU-R P.526, by the table's coefficients for metres, and for feet and nautical miles."""
    table = "10_radio_horizon_fresnel.csv"
    metric = float(row(table, "Radio-horizon coefficient")["expected"])
    assert radio_horizon_m(16.0, 0.0) == pytest.approx(metric * 4000.0, rel=2e-3)
    feet, _ = numbers(row(table, "Radio-horizon nautical")["expected"])
    assert radio_horizon_m(100 * 0.3048, 0.0) == pytest.approx(feet * 10 * 1852.0, rel=5e-3)
    assert radio_horizon_m(9.0, 4.0) == pytest.approx(
        radio_horizon_m(9.0, 0.0) + radio_horizon_m(0.0, 4.0)
    )


@pytest.mark.parametrize("how", [{"sigma_m": 300.0}, {"log_sd": 0.5}])
def test_a_distance_is_a_density_of_what_was_said(how):
    """Summed over everything that might have been said it is one, the gross part cut at its end."""
    place = ahead(TRUTH, 40.0, 6000.0)

    def density(said):
        report = Range(TRUTH, said, **how)
        return float(np.exp(log_likelihood([report], [place]))[0])

    # A wrong distance is likely anywhere up to twice the support or twice what was said.
    total, _ = integrate.quad(density, 1.0, 40e3, points=[6000.0], limit=400)
    assert total == pytest.approx(1.0, abs=5e-3)


def test_the_error_of_the_observer_widens_a_distance():
    report = Range(TRUTH, 5000.0, sigma_m=300.0, observer_sigma_m=400.0, p_gross=0.0)
    places = [ahead(TRUTH, 10.0, d) for d in (4000.0, 5000.0, 5600.0)]
    ours = np.exp(log_likelihood([report], places))
    theirs = stats.norm.pdf([1000.0, 0.0, -600.0], scale=500.0)
    np.testing.assert_allclose(ours, theirs, rtol=1e-4)


def test_a_circle_and_a_square_are_densities_of_the_place():
    """Their sum over the ground is one; the square's own ground holds nearly all of it."""
    square = reading("32T MT 2407 0556")[0].square  # 10 m would be too small to sum: 10 m side
    wide = reading("32T MT 24 05")[0].square  # 1 km
    step = 50.0
    x, y = (g.ravel() for g in np.meshgrid(*[np.arange(-4000.0, 4000.0, step)] * 2))
    for report, middle in (
        (Sighting(wide.centre, 300.0, p_gross=0.0), wide.centre),
        (Sighting(wide, p_gross=0.0), wide.centre),
        (Sighting(square, 200.0, p_gross=0.0), square.centre),
    ):
        chart = chart_at(middle)
        model, _ = model_of(chart, [report], 20e3)
        points = chart.lift(x, y)
        value = np.exp(model.log_likelihood(points, np.zeros(x.size))[0])
        assert value.sum() * step**2 == pytest.approx(1.0, abs=0.02)
        if report.sigma_m == 0.0:
            lat, lon = chart.latlon_deg(x, y)
            east, north, *_ = np.array([(p.lon_deg, p.lat_deg) for p in wide.corners])[0:2]
            inside = (lon >= min(c.lon_deg for c in wide.corners)) & (
                lon <= max(c.lon_deg for c in wide.corners)
            )
            inside &= (lat >= min(c.lat_deg for c in wide.corners)) & (
                lat <= max(c.lat_deg for c in wide.corners)
            )
            assert value[inside].sum() * step**2 > 0.95
            assert east.size == north.size


def test_heard_and_not_heard_are_all_there_is():
    places = [ahead(TRUTH, 70.0, d) for d in (500.0, 5000.0, 15_000.0, 19_000.0)]
    chances = [
        np.exp(log_likelihood([Listening(TRUTH, heard, 8000.0)], places)) for heard in (True, False)
    ]
    # But for the floor that keeps one wrong watch from ruling anything out, 2 % each way.
    np.testing.assert_allclose(chances[0] + chances[1], 1.0, atol=0.02)
    assert (np.diff(chances[0]) < 0).all()
    # At the nominal distance half of them hear it.
    half = np.exp(log_likelihood([Listening(TRUTH, True, 8000.0)], [ahead(TRUTH, 0.0, 8000.0)]))
    assert half[0] == pytest.approx(0.49, abs=0.01)


def test_two_watches_share_how_far_the_signal_carries():
    """The common scale is summed over finely here, over five nodes there."""
    watches = [
        Listening(ahead(TRUTH, b, 6000.0), heard, 8000.0) for b, heard in ((0, True), (90, False))
    ]
    places = [TRUTH, ahead(TRUTH, 45.0, 4000.0), ahead(TRUTH, 0.0, 9000.0)]
    scale = np.linspace(-4.0, 4.0, 2001)
    weight = stats.norm.pdf(scale) * (scale[1] - scale[0])
    for place, ours in zip(places, np.exp(log_likelihood(watches, places)), strict=True):
        product = np.ones_like(scale)
        for watch in watches:
            d = distance(watch.observer, place)
            heard = 0.98 / (1 + np.exp((math.log(d / 8000.0) - 0.5 * scale) / 0.4))
            product *= np.maximum(heard if watch.heard else 1 - heard, 0.02)
        assert ours == pytest.approx(float(product @ weight), rel=0.02)


def test_low_antennas_are_not_heard_beyond_their_horizon():
    low = Listening(TRUTH, True, 30_000.0, antenna_m=1.5, target_antenna_m=0.2)
    assert low.half_heard_m == pytest.approx(radio_horizon_m(1.5, 0.2))
    assert replace(low, antenna_m=400.0).half_heard_m == 30_000.0


def test_a_silent_target_makes_not_heard_say_little():
    near = [ahead(TRUTH, 0.0, 1000.0)]
    always = np.exp(log_likelihood([Listening(TRUTH, False, 8000.0)], near))
    seldom = np.exp(log_likelihood([Listening(TRUTH, False, 8000.0, p_transmitting=0.3)], near))
    assert always[0] < 0.06
    assert seldom[0] > 0.69


def test_a_shared_error_is_summed_over():
    """Three bearings with one common error of 5°, by quadrature over it."""
    places = [ahead(TRUTH, b, 4000.0) for b in (180.0, 200.0, 220.0)]
    common = CommonError("compass", 5.0)
    bearings = [
        Bearing(p, azimuth(p, TRUTH) + e, 2.0, common=common, exact=True)
        for p, e in zip(places, (4.0, 5.0, 3.0), strict=True)
    ]
    targets = [TRUTH, ahead(TRUTH, 30.0, 700.0), ahead(TRUTH, 280.0, 400.0)]
    shared = np.linspace(-25.0, 25.0, 4001)
    weight = stats.norm.pdf(shared, scale=5.0) * (shared[1] - shared[0])
    for target, ours in zip(targets, log_likelihood(bearings, targets), strict=True):
        product = np.ones_like(shared)
        for each in bearings:
            angle, _ = off(each.observer, each.bearing_true_deg, [target.lat_deg], [target.lon_deg])
            product *= mixture(angle - shared, 2.0)
        assert ours == pytest.approx(math.log(float(product @ weight)), abs=0.02)


def test_an_assumed_error_is_weighed_with_its_factor():
    place = ahead(TRUTH, 180.0, 5000.0)
    bearings = [Bearing(place, e, 5.0, sigma_stated=False, exact=True) for e in (12.0, -9.0)]
    scales = np.array([0.4, 0.55, 0.75, 1.0, 1.35, 1.8, 2.5, 3.4])
    weights = np.exp(-0.5 * (np.log(scales) / 0.5) ** 2)
    weights /= weights.sum()
    expected = sum(
        w * mixture(12.0, 5.0 * s) * mixture(-9.0, 5.0 * s)
        for w, s in zip(weights, scales, strict=True)
    )
    (ours,) = log_likelihood(bearings, [TRUTH])
    assert ours == pytest.approx(math.log(float(expected)), abs=1e-3)


def test_mixed_evidence_on_a_fine_grid():
    """Best point and region of bearings, distances, a place and watches, by plain summation."""
    posts = [ahead(TRUTH, b, 5000.0) for b in (150.0, 210.0)]
    evidence = [
        *(Bearing(p, azimuth(p, TRUTH) + 3.0, 5.0, exact=True) for p in posts),
        Range(ahead(TRUTH, 60.0, 4000.0), 4300.0, sigma_m=400.0),
        Sighting(ahead(TRUTH, 300.0, 600.0), 800.0),
    ]
    answer = fix(evidence, SUPPORT)
    step = 25.0
    axis = np.arange(-4000.0, 4000.0, step) + step / 2
    x, y = (g.ravel() for g in np.meshgrid(axis, axis))
    lon, lat = PLANE(x, y, inverse=True)
    log = np.zeros(x.size)
    for each in evidence[:2]:
        angle, _ = off(each.observer, each.bearing_true_deg, lat, lon)
        log += np.log(mixture(angle, 5.0))
    _, there = off(evidence[2].observer, 0.0, lat, lon)
    log += np.log(0.95 * stats.norm.pdf(4300.0 - there, scale=400.0) + 0.05 / 40e3)
    _, there = off(evidence[3].observer, 0.0, lat, lon)
    round_normal = np.exp(-0.5 * (there / 800.0) ** 2) / (2 * np.pi * 800.0**2)
    log += np.log(0.95 * round_normal + 0.05 / 40e3**2)
    mass = np.exp(log - log.max())
    mass /= mass.sum()
    top = int(mass.argmax())
    assert distance(answer.best, Position(lat[top], lon[top])) < 1.5 * step
    order = np.argsort(-mass)
    cells = int(np.searchsorted(np.cumsum(mass[order]), 0.95)) + 1
    assert answer.regions[1].area_km2 == pytest.approx(cells * step**2 / 1e6, rel=0.03)


def test_ground_weighs_what_is_inside():
    posts = [ahead(TRUTH, b, 5000.0) for b in (150.0, 210.0, 30.0)]
    bearings = [Bearing(p, azimuth(p, TRUTH), 5.0, exact=True) for p in posts]
    west = Polygon(
        tuple(ahead(TRUTH, b, d) for b, d in ((180, 29e3), (0, 29e3), (315, 41e3), (225, 41e3)))
    )

    def share_west(support):
        after = posterior(bearings, support)
        return float(after.leaves.mass[after.leaves.x_m < 0].sum())

    free = share_west(SUPPORT)
    for weight in (0.3, 4.0):
        ours = share_west(replace(SUPPORT, ground=(Ground(west, weight),)))
        assert ours == pytest.approx(weight * free / (weight * free + 1 - free), abs=0.02)
    assert share_west(replace(SUPPORT, ground=(Ground(west, 0.0),))) < 1e-3
    outside = replace(SUPPORT, ground=(Ground(west, 0.0, outside=True),))
    assert share_west(outside) > 0.97


def test_what_moves_is_summed_over_its_velocities():
    """Against a hundred thousand drawn velocities, at the truth and beside it."""
    motion = Motion(0.4)
    posts = [ahead(TRUTH, b, 4000.0) for b in (20.0, 140.0, 260.0)]
    velocity = np.array([0.3, -0.2])
    lags = (1800.0, 900.0, 0.0)
    evidence = []
    for post, lag in zip(posts, lags, strict=True):
        x, y = -velocity * lag
        there = ahead(TRUTH, math.degrees(math.atan2(x, y)), math.hypot(x, y))
        time = NOON - dt.timedelta(seconds=lag)
        evidence.append(Bearing(post, azimuth(post, there), 5.0, time_utc=time, exact=True))
    rng = np.random.default_rng(4)
    drawn = rng.normal(0.0, 0.4, (100_000, 2))
    for target in (TRUTH, ahead(TRUTH, 60.0, 400.0)):
        x0, y0 = PLANE(target.lon_deg, target.lat_deg)
        product = np.ones(len(drawn))
        for each, lag in zip(evidence, lags, strict=True):
            lon, lat = PLANE(x0 - drawn[:, 0] * lag, y0 - drawn[:, 1] * lag, inverse=True)
            angle, _ = off(each.observer, each.bearing_true_deg, lat, lon)
            product *= mixture(angle, 5.0)
        (ours,) = log_likelihood(evidence, [target], motion, 30e3)
        assert ours == pytest.approx(math.log(product.mean()), abs=0.1)


def test_a_walker_is_found_where_it_is_and_not_where_it_was():
    posts = [ahead(TRUTH, b, 4000.0) for b in (20.0, 95.0, 160.0, 230.0, 300.0)]
    evidence = []
    for i, post in enumerate(posts):
        there = ahead(TRUTH, 270.0, 0.8 * (4 - i) * 900.0)  # walks east, arrives at the truth
        time = NOON + dt.timedelta(seconds=900 * i)
        evidence.append(Bearing(post, azimuth(post, there), 3.0, time_utc=time))
    still = fix(evidence, Support(30e3, TRUTH))
    moving = fix(evidence, Support(30e3, TRUTH), motion=default_motion("walker"))
    assert holds(moving.regions[1], TRUTH)
    assert distance(moving.best, TRUTH) < 0.5 * distance(still.best, TRUTH)
    before = fix(
        evidence,
        Support(30e3, TRUTH),
        motion=default_motion("walker"),
        at_utc=NOON + dt.timedelta(seconds=1800),
    )
    middle = ahead(TRUTH, 270.0, 0.8 * 1800.0)
    assert holds(before.regions[1], middle)


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: Range(TRUTH, 0.0), "above 0 m"),
        (lambda: Range(TRUTH, 5.0, sigma_m=1.0, log_sd=0.5), "not both"),
        (lambda: Range(TRUTH, 5.0, p_gross=1.0), "below 1"),
        (lambda: Sighting(TRUTH), "needs an error"),
        (lambda: Listening(TRUTH, True, range_m=-1.0), "above 0 m"),
        (lambda: Listening(TRUTH, True, p_transmitting=0.0), "above 0"),
        (lambda: Ground(Polygon((TRUTH, TRUTH)), 0.0), "three corners"),
        (lambda: CommonError("x", 0.0), "above 0"),
        (lambda: Motion(0.0), "above 0 m/s"),
        (lambda: default_motion("rocket"), "rocket"),
        (lambda: circle_sigma_m(5.0, "r50"), "r50"),
        (lambda: Bearing(TRUTH, 5.0, 5.0, time_utc=dt.datetime(2026, 1, 1)), "zone"),  # noqa: DTZ001
        (lambda: fix([Bearing(TRUTH, 5.0, 5.0)], motion=Motion(1.0)), "no time"),
    ],
)
def test_what_cannot_be_is_refused(make, said):
    with pytest.raises(FormatError, match=said):
        make()


def test_reports_of_every_kind_are_told_one_by_one():
    posts = [ahead(TRUTH, b, 5000.0) for b in (150.0, 210.0, 20.0)]
    answer = fix(
        [
            Range(posts[0], 9000.0, sigma_m=200.0, sender="Meter"),
            *(
                Bearing(p, azimuth(p, TRUTH), 3.0, f"Post {i}", exact=True)
                for i, p in enumerate(posts, 1)
            ),
            Sighting(ahead(TRUTH, 10.0, 9000.0), 300.0, sender="Walker"),
            Listening(posts[2], True, 15e3, sender="Ear"),
        ],
        SUPPORT,
    )
    assert [v.sender for v in answer.bearings] == ["Post 1", "Post 2", "Post 3"]
    assert [(v.kind, v.sender) for v in answer.others] == [
        ("distance", "Meter"),
        ("place", "Walker"),
    ]
    assert answer.others[0].residual_m == pytest.approx(4000.0, abs=200.0)
    assert max(v.p_good for v in answer.others) < 0.05
    said = " ".join(answer.findings)
    assert "Meter gave a distance of 9.0 km" in said
    assert "Walker gave a place" in said


@pytest.mark.parametrize("weight", [0.0, 0.05])
def test_a_region_ends_at_the_edge_of_ground_that_is_ruled_out(weight):
    """True mass of the stated 95 %, on a fine grid, where a straight edge cuts a compact fix."""
    posts = [ahead(TRUTH, b, 4000.0) for b in (180.0, 270.0, 20.0)]
    bearings = [Bearing(p, azimuth(p, TRUTH), 5.0) for p in posts]
    corners = ((30.0, 9000.0), (10.0, 9000.0), (190.0, 9000.0), (150.0, 9000.0))
    polygon = Polygon(tuple(ahead(ahead(TRUTH, 90.0, 60.0), b, d) for b, d in corners))
    answer = fix(bearings, Support(20e3, TRUTH, (Ground(polygon, weight, "the lake"),)))
    after = posterior(bearings, Support(20e3, TRUTH, (Ground(polygon, weight, "the lake"),)))
    step = 12.0
    x, y = (g.ravel() for g in np.meshgrid(*[np.arange(-3500.0, 3500.0, step)] * 2))
    points = after.chart.lift(x, y)
    log, _ = after.still_model.log_likelihood(points, np.zeros(x.size))
    mass = np.exp(log - log.max())
    mass *= 1.0 / mass.sum()
    lat, lon = after.chart.latlon_deg(x, y)
    held = shapely.contains_xy(shape_of(answer.regions[1]), lon, lat)
    # What lies beyond this grid is less than 2 %: the chances of wrong bearings.
    near = after.leaves.mass[
        np.maximum(np.abs(after.leaves.x_m), np.abs(after.leaves.y_m)) < 3500.0
    ].sum()
    assert near > 0.9
    far_share = sum(
        piece.share for piece in answer.regions[1].pieces if distance(piece.best, TRUTH) > 3500.0
    )
    assert mass[held].sum() * near + far_share == pytest.approx(0.95, abs=0.006)
