import dataclasses
import itertools
import math
from types import SimpleNamespace

import numpy as np
import pytest
from fix_families import BY_NAME, TRUTH, ahead, azimuth, bound_matrix_m2, distance, fixed_truth
from scipy.integrate import quad
from scipy.stats import spearmanr

from plotter.errors import FormatError, GeometryError
from plotter.fix import Bearing, fix
from plotter.fix.chart import chart_at
from plotter.fix.next_area import _outcomes, areas_after, present_area_km2
from plotter.fix.next_place import next_places, outcomes_at
from plotter.fix.next_report import NextReport
from plotter.fix.posterior import posterior
from plotter.fix.reachable import Candidate, Reach, anywhere, named

CHART = chart_at(TRUTH)


def only_here(points_m, masses):
    """A posterior of a few points: only what the advice may look at."""
    x, y = np.array(points_m, dtype=float).T
    mass = np.array(masses) / sum(masses)
    small = np.full(x.size, 1e-6)
    leaves = SimpleNamespace(
        x_m=x, y_m=y, half_side_m=small, mass=mass, area_m2=small, log_density=np.log(mass)
    )
    return SimpleNamespace(chart=CHART, leaves=leaves)


def mixture(off_rad, sigma_rad, report):
    """The stated density of a bearing, written out again: normals cut to the circle."""
    inside = math.erf(math.pi / (sigma_rad * math.sqrt(2.0)))

    def bell(r):
        return math.exp(-0.5 * (r / sigma_rad) ** 2) / (sigma_rad * math.sqrt(2 * math.pi) * inside)

    off = abs((off_rad + math.pi) % (2 * math.pi) - math.pi)
    good = 1 - report.p_gross - report.p_reciprocal
    back = report.p_reciprocal * bell(math.pi - off)
    return good * bell(off) + back + report.p_gross / (2 * math.pi)


def lindley_bits(points_m, masses, place, report):
    """Lindley 1956 (from memory): Σ w ∫ p(z|x) log(p(z|x)/p(z)) dz, by adaptive quadrature."""
    weights = np.array(masses) / sum(masses)
    true, sigma, heard = [], [], []
    for x, y in points_m:
        there = CHART.position(x, y)
        away = distance(place, there)
        true.append(math.radians(azimuth(place, there)))
        own = report.observer_sigma_m / away
        sigma.append(math.hypot(math.radians(report.sigma_deg), own))
        # The logistic of the docstring, its constants written out again.
        heard.append(
            1.0
            if report.hearing_range_m is None
            else 0.02 + 0.96 / (1 + math.exp(math.log(away / report.hearing_range_m) / 0.49))
        )

    def likelihoods(z):
        return [p * mixture(z - t, s, report) for t, s, p in zip(true, sigma, heard, strict=True)]

    def told(z):
        each = likelihoods(z)
        together = float(weights @ each)
        return sum(w * p * math.log2(p / together) for w, p in zip(weights, each, strict=True))

    corners = sorted(
        {(t + k * s + turn + math.pi) % (2 * math.pi) - math.pi
         for t, s in zip(true, sigma, strict=True) for k in (-4, -1, 0, 1, 4)
         for turn in (0, math.pi)}
    )  # fmt: skip
    edges = [-math.pi, *corners, math.pi]
    bits = sum(quad(told, a, b)[0] for a, b in itertools.pairwise(edges) if b > a)
    silent = 1.0 - np.array(heard)
    for w, p in zip(weights, silent, strict=True):
        bits += w * p * math.log2(p / float(weights @ silent)) if p > 0 else 0.0
    return bits


POINTS = [(0.0, 0.0), (900.0, 400.0), (-1500.0, 2500.0)]
MASSES = [0.5, 0.3, 0.2]


@pytest.mark.parametrize(
    "report",
    [
        NextReport(6.0, 0.0),
        NextReport(2.0, 0.0),
        NextReport(20.0, 0.0),
        NextReport(70.0, 0.0),
        NextReport(6.0, 0.0, 4e3),
        NextReport(6.0, 0.0, None, p_reciprocal=0.48, p_gross=0.04),
    ],
    ids=str,
)
@pytest.mark.parametrize("bearing", [0.0, 77.0, 180.0, 260.0])
def test_information_is_lindleys(report, bearing):
    place = ahead(TRUTH, bearing, 5e3)
    found = outcomes_at(
        only_here(POINTS, MASSES), [Candidate(place)], report, rng=np.random.default_rng(1)
    )
    expected = lindley_bits(POINTS, MASSES, place, report)
    # A bin is an eighth of a sigma; bare points feel its rounding more than any region.
    assert found.information_bits[0] == pytest.approx(expected, abs=0.02)
    assert found.heard.sum() + found.silent.sum() == pytest.approx(1.0, abs=1e-9)


def test_a_finer_bearing_has_finer_bins_and_its_information_stays_lindleys():
    place = ahead(TRUTH, 90.0, 40e3)
    report = NextReport(0.5, 0.0)
    assert report.bins == 2880
    found = outcomes_at(
        only_here(POINTS, MASSES), [Candidate(place)], report, rng=np.random.default_rng(1)
    )
    assert found.information_bits[0] == pytest.approx(
        lindley_bits(POINTS, MASSES, place, report), abs=0.02
    )


def test_the_listeners_own_error_costs_what_lindley_says():
    place = ahead(TRUTH, 200.0, 2e3)
    report = NextReport(5.0, 300.0)
    found = outcomes_at(
        only_here(POINTS, MASSES), [Candidate(place)], report, rng=np.random.default_rng(1)
    )
    # Samples stand for the listener's error here: 1 500 of them leave a few hundredths of a bit.
    expected = lindley_bits(POINTS, MASSES, place, report)
    assert found.information_bits[0] == pytest.approx(expected, abs=0.06)
    sure = lindley_bits(POINTS, MASSES, place, NextReport(5.0, 0.0))
    assert sure > expected + 0.1


def test_a_known_place_leaves_nothing_to_be_told():
    found = outcomes_at(
        only_here([(0.0, 0.0), (1e-3, 0.0)], [1, 1]),
        [Candidate(ahead(TRUTH, b, 3e3)) for b in range(0, 360, 7)],
        NextReport(6.0, 0.0),
        rng=np.random.default_rng(1),
    )
    assert np.abs(found.information_bits).max() < 1e-6


def test_the_best_third_bearing_is_that_of_d_optimality():
    """Bishop et al. 2010: a compact fix shrinks most where det of the Fisher matrix grows most.

    The matrix is by finite differences of geodesic azimuths, the determinant grows by
    1 + t'C t/(σ d)² with t across the line of sight.
    """
    family = BY_NAME["two bearings"]
    truth_seen = [
        Bearing(o, azimuth(o, TRUTH) % 360.0, 1.0, p_gross=1e-6, p_reciprocal=1e-6, exact=True)
        for o in family.observers
    ]
    after = posterior(truth_seen, family.support)
    bound = bound_matrix_m2(dataclasses.replace(family, sigma_deg=1.0))
    rng = np.random.default_rng(8)
    candidates, gains = [], []
    for _ in range(150):
        bearing_deg, away = rng.uniform(0, 360), rng.uniform(2e3, 8e3)
        candidates.append(Candidate(ahead(TRUTH, bearing_deg, away)))
        across = np.array(
            [math.cos(math.radians(bearing_deg)), -math.sin(math.radians(bearing_deg))]
        )
        gains.append(1.0 + across @ bound @ across / (math.radians(3.0) * away) ** 2)
    found = outcomes_at(after, candidates, NextReport(3.0, 0.0), rng=rng)
    assert spearmanr(found.information_bits, gains).statistic > 0.99
    order = np.argsort(gains)[::-1]
    assert int(found.information_bits.argmax()) in order[:3].tolist()
    # A normal posterior: half the logarithm of the growth, less what the 7 % bad ones cost.
    best = 0.5 * math.log2(max(gains))
    assert 0.75 * best < found.information_bits.max() < best


def looked_at_from(place, name="good cross"):
    family = BY_NAME[name]
    bearings = fixed_truth(family, np.random.default_rng(3))
    after = posterior(bearings, family.support_off_centre)
    report = NextReport(5.0, 0.0)
    heard = outcomes_at(after, [Candidate(place)], report, rng=np.random.default_rng(5)).heard[0]

    def area_of_a_new_fix(bearing_deg):
        new = [*bearings, Bearing(place, bearing_deg % 360.0, 5.0, exact=True)]
        return fix(new, family.support_off_centre).regions[1].area_km2

    return areas_after(after, place, report, heard, 0.0), heard, area_of_a_new_fix


@pytest.mark.parametrize("where", [(120.0, 1500.0), (20.0, 9e3)])
def test_cells_weighted_anew_have_the_area_of_new_fixes(where):
    (mean_km2, median_km2), heard, area = looked_at_from(ahead(TRUTH, *where))
    bearings, shares = _outcomes(heard)
    areas = np.array([area(math.degrees(bearing)) for bearing in bearings])
    assert shares.sum() == pytest.approx(1.0)
    assert mean_km2 == pytest.approx(shares @ areas, rel=0.03)
    assert median_km2 == pytest.approx(np.quantile(np.repeat(areas, _parts(shares)), 0.5), rel=0.05)


def _parts(shares):
    return np.rint(1000 * shares).astype(int)


def test_few_outcomes_stand_for_all():
    """The mean over 96 equally likely bearings, each by a whole new fix."""
    (mean_km2, median_km2), heard, area = looked_at_from(ahead(TRUTH, 20.0, 9e3))
    held = np.cumsum(heard)
    said = np.searchsorted(held, (np.arange(96) + 0.5) / 96 * held[-1]) * (360.0 / heard.size)
    areas = [area(float(bearing)) for bearing in said]
    assert mean_km2 == pytest.approx(np.mean(areas), rel=0.15)
    assert median_km2 == pytest.approx(np.median(areas), rel=0.1)


def test_the_present_area_is_that_of_the_fix():
    for name in ("good cross", "two bearings", "two near-parallel"):
        family = BY_NAME[name]
        bearings = fixed_truth(family, np.random.default_rng(4))
        after = posterior(bearings, family.support_off_centre)
        area = fix(bearings, family.support_off_centre).regions[1].area_km2
        assert present_area_km2(after) == pytest.approx(area, rel=0.005)


def test_the_advised_place_beats_random_ones():
    """Simulation as in tests/benchmarks/test_next_gain.py, small: factors from whole new fixes."""
    family = BY_NAME["narrow base"]
    candidates = anywhere(Reach(family.observers[0], 10e3))
    advised, at_random = [], []
    for trial in range(6):
        rng = np.random.default_rng([10, trial])
        bearings = fixed_truth(family, rng)
        after = posterior(bearings, family.support_off_centre)
        best = next_places(after, candidates, rng=rng, sigma_deg=3.0).places[0].position
        other = candidates[int(rng.integers(len(candidates)))].position
        error = rng.normal(0.0, 3.0)
        for place, factors in ((best, advised), (other, at_random)):
            new = Bearing(place, (azimuth(place, TRUTH) + error) % 360.0, 3.0, exact=True)
            now = posterior([*bearings, new], family.support_off_centre)
            factors.append(present_area_km2(now) / present_area_km2(after))
    assert np.mean(np.log(advised)) < np.mean(np.log(at_random)) - math.log(1.5)


def test_the_same_seed_gives_the_same_advice_and_points_lie_apart():
    family = BY_NAME["two bearings"]
    after = posterior(fixed_truth(family, np.random.default_rng(2)), family.support)
    reach = Reach(family.observers[0], 8e3)
    first, second = (
        next_places(after, anywhere(reach), rng=np.random.default_rng(11)) for _ in range(2)
    )
    assert first == second
    assert first.reason == ""
    assert len(first.places) == 5
    both = [place.expected_area_km2 * place.median_area_km2 for place in first.places]
    assert both == sorted(both)
    assert first.places[0].expected_area_km2 < 0.5 * first.present_area_km2
    for i, one in enumerate(first.places):
        assert one.p_heard == 1.0
        for other in first.places[:i]:
            assert distance(one.position, other.position) > 1.5e3


def test_names_are_kept_however_near():
    family = BY_NAME["two bearings"]
    after = posterior(fixed_truth(family, np.random.default_rng(2)), family.support)
    places = [("Mill", ahead(TRUTH, 90, 3e3)), ("Mill bridge", ahead(TRUTH, 91, 3e3)),
              ("Far", ahead(TRUTH, 0, 20e3))]  # fmt: skip
    advice = next_places(after, named(places), rng=np.random.default_rng(1), count=2)
    assert {place.name for place in advice.places} == {"Mill", "Mill bridge"}


def test_nothing_helps_along_the_lines_themselves_and_says_why():
    family = BY_NAME["two near-parallel"]
    bearings = [Bearing(o, azimuth(o, TRUTH) % 360, 8.0, exact=True) for o in family.observers]
    after = posterior(bearings, family.support)
    beside = anywhere(Reach(ahead(TRUTH, 180.0, 20e3), 1e3))
    advice = next_places(after, beside, rng=np.random.default_rng(1), sigma_deg=15.0)
    assert "look for places" in advice.reason
    assert advice.places[0].expected_area_km2 > 0.8 * advice.present_area_km2
    to_the_side = anywhere(Reach(ahead(TRUTH, 90.0, 15e3), 1e3))
    assert next_places(after, to_the_side, rng=np.random.default_rng(1), sigma_deg=8.0).reason == ""


def test_nothing_helps_a_small_fix_from_far_away():
    family = BY_NAME["good cross"]
    after = posterior(fixed_truth(family, np.random.default_rng(2)), family.support)
    far = [Candidate(ahead(TRUTH, 45.0, 60e3), "Far hill")]
    advice = next_places(after, far, rng=np.random.default_rng(1))
    assert "cannot tell more: look for places nearer" in advice.reason


def test_nothing_helps_where_it_is_not_heard():
    family = BY_NAME["two bearings"]
    after = posterior(fixed_truth(family, np.random.default_rng(2)), family.support)
    far = [Candidate(ahead(TRUTH, 45.0, 80e3), "Far hill")]
    advice = next_places(after, far, rng=np.random.default_rng(1), hearing_range_m=4e3)
    assert advice.places[0].p_heard < 0.2
    assert "not likely to be heard" in advice.reason


def test_the_nearer_place_wins_where_hearing_ends():
    family = BY_NAME["good cross"]
    after = posterior(fixed_truth(family, np.random.default_rng(2)), family.support)
    places = named([("Near", ahead(TRUTH, 45.0, 3e3)), ("Far", ahead(TRUTH, 45.0, 12e3))])
    advice = next_places(after, places, rng=np.random.default_rng(1), hearing_range_m=5e3)
    assert [place.name for place in advice.places] == ["Near", "Far"]
    assert advice.places[0].p_heard > 0.6
    assert advice.places[1].p_heard < 0.2


def test_a_place_on_top_of_it_is_no_trouble():
    after = posterior(
        fixed_truth(BY_NAME["short"], np.random.default_rng(2)), BY_NAME["short"].support
    )
    advice = next_places(after, [Candidate(TRUTH)], rng=np.random.default_rng(1))
    assert math.isfinite(advice.places[0].expected_area_km2)
    assert math.isfinite(advice.places[0].information_bits)


def test_across_180_and_at_the_pole_the_advice_is_that_of_the_same_scene_elsewhere():
    """The scene turned about the Earth's axis must give the same figures."""
    advices = []
    for centre in (Position_at(10.0), Position_at(180.0)):
        observers = [ahead(centre, b, 5e3) for b in (150.0, 210.0)]
        bearings = [Bearing(o, azimuth(o, centre) % 360.0, 5.0) for o in observers]
        advices.append(
            next_places(
                posterior(bearings),
                anywhere(Reach(observers[0], 8e3)),
                rng=np.random.default_rng(1),
            )
        )
    for one, two in zip(advices[0].places, advices[1].places, strict=True):
        assert two.expected_area_km2 == pytest.approx(one.expected_area_km2, rel=1e-3)
        assert two.position.lat_deg == pytest.approx(one.position.lat_deg, abs=1e-7)


def Position_at(lon_deg):  # noqa: N802 - makes one
    return dataclasses.replace(TRUTH, lon_deg=lon_deg)


def test_no_candidate_and_one_out_of_reach_are_named_errors():
    family = BY_NAME["two bearings"]
    after = posterior(fixed_truth(family, np.random.default_rng(2)), family.support)
    with pytest.raises(GeometryError, match="no place to listen from is within reach"):
        next_places(after, [], rng=np.random.default_rng(1))
    with pytest.raises(GeometryError, match="2000 km"):
        next_places(after, [Candidate(ahead(TRUTH, 0, 3e6))], rng=np.random.default_rng(1))


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"sigma_deg": 0.0}, "sigma must be above 0"),
        ({"sigma_deg": math.nan}, "sigma must be above 0"),
        ({"observer_sigma_m": -1.0}, "observer sigma"),
        ({"hearing_range_m": 0.0}, "hearing range"),
    ],
)
def test_a_report_that_cannot_be_is_refused(values, words):
    with pytest.raises(FormatError, match=words):
        NextReport(**values)


def test_the_next_bearing_is_as_often_wrong_as_those_before():
    ours = {f.name: f.default for f in dataclasses.fields(NextReport)}
    theirs = {f.name: f.default for f in dataclasses.fields(Bearing)}
    assert ours["p_gross"] == theirs["p_gross"]
    assert ours["p_reciprocal"] == theirs["p_reciprocal"]


def test_hearing_ends_softly_and_every_second_time_at_its_range():
    report = NextReport(6.0, 15.0, 5e3)
    near, at, far = report.p_heard(np.array([1.0, 5e3, 500e3]))
    assert at == pytest.approx(0.5)
    assert near == pytest.approx(0.98, abs=1e-3)
    assert far == pytest.approx(0.02, abs=1e-3)
