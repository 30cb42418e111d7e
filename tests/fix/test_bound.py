import math
import re

import numpy as np
import pytest
from check_values import rows
from fix_families import BY_NAME, FAMILIES, TRUTH, ahead, azimuth, bound_matrix_m2
from scipy import stats

from plotter.errors import FormatError
from plotter.fix import Bearing, ErrorEllipse
from plotter.fix.bound import (
    chi_square_tail,
    circle_radius_m,
    ellipse_scale,
    error_ellipse,
    information,
    least_chi_square,
)
from plotter.fix.chart import chart_at
from plotter.fix.likelihood import bearing_model

TABLE = rows("08_bearings_intersection_fix.csv")


def cases(start):
    return [pytest.param(row, id=row["case"]) for row in TABLE if row["case"].startswith(start)]


def figures(text):
    return [float(number) for number in re.findall(r"-?\d+(?:\.\d+)?", text)]


def exact_bearings(stations, sigma_deg, **kwargs):
    observers = [ahead(TRUTH, b, d) for d, b in stations]
    return [Bearing(o, azimuth(o, TRUTH) % 360.0, sigma_deg, **kwargs) for o in observers]


@pytest.mark.parametrize("row", cases("Ellipse scale"))
def test_ellipse_scale(row):
    percent = figures(row["inputs"])[0]
    assert ellipse_scale(percent / 100) == pytest.approx(
        figures(row["expected"])[0], abs=float(row["tolerance"])
    )


@pytest.mark.parametrize("row", cases("Probability in k-sigma"))
def test_probability_in_the_k_sigma_ellipse(row):
    for k, probability in zip(figures(row["inputs"]), figures(row["expected"]), strict=True):
        # The printed probability is rounded to 5e-5; dk/dP = 1/(k e^(−k²/2)).
        slack = float(row["tolerance"]) / (k * math.exp(-0.5 * k * k))
        assert ellipse_scale(probability) == pytest.approx(k, abs=slack)


@pytest.mark.parametrize("row", cases("Two lines of position"))
def test_semi_axes_of_two_lines_of_position(row):
    cut_deg = figures(row["case"])[0]
    a, b, drms = figures(row["expected"])
    reach, sigma_deg = 1000.0, 0.01
    unit_m = reach * math.radians(sigma_deg)
    ellipse = error_ellipse(exact_bearings([(reach, 0.0), (reach, cut_deg)], sigma_deg), TRUTH)
    tolerance = float(row["tolerance"])
    assert ellipse.semi_major_m / unit_m == pytest.approx(a, abs=tolerance)
    assert ellipse.semi_minor_m / unit_m == pytest.approx(b, abs=tolerance)
    both = math.hypot(ellipse.semi_major_m, ellipse.semi_minor_m) / unit_m
    assert both == pytest.approx(drms, abs=tolerance)
    # The long axis halves the acute cut.
    assert ellipse.orientation_true_deg == pytest.approx(cut_deg / 2, abs=0.01) or cut_deg == 90


@pytest.mark.parametrize("row", cases("CEP and R95"))
def test_circles_about_an_ellipse(row):
    long, short = figures(row["inputs"])
    cep, r95, rule = figures(row["expected"].replace("R95", "").replace("(0.75*drms)/CEP", ""))
    ellipse = ErrorEllipse(long, short, 0.0)
    # Two of the rows print one figure less than the tolerance asks for in the ratio.
    assert circle_radius_m(ellipse, 0.5) == pytest.approx(cep, abs=1e-4)
    assert circle_radius_m(ellipse, 0.95) == pytest.approx(r95, abs=1e-4)
    assert 0.75 * math.hypot(long, short) / circle_radius_m(ellipse, 0.5) == pytest.approx(
        rule, abs=1e-3
    )


@pytest.mark.parametrize("row", cases("Radial probabilities"))
def test_radial_probabilities(row):
    """Bowditch by way of the table: what drms and 2 drms hold, from a circle to a line."""
    expected = iter(figures(row["expected"].replace("2drms", "")))
    for k in (1.0, 2.0):
        for ratio in (1.0, 1e-3):
            held = next(expected) / 100
            radius = circle_radius_m(ErrorEllipse(1.0, ratio, 0.0), held)
            near = [circle_radius_m(ErrorEllipse(1.0, ratio, 0.0), held + d) for d in (-1e-3, 1e-3)]
            assert near[0] < k * math.hypot(1.0, ratio) < near[1], radius


@pytest.mark.parametrize("row", cases("Bearing 1 deg error"))
def test_one_degree_at_ten_kilometres(row):
    """The table gives d tan 1°; the bound is linear, d × 1° in radians, which is 0.02 m less."""
    lateral = figures(row["expected"])[0]
    ellipse = error_ellipse(exact_bearings([(10e3, 0.0), (10e3, 90.0)], 1.0), TRUTH)
    linear = math.radians(1.0) / math.tan(math.radians(1.0))
    assert ellipse.semi_major_m == pytest.approx(lateral * linear, abs=0.01)


def test_good_cross_by_hand():
    """Analytic: RMSE σd√1.5 = 534.4 m, 95 % area 5.991 π (σd)²/√2 = 2.534 km²."""
    family = BY_NAME["good cross"]
    ellipse = error_ellipse(exact_bearings(family.stations, family.sigma_deg), TRUTH)
    rmse = math.hypot(ellipse.semi_major_m, ellipse.semi_minor_m)
    area = math.pi * ellipse.semi_major_m * ellipse.semi_minor_m * ellipse_scale(0.95) ** 2
    assert rmse == pytest.approx(534.4, abs=0.05)
    assert area / 1e6 == pytest.approx(2.534, abs=0.0005)


@pytest.mark.parametrize("family", FAMILIES, ids=lambda f: f.name)
def test_bound_against_finite_differences_of_geodesics(family):
    ours = information(exact_bearings(family.stations, family.sigma_deg), TRUTH)
    theirs = np.linalg.inv(bound_matrix_m2(family))
    # The geodesic's reduced length differs from the chord by (d/R)²/6, 0.1 % at 500 km.
    np.testing.assert_allclose(ours, theirs, rtol=2e-3, atol=2e-3 * np.abs(theirs).max())


def test_determinant_obeys_bishops_bound():
    """Bishop et al. 2010, formula from memory: det J ≤ (Σ 1/(σd)²)²/4, equal at 120°."""
    rng = np.random.default_rng(4)

    def ratio(stations):
        j = information(exact_bearings(stations, 2.0), TRUTH)
        total = sum(1.0 / (math.radians(2.0) * d) ** 2 for d, _ in stations)
        return np.linalg.det(j) / (0.25 * total**2)

    assert ratio([(4e3, b) for b in (10.0, 130.0, 250.0)]) == pytest.approx(1.0, abs=1e-5)
    for _ in range(50):
        distances, angles = rng.uniform(1e3, 9e3, 3), rng.uniform(0.0, 360.0, 3)
        assert ratio(list(zip(distances, angles, strict=True))) < 1.0 + 1e-5


def test_observer_error_enlarges_the_ellipse():
    stations = [(2000.0, 0.0), (2000.0, 90.0)]
    unsure = error_ellipse(exact_bearings(stations, 1.0, observer_sigma_m=100.0), TRUTH)
    expected = math.hypot(2000.0 * math.radians(1.0), 100.0)
    assert unsure.semi_major_m == pytest.approx(expected, rel=1e-4)


def test_no_ellipse_where_a_direction_stays_open():
    assert error_ellipse(exact_bearings([(2000.0, 45.0)], 5.0), TRUTH) is None
    assert error_ellipse([Bearing(TRUTH, 10.0, 5.0), Bearing(TRUTH, 50.0, 5.0)], TRUTH) is None


def test_chi_square_tail_against_scipy():
    for dof in range(1, 12):
        for chi2 in (0.0, 0.01, 0.5, 3.0, 11.3, 80.0):
            assert chi_square_tail(chi2, dof) == pytest.approx(stats.chi2.sf(chi2, dof), abs=1e-12)
    assert chi_square_tail(5.0, 0) == 1.0


def test_least_chi_square_follows_its_distribution():
    """n − 2 degrees of freedom: mean and 95 % point over seeded scenes, binomial bound."""
    rng = np.random.default_rng(5)
    family = BY_NAME["long 500 km, 3°"]
    chart = chart_at(TRUTH)
    exact = exact_bearings(family.stations, family.sigma_deg)
    values = []
    for _ in range(400):
        noisy = [Bearing(b.observer, b.bearing_true_deg + rng.normal(0.0, 3.0), 3.0) for b in exact]
        values.append(least_chi_square(chart, bearing_model(chart, noisy), 0.0, 0.0)[0])
    assert np.mean(values) == pytest.approx(2.0, abs=4 * 2.0 / 20.0)
    above = np.mean(np.array(values) > stats.chi2.isf(0.05, 2))
    assert above == pytest.approx(0.05, abs=4 * math.sqrt(0.05 * 0.95 / 400))


def test_impossible_probability_is_refused():
    with pytest.raises(FormatError, match=r"1\.0"):
        ellipse_scale(1.0)
