"""A stated probability is tested as one: seeded simulation, binomial bounds."""

import math

import numpy as np
import pytest
from fix_families import (
    BY_NAME,
    MORE_FAMILIES,
    TRUTH,
    Family,
    azimuth,
    bound_matrix_m2,
    distance,
    fixed_truth,
    from_the_model,
    holds,
)
from fix_rivals import least_squares_ellipse, middle_of_crossings

from plotter.fix import Bearing, fix
from plotter.fix.chart import chart_at
from plotter.fix.likelihood import bearing_model
from plotter.fix.posterior import posterior
from plotter.fix.region import densest_first, densest_leaves

FAMILIES = [
    BY_NAME[name] for name in ("good cross", "narrow base", "two bearings", "sigma 15°, 2–20 km")
] + [f for f in MORE_FAMILIES if f.supposed_radius_m is None and f.declared]


def within(count, trials, probability):
    """Four standard errors of a binomial: a right program fails once in 16 000."""
    error = math.sqrt(probability * (1.0 - probability) / trials)
    return abs(count / trials - probability) < 4.0 * error


@pytest.mark.parametrize("family", FAMILIES, ids=lambda f: f.name)
def test_stated_probabilities_hold_over_the_prior(family):
    """Truth from the prior, data from the model: calibration as in Talts et al. 2018."""
    rng = np.random.default_rng(11)
    trials = 100 if family.motion is None else 40
    inside = np.zeros(2, dtype=int)
    for _ in range(trials):
        truth, evidence = from_the_model(family, rng)
        answer = fix(evidence, family.support, motion=family.motion)
        inside += [holds(region, truth) for region in answer.regions]
    assert within(inside[0], trials, 0.50)
    assert within(inside[1], trials, 0.95)


@pytest.mark.parametrize("name", ["good cross", "one reciprocal of 4"])
def test_error_of_the_best_point_is_near_its_bound(name):
    """The bound leaves out the spoiled bearing's own loss, hence the room above."""
    family = BY_NAME[name]
    rng = np.random.default_rng(12)
    trials, hits, squares = 80, 0, []
    for _ in range(trials):
        answer = fix(fixed_truth(family, rng), family.support_off_centre)
        hits += holds(answer.regions[1], TRUTH)
        squares.append(distance(answer.best, TRUTH) ** 2)
    ratio = math.sqrt(np.mean(squares) / np.trace(bound_matrix_m2(family)))
    # Standard error of an RMSE of two components over 80 trials is about 6 %.
    assert 0.8 < ratio < 1.25
    # Fixed truth, fewer bad bearings than the model allows: .95 or above.
    assert hits / trials > 0.95 - 4.0 * math.sqrt(0.95 * 0.05 / trials)


@pytest.mark.parametrize("name", ["narrow base", "good cross"])
def test_regions_hold_the_mass_they_claim(name):
    """The same grid's leaves, each integrated by 8 × 8 bare points, against 0.95 and 0.50.

    Sharper than counting: a coarse cell in the flank of a ridge stands for less than its mean, and
    the region then claims too much. Stated as 0.1 % of the narrow base, 0.05 % elsewhere.
    """
    family = BY_NAME[name]
    rng = np.random.default_rng(13)
    held = []
    for _ in range(4):
        _, bearings = from_the_model(family, rng)
        after = posterior(bearings, family.support)
        leaves = after.leaves
        steps = (np.arange(8) + 0.5) / 4.0 - 1.0
        dx, dy = (g.ravel() for g in np.meshgrid(steps, steps))
        half = leaves.half_side_m[:, None]
        points = after.chart.lift(
            (leaves.x_m[:, None] + half * dx).ravel(), (leaves.y_m[:, None] + half * dy).ravel()
        )
        value, _ = after.model.log_likelihood(points, np.zeros(points.shape[1]))
        mass = np.exp(value - value.max()).reshape(half.size, -1).mean(axis=1) * leaves.area_m2
        mass /= mass.sum()
        order = densest_first(leaves)
        held.append([mass[densest_leaves(order, leaves.mass, p)].sum() for p in (0.5, 0.95)])
    assert np.mean(held, axis=0) == pytest.approx([0.5, 0.95], abs=0.002)


@pytest.mark.parametrize(("count", "inside"), [(3, 0.25), (4, 0.5), (5, 0.6875)])
def test_outer_figure_of_unbiased_lines_holds_the_place_as_seldom_as_published(count, inside):
    """Daniels 1951, by way of Stuart 2019: 1 − n/2^(n−1).

    The place is outside when some direction leads away without crossing a line, that is, when the
    lines' normals, each turned to the side where the place lies, leave a gap of half a circle.
    """
    rng = np.random.default_rng(14)
    trials, sigma_deg = 4000, 1.0
    chart = chart_at(TRUTH)
    angles = 17.0 + 360.0 * np.arange(count) / count
    family = Family("ring", tuple((5000.0, float(a)) for a in angles), sigma_deg, 30e3)
    observers = family.observers
    exact = bearing_model(chart, [Bearing(o, 0.0, sigma_deg) for o in observers])
    here = chart.points([TRUTH])
    # Bearing zero: minus the residual is the azimuth.
    azimuth = -exact.residuals_rad(here)[0][:, 0]
    held = 0
    for _ in range(trials):
        said = np.degrees(azimuth) + rng.normal(0.0, sigma_deg, count)
        model = bearing_model(
            chart, [Bearing(o, s, sigma_deg) for o, s in zip(observers, said, strict=True)]
        )
        residual = model.residuals_rad(here)[0][:, 0]
        normals = np.sort((azimuth + np.sign(residual) * 0.5 * np.pi) % (2.0 * np.pi))
        gaps = np.diff(np.append(normals, normals[0] + 2.0 * np.pi))
        held += gaps.max() < np.pi
    assert within(held, trials, inside)


@pytest.mark.parametrize(
    ("name", "least"), [("one gross error of 6", 0.90), ("one reciprocal of 4", 0.95)]
)
def test_wrong_bearings_are_named_and_sound_ones_are_not_blamed(name, least):
    """A small seeded version of the benchmark's table, with room of three binomial errors."""
    family = BY_NAME[name]
    rng = np.random.default_rng(21)
    faults = named = sound = blamed = 0
    for _ in range(60):
        evidence = fixed_truth(family, rng)
        for bearing, verdict in zip(evidence, fix(evidence, family.support).bearings, strict=True):
            true_deg = azimuth(bearing.observer, TRUTH)
            off = abs((bearing.bearing_true_deg - true_deg + 180.0) % 360.0 - 180.0)
            if off > 4 * family.sigma_deg:
                faults += 1
                named += verdict.p_good < 0.5
            elif off < 3 * family.sigma_deg:
                sound += 1
                blamed += verdict.p_good < 0.5
    assert faults > 40
    assert named / faults > least - 3 * math.sqrt(least * (1 - least) / faults)
    assert blamed / sound < 0.02 + 3 * math.sqrt(0.02 * 0.98 / sound)


def test_the_families_beside_what_one_would_do_otherwise():
    """With a gross error among six the others are off by more than twice as far."""
    family = BY_NAME["one gross error of 6"]
    rng = np.random.default_rng(22)
    errors = {"fix": [], "middle": [], "squares": []}
    for _ in range(40):
        evidence = fixed_truth(family, rng)
        errors["fix"].append(distance(fix(evidence, family.support).best, TRUTH))
        errors["middle"].append(distance(middle_of_crossings(evidence, TRUTH)[0], TRUTH))
        errors["squares"].append(distance(least_squares_ellipse(evidence, TRUTH)[0], TRUTH))
    median = {name: np.median(each) for name, each in errors.items()}
    assert 2 * median["fix"] < min(median["middle"], median["squares"])
