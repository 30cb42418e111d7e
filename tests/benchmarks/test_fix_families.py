"""Every benchmark family of the fix: error, coverage, calibration, area and time, as one table.

``pytest -m slow tests/benchmarks/test_fix_families.py -s`` prints it. The number of trials a family
and column is FIX_TRIALS in the environment, 400 unless given (about five minutes on one core).
"""

import math
import os
import time
from dataclasses import dataclass

import numpy as np
import pytest
from fix_families import (
    FAMILIES,
    TRUTH,
    Family,
    bound_matrix_m2,
    distance,
    fixed_truth,
    from_the_model,
    holds,
)

from plotter.fix import fix

pytestmark = pytest.mark.slow

TRIALS = int(os.environ.get("FIX_TRIALS", "400"))
SEED = 20180
_ROWS: list[str] = []


@dataclass
class Row:
    rmse_m: float
    bound_m: float
    covered: float
    area_km2: float
    bound_area_km2: float
    calibrated_95: float
    calibrated_50: float
    milliseconds: float


def measure(family: Family) -> Row:
    rng = np.random.default_rng([SEED, FAMILIES.index(family)])
    squares, areas, covered, seconds = [], [], 0, []
    for _ in range(TRIALS):
        bearings = fixed_truth(family, rng)
        begun = time.perf_counter()
        answer = fix(bearings, family.support_off_centre)
        seconds.append(time.perf_counter() - begun)
        squares.append(distance(answer.best, TRUTH) ** 2)
        areas.append(answer.regions[1].area_km2)
        covered += holds(answer.regions[1], TRUTH)
    inside = np.zeros(2)
    for _ in range(TRIALS):
        truth, bearings = from_the_model(family, rng)
        inside += [holds(region, truth) for region in fix(bearings, family.support).regions]
    bound = bound_matrix_m2(family)
    return Row(
        rmse_m=math.sqrt(np.mean(squares)),
        bound_m=math.sqrt(np.trace(bound)),
        covered=covered / TRIALS,
        area_km2=float(np.median(areas)),
        bound_area_km2=math.pi * -2.0 * math.log(0.05) * math.sqrt(np.linalg.det(bound)) / 1e6,
        calibrated_95=inside[1] / TRIALS,
        calibrated_50=inside[0] / TRIALS,
        milliseconds=1e3 * float(np.median(seconds)),
    )


def written(name: str, row: Row) -> str:
    bounded = row.bound_m < 1e6
    return (
        f"| {name} | {f'{row.bound_m:.4g}' if bounded else 'no bound'} "
        f"| {f'{row.rmse_m / row.bound_m:.2f}' if bounded else f'({row.rmse_m:.0f} m)'} "
        f"| {row.covered:.3f} | {row.calibrated_95:.3f} | {row.calibrated_50:.3f} "
        f"| {row.area_km2:.3g} "
        f"| {f'{row.area_km2 / row.bound_area_km2:.2f}' if bounded else '–'} "
        f"| {row.milliseconds:.0f} |"
    )


@pytest.fixture(scope="module", autouse=True)
def table():
    yield
    error = math.sqrt(0.95 * 0.05 / TRIALS)
    print(
        f"\n\n{TRIALS} trials; standard error of a .95 is {error:.3f}, of a .50 "
        f"{math.sqrt(0.25 / TRIALS):.3f}\n\n"
        "| family | CRB RMSE (m) | RMSE / CRB | coverage of the 95 %, fixed truth "
        "| calibration .95 | .50 | 95 % area, median (km²) | area / CRB area | time (ms) |\n"
        "|---|---|---|---|---|---|---|---|---|"
    )
    print("\n".join(_ROWS))


@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.name)
def test_the_stated_probability_holds(family):
    """Simulation-based calibration: truth from the prior, data from the model.

    The bound is four binomial standard errors, and one leaf of the grid (1/4000).
    """
    row = measure(family)
    _ROWS.append(written(family.name, row))
    assert abs(row.calibrated_95 - 0.95) < 4 * math.sqrt(0.95 * 0.05 / TRIALS) + 1 / 4000
    assert abs(row.calibrated_50 - 0.50) < 4 * math.sqrt(0.25 / TRIALS) + 1 / 4000
    # One bearing in six is bad, against the 7 % that the model expects, so the fixed truth of that
    # family is held to the stated probability only within the same bound.
    assert row.covered > 0.95 - 4 * math.sqrt(0.95 * 0.05 / TRIALS)
