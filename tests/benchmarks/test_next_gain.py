"""What one more bearing from the advised place gives, against one from a random reachable place.

``NEXT_TRIALS=100 python -m pytest -m slow -s tests/benchmarks/test_next_gain.py`` prints the table;
30 trials a family unless given. A listener starts at the first observer and gets as far as that is
from the truth. The area factor is the 95 % area with the new bearing over that before, both from
whole new fixes; the new bearing is drawn from the model with its 7 % of bad ones. "foreseen" is the
mean factor that the advice states, "realised" the mean of what came.
"""

import os

import numpy as np
import pytest
from fix_families import FAMILIES, P_GROSS, P_RECIPROCAL, TRUTH, Family, azimuth, fixed_truth

from plotter.fix import Bearing, Support
from plotter.fix.next_area import present_area_km2
from plotter.fix.next_place import next_places, outcomes_at
from plotter.fix.next_report import NextReport
from plotter.fix.posterior import posterior
from plotter.fix.reachable import Reach, anywhere
from plotter.geodesy.position import Position

pytestmark = pytest.mark.slow

TRIALS = int(os.environ.get("NEXT_TRIALS", "30"))
SEED = 1956
_ROWS: list[str] = []


def bearing_from(place: Position, sigma_deg: float, rng: np.random.Generator) -> Bearing:
    kind = rng.uniform()
    said = azimuth(place, TRUTH) + rng.normal(0.0, sigma_deg)
    if kind < P_GROSS:
        said = rng.uniform(0.0, 360.0)
    elif kind < P_GROSS + P_RECIPROCAL:
        said += 180.0
    return Bearing(place, said % 360.0, sigma_deg, "Next", 15.0)


def factor(
    bearings: list[Bearing], place: Position, family: Family, before: float, seed: list[int]
) -> float:
    """The same chance for every way of choosing, so that their differences are the choice's."""
    support: Support = family.support_off_centre
    new = bearing_from(place, family.sigma_deg, np.random.default_rng(seed))
    return present_area_km2(posterior([*bearings, new], support)) / before


def geometric_mean(values: list[float]) -> float:
    return float(np.exp(np.mean(np.log(values))))


@pytest.fixture(scope="module", autouse=True)
def table():
    yield
    print(
        f"\n\n{TRIALS} trials\n\n"
        "| family | advised, geometric mean | most information | random place "
        "| advised, realised mean | foreseen | said that nothing helps |\n"
        "|---|---|---|---|---|---|---|"
    )
    print("\n".join(_ROWS))


@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.name)
def test_the_advised_place_beats_a_random_one(family):
    number = FAMILIES.index(family)
    candidates = anywhere(Reach(family.observers[0], family.stations[0][0]))
    advised, informed, at_random, foreseen, hopeless = [], [], [], [], 0
    for trial in range(TRIALS):
        rng = np.random.default_rng([SEED, number, trial])
        bearings = fixed_truth(family, rng)
        after = posterior(bearings, family.support_off_centre)
        advice = next_places(after, candidates, rng=rng, sigma_deg=family.sigma_deg)
        told = outcomes_at(after, candidates, NextReport(family.sigma_deg), rng=rng)
        seed = [SEED, number, trial, 1]
        before = advice.present_area_km2
        advised.append(factor(bearings, advice.places[0].position, family, before, seed))
        most = candidates[int(told.information_bits.argmax())].position
        informed.append(factor(bearings, most, family, before, seed))
        other = candidates[int(rng.integers(len(candidates)))].position
        at_random.append(factor(bearings, other, family, before, seed))
        foreseen.append(advice.places[0].expected_area_km2 / before)
        hopeless += bool(advice.reason)
    _ROWS.append(
        f"| {family.name} | {geometric_mean(advised):.3f} | {geometric_mean(informed):.3f} "
        f"| {geometric_mean(at_random):.3f} | {np.mean(advised):.3f} | {np.mean(foreseen):.3f} "
        f"| {hopeless / TRIALS:.0%} |"
    )
    assert geometric_mean(advised) < geometric_mean(at_random)
