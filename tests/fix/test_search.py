"""Search theory by closed forms, a general optimiser and simulation; sectors as a partition."""

import itertools
import math

import numpy as np
import pytest
import shapely
from fix_families import FAMILIES, GEOD, TRUTH, fixed_truth
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize

from plotter.errors import FormatError, GeometryError
from plotter.fix.posterior import posterior
from plotter.fix.region import densest_first, densest_leaves
from plotter.fix.search import after_search, best_effort, coverage, detection
from plotter.fix.search_cells import circle
from plotter.fix.search_sectors import Search, after_searches, search_plan, sectors
from plotter.geodesy.position import Position

GOOD_CROSS = FAMILIES[0]
FAMILY_NAMES = [family.name for family in FAMILIES]

chances = st.floats(0.0, 0.99)
masses = st.lists(st.floats(0.001, 1.0), min_size=2, max_size=12).map(
    lambda values: np.array(values) / sum(values)
)


@pytest.fixture(scope="module")
def cross():
    return posterior(fixed_truth(GOOD_CROSS, np.random.default_rng(1)), GOOD_CROSS.support)


@pytest.fixture(scope="module")
def plan(cross):
    return search_plan(cross, 7)


def on_plane(plan, polygon):
    return shapely.Polygon(
        plan.chart.points(polygon.outer)[:2].T,
        [plan.chart.points(hole)[:2].T for hole in polygon.holes],
    )


def ground_of(plan, sector):
    return shapely.union_all([on_plane(plan, polygon) for polygon in sector.polygons])


# Detection


def test_coverage_is_the_swept_strip_over_the_ground():
    assert coverage(50.0, 40_000.0, 4e6) == 0.5


def test_random_search_finds_what_scattered_looks_find():
    """Koopman's law is the limit of many short looks laid at random: n strips of area z / n each
    miss with (1 − z / nA)ⁿ; here by simulation, binomial standard error 0.0025."""
    rng = np.random.default_rng(7)
    looks, z = 400, 0.8
    missed = (rng.random((20_000, looks)) > z / looks).all(axis=1).mean()
    assert detection(z) == pytest.approx(1.0 - missed, abs=4 * 0.0035)
    assert detection(0.0) == 0.0


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: coverage(-1.0, 1.0, 1.0), "sweep width"),
        (lambda: coverage(1.0, math.nan, 1.0), "length of track"),
        (lambda: coverage(1.0, 1.0, 0.0), "more than 0 m²"),
        (lambda: detection(-0.1), "coverage is 0 or more"),
        (lambda: detection(math.nan), "coverage is 0 or more"),
        (lambda: after_search(np.array([1.0]), np.array([True]), 1.0), "no search is certain"),
        (lambda: after_search(np.array([1.0]), np.array([True]), -0.1), "no search is certain"),
        (lambda: best_effort([0.7, 0.7], [1.0, 1.0], 1.0), "sum to 1 at most"),
        (lambda: best_effort([0.7], [0.0], 1.0), "area above 0"),
        (lambda: best_effort([0.7], [1.0], -1.0), "effort is 0"),
        (lambda: circle(TRUTH, 0.0), "radius above 0"),
    ],
)
def test_what_cannot_be_is_refused(call, words):
    with pytest.raises(FormatError, match=words):
        call()


def test_nowhere_to_search():
    with pytest.raises(GeometryError, match="nothing to search"):
        best_effort([0.0, 0.0], [1.0, 1.0], 1.0)


# Bayes after a search that found nothing


def test_the_published_rule_for_one_cell_and_for_the_others():
    """p (1 − q) / (1 − pq) for the searched cell, r / (1 − pq) for the others: the usual statement
    of Bayesian search theory (from memory; also in J. Simmering, Bayesian Search Models, 2014)."""
    p, q, r = 0.3, 0.8, 0.2
    outcome = after_search(np.array([p, r, 0.5]), np.array([True, False, False]), q)
    assert outcome.mass.tolist() == pytest.approx(
        [p * (1 - q) / (1 - p * q), r / (1 - p * q), 0.5 / (1 - p * q)]
    )
    assert (outcome.p_before, outcome.p_found) == (pytest.approx(p), pytest.approx(p * q))
    assert outcome.p_left == pytest.approx(outcome.mass[0])


def test_bayes_by_counting():
    """Of many lost people those who were not found: where are they?"""
    rng = np.random.default_rng(3)
    mass = np.array([0.5, 0.3, 0.2])
    where = rng.choice(3, size=200_000, p=mass)
    found = (where < 2) & (rng.random(where.size) < 0.6)
    outcome = after_search(mass, np.array([True, True, False]), 0.6)
    counted = np.bincount(where[~found], minlength=3) / (~found).sum()
    assert counted == pytest.approx(outcome.mass, abs=5 * 0.0016)
    assert found.mean() == pytest.approx(outcome.p_found, abs=5 * 0.0012)


@given(masses, st.data(), chances, chances)
def test_two_searches_of_one_ground_are_one(mass, data, p, q):
    inside = np.array(data.draw(st.lists(st.booleans(), min_size=mass.size, max_size=mass.size)))
    first = after_search(mass, inside, p)
    twice = after_search(first.mass, inside, q)
    once = after_search(mass, inside, 1 - (1 - p) * (1 - q))
    assert twice.mass == pytest.approx(once.mass, rel=1e-9)
    assert 1 - (1 - first.p_found) * (1 - twice.p_found) == pytest.approx(once.p_found, abs=1e-12)


@given(masses, st.data(), chances, chances)
def test_the_order_of_searches_does_not_matter(mass, data, p, q):
    cells = st.lists(st.booleans(), min_size=mass.size, max_size=mass.size)
    a, b = np.array(data.draw(cells)), np.array(data.draw(cells))
    one = after_search(after_search(mass, a, p).mass, b, q).mass
    other = after_search(after_search(mass, b, q).mass, a, p).mass
    assert one == pytest.approx(other, rel=1e-9)
    assert one.sum() == pytest.approx(1.0)


# Where effort pays most


def test_two_cells_by_hand():
    """Equal ground A = 1, chances 0.6 and 0.3 (densities in the ratio 2 : 1).

    The first is searched alone until 0.6 exp(−z) = 0.3, z = ln 2; what is left is shared evenly.
    With effort 1: ln 2 + (1 − ln 2) / 2 and (1 − ln 2) / 2. Derived here; Koopman's rule is from
    memory, and no published figures for such a case were found.
    """
    first, second = best_effort([0.6, 0.3], [1.0, 1.0], 1.0)
    rest = (1.0 - math.log(2.0)) / 2.0
    assert first.effort_m2 == pytest.approx(math.log(2.0) + rest)
    assert second.effort_m2 == pytest.approx(rest)
    assert first.p_found == pytest.approx(0.6 * (1.0 - 0.5 * math.exp(-rest)))
    assert second.p_detection == pytest.approx(1.0 - math.exp(-rest))
    alone, nothing = best_effort([0.6, 0.3], [1.0, 1.0], 0.6)
    assert (alone.effort_m2, nothing.effort_m2) == (pytest.approx(0.6), 0.0)


@pytest.mark.parametrize("effort", [0.5, 3.0, 20.0])
def test_a_round_normal_target_has_the_closed_form(effort):
    """Best search of a circular normal target with spread σ and total effort Z under the
    exponential law succeeds with 1 − (1 + h) exp(−h), h = √(Z / (π σ²)), and reaches out to the
    radius σ √(2h) (Koopman 1957; Stone 1975, section 2.2; from memory). Rings of equal width are
    the cells."""
    width = 0.005
    inner = np.arange(0.0, 6.0, width)
    outer = inner + width
    chance = np.exp(-(inner**2) / 2) - np.exp(-(outer**2) / 2)
    area = math.pi * (outer**2 - inner**2)
    spent = best_effort(chance.tolist(), area.tolist(), effort)
    h = math.sqrt(effort / math.pi)
    assert sum(each.p_found for each in spent) == pytest.approx(
        1 - (1 + h) * math.exp(-h), rel=1e-4
    )
    reach = outer[[each.effort_m2 > 0 for each in spent]].max()
    assert reach == pytest.approx(math.sqrt(2 * h), abs=2 * width)


@pytest.mark.parametrize("seed", range(6))
def test_no_general_optimiser_does_better(seed):
    """scipy's SLSQP on the same sum, from three starts."""
    rng = np.random.default_rng(seed)
    p, area = rng.dirichlet(np.ones(5)) * 0.95, rng.uniform(0.2, 3.0, 5)
    effort = float(rng.uniform(0.2, 6.0))
    ours = best_effort(p.tolist(), area.tolist(), effort)

    def missed(z):
        return -float((p * (1 - np.exp(-z / area))).sum())

    theirs = min(
        (
            minimize(
                missed,
                rng.dirichlet(np.ones(5)) * effort,
                method="SLSQP",
                bounds=[(0.0, effort)] * 5,
                constraints={"type": "eq", "fun": lambda z: z.sum() - effort},
                options={"ftol": 1e-12, "maxiter": 500},
            )
            for _ in range(3)
        ),
        key=lambda result: result.fun,
    )
    assert sum(each.p_found for each in ours) >= -theirs.fun - 1e-9
    assert [each.effort_m2 for each in ours] == pytest.approx(theirs.x.tolist(), abs=2e-3)


@given(masses, st.floats(0.0, 50.0), st.data())
def test_effort_adds_up_and_never_goes_where_it_pays_less(mass, effort, data):
    area = data.draw(st.lists(st.floats(0.1, 9.0), min_size=mass.size, max_size=mass.size))
    spent = best_effort(mass.tolist(), area, effort)
    assert sum(each.effort_m2 for each in spent) == pytest.approx(effort, abs=1e-9)
    assert all(each.effort_m2 >= 0.0 for each in spent)
    pays = [
        m / a * math.exp(-each.effort_m2 / a) for m, a, each in zip(mass, area, spent, strict=True)
    ]
    searched = [pay for pay, each in zip(pays, spent, strict=True) if each.effort_m2 > 1e-9]
    if searched:
        assert max(pays) <= min(searched) * (1 + 1e-6)


# Sectors


@pytest.mark.parametrize("equal", ["probability", "area"])
@pytest.mark.parametrize("family", FAMILIES, ids=FAMILY_NAMES)
def test_sectors_have_equal_shares_and_are_whole(family, equal):
    after = posterior(fixed_truth(family, np.random.default_rng(5)), family.support)
    found = sectors(after, 6, equal=equal)
    held = [s.probability if equal == "probability" else s.area_km2 for s in found]
    # One cell more or less: a cell holds at most 1/4000, and a 32nd squared of a sector's ground.
    assert max(held) - min(held) < 0.01 * sum(held) / 6
    chosen = densest_leaves(densest_first(after.leaves), after.leaves.mass, 0.95)
    assert sum(s.probability for s in found) == pytest.approx(after.leaves.mass[chosen].sum())
    assert sum(s.area_km2 for s in found) == pytest.approx(after.leaves.area_m2[chosen].sum() / 1e6)
    # Regions in several pieces leave a few sectors that are, too.
    assert sum(len(s.polygons) == 1 for s in found) >= 4


@pytest.mark.parametrize("count", [1, 2, 3, 7, 12, 40])
def test_sectors_share_no_ground_and_leave_none_out(cross, count):
    plan = search_plan(cross, count)
    grounds = [ground_of(plan, sector) for sector in plan.sectors]
    assert len(grounds) == count
    whole = shapely.union_all(grounds)
    for a, b in itertools.combinations(grounds, 2):
        assert a.intersection(b).area < 1e-9 * whole.area
    (one,) = search_plan(cross, 1).sectors
    assert whole.symmetric_difference(ground_of(plan, one)).area < 1e-9 * whole.area


def test_the_area_of_a_sector_is_that_of_its_outline(plan):
    """By PROJ's geodesic polygon areas."""
    for sector in plan.sectors:
        area = sum(
            GEOD.polygon_area_perimeter(
                [p.lon_deg for p in polygon.outer], [p.lat_deg for p in polygon.outer]
            )[0]
            for polygon in sector.polygons
        )
        assert sector.area_km2 == pytest.approx(area / 1e6, rel=1e-4)


def test_names_order_and_middles(plan, cross):
    assert [s.name for s in plan.sectors] == [f"A{k}" for k in range(1, 8)]
    density = [s.probability_per_km2 for s in plan.sectors]
    assert density == sorted(density, reverse=True)
    for sector in plan.sectors:
        x, y, _ = plan.chart.points([sector.middle])[:, 0]
        assert shapely.contains_xy(ground_of(plan, sector), x, y)
    assert plan.called(" a3 ") is plan.sectors[2]
    with pytest.raises(FormatError, match="the sectors are A1, A2"):
        plan.called("B1")
    assert search_plan(cross, 7).sectors == plan.sectors
    assert search_plan(cross, 2, letter="C").sectors[0].name == "C1"


@pytest.mark.parametrize(("count", "within"), [(0, 0.95), (41, 0.95), (3, 1.0), (3, 0.0)])
def test_no_sectors_of_nothing(cross, count, within):
    with pytest.raises(FormatError):
        search_plan(cross, count, within=within)


# Searches of sectors and of other ground


def test_a_searched_sector_gives_way_to_the_others(plan):
    before = plan.sectors[0]
    now = after_searches(plan, [Search(before, 0.7)])
    p = before.probability
    assert now.p_found == pytest.approx(0.7 * p)
    assert now.p_before == (pytest.approx(p),)
    assert now.p_left == (pytest.approx(p * 0.3 / (1 - 0.7 * p)),)
    assert sum(s.probability for s in now.sectors) + now.p_elsewhere == pytest.approx(1.0)
    assert now.sectors[0].name == "A2"
    assert {s.name: s.polygons for s in now.sectors} == {s.name: s.polygons for s in plan.sectors}
    assert now.p_elsewhere > 0.05 - 1e-3


def test_without_a_search_nothing_moves(plan):
    now = after_searches(plan, [])
    assert (now.p_found, now.p_before, now.p_left) == (0.0, (), ())
    for one, other in zip(now.sectors, plan.sectors, strict=True):
        assert (one.name, one.polygons) == (other.name, other.polygons)
        assert one.probability == pytest.approx(other.probability)


@given(chances, chances)
def test_a_sector_twice_is_once_and_order_does_not_matter(plan, p, q):
    a, b = plan.sectors[0], plan.sectors[3]
    twice = after_searches(plan, [Search(a, p), Search(b, q), Search(a, q)])
    other = after_searches(plan, [Search(b, q), Search(a, 1 - (1 - p) * (1 - q))])
    held = {s.name: s.probability for s in other.sectors}
    for sector in twice.sectors:
        assert sector.probability == pytest.approx(held[sector.name], rel=1e-9)
    assert twice.p_found == pytest.approx(other.p_found, abs=1e-12)
    assert twice.p_elsewhere == pytest.approx(other.p_elsewhere)


def test_a_sector_named_or_drawn_is_the_same_ground(plan):
    sector = plan.sectors[4]
    (ground,) = sector.polygons
    named = after_searches(plan, [Search(sector, 0.6)])
    drawn = after_searches(plan, [Search(ground, 0.6)])
    assert drawn.p_found == pytest.approx(named.p_found, abs=1e-4)


def test_a_searched_circle_holds_what_the_posterior_says(plan, cross):
    """The chance inside a small circle, by drawing points from the cells."""
    middle = plan.sectors[0].middle
    now = after_searches(plan, [Search(circle(middle, 400.0), 0.5)])
    rng = np.random.default_rng(11)
    leaves = cross.leaves
    cell = rng.choice(leaves.mass.size, 200_000, p=leaves.mass)
    half = leaves.half_side_m[cell]
    x = leaves.x_m[cell] + half * rng.uniform(-1, 1, cell.size)
    y = leaves.y_m[cell] + half * rng.uniform(-1, 1, cell.size)
    lat, lon = cross.chart.latlon_deg(x, y)
    off = GEOD.inv(np.full(cell.size, middle.lon_deg), np.full(cell.size, middle.lat_deg), lon, lat)
    share = (off[2] < 400.0).mean()
    assert 0.05 < share < 0.9
    assert now.p_found == pytest.approx(0.5 * share, abs=0.004)


def test_a_circle_has_the_area_of_a_circle():
    ring = circle(TRUTH, 500.0).outer
    area, _ = GEOD.polygon_area_perimeter([p.lon_deg for p in ring], [p.lat_deg for p in ring])
    assert area == pytest.approx(math.pi * 500.0**2, rel=1e-5)


def test_ground_far_away_changes_nothing(plan):
    far = circle(plan.chart.position(25_000.0, 25_000.0), 300.0)
    now = after_searches(plan, [Search(far, 0.9)])
    assert now.p_found < 1e-3
    assert now.sectors[0].name == "A1"


def test_ground_on_the_far_side_of_the_earth_is_not_taken_for_this_one(plan):
    """Straight below the chart lies the other side as well: a wrong letter must not land here."""
    here = plan.chart.centre
    beneath = Position(-here.lat_deg, here.lon_deg - 180.0)
    with pytest.raises(GeometryError, match="2000 km"):
        after_searches(plan, [Search(circle(beneath, 500.0), 0.5)])
