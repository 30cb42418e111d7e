"""Every benchmark family of the fix, as tables: error, calibration, area, faults found, rivals.

    FIX_TRIALS=5000 python -m pytest -m slow -s tests/benchmarks/test_fix_families.py

FIX_TRIALS scenes a family for the calibration (400 unless given) and FIX_FIXED with a fixed truth
(two fifths as many unless given), on two processes.
"""

import math
import os
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from multiprocessing import get_context

import numpy as np
import pytest
from fix_families import (
    FAMILIES,
    MORE_FAMILIES,
    TRUTH,
    Family,
    bound_matrix_m2,
    distance,
    fixed_truth,
    from_the_model,
    holds,
)
from fix_rivals import flat_crossing, least_squares_ellipse, middle_of_crossings

from plotter.errors import PlotterError
from plotter.fix import Bearing, fix
from plotter.fix.posterior import posterior
from plotter.fix.region import densest_first, densest_leaves

pytestmark = pytest.mark.slow

TRIALS = int(os.environ.get("FIX_TRIALS", "400"))
FIXED = int(os.environ.get("FIX_FIXED", str(TRIALS * 2 // 5)))
SEED = 20180
LOTS = 8
EVERY = FAMILIES + MORE_FAMILIES
_ROWS: list[str] = []
_RIVALS: list[str] = []
_FAULTS: list[str] = []


@dataclass
class Sums:
    """What one lot of trials adds up to."""

    trials: int = 0
    fixed: int = 0
    failures: int = 0
    inside: np.ndarray = field(default_factory=lambda: np.zeros(2))
    squares: list[float] = field(default_factory=list)
    covered: int = 0
    areas: list[float] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)
    faults: int = 0
    named: int = 0
    sound: int = 0
    blamed: int = 0
    rivals: dict[str, list[tuple[float, bool]]] = field(default_factory=dict)


def run_lot(job: tuple[int, int, int, int]) -> Sums:
    """Trials of one family under one seed."""
    number, lot, trials, fixed = job
    family = EVERY[number]
    rng = np.random.default_rng([SEED, number, lot])
    sums = Sums(trials=trials)
    for _ in range(trials):
        truth, evidence = from_the_model(family, rng)
        try:
            answer = fix(evidence, family.support, motion=family.motion)
        except PlotterError:
            sums.failures += 1
            continue
        sums.inside += [holds(region, truth) for region in answer.regions]
    for _ in range(fixed):
        sums.fixed += 1
        evidence = fixed_truth(family, rng)
        begun = time.process_time()
        try:
            answer = fix(evidence, family.support_off_centre, motion=family.motion)
        except PlotterError:
            sums.failures += 1
            continue
        sums.seconds.append(time.process_time() - begun)
        sums.squares.append(distance(answer.best, TRUTH) ** 2)
        sums.areas.append(answer.regions[1].area_km2)
        sums.covered += holds(answer.regions[1], TRUTH)
        _count_faults(family, evidence, answer, sums)
        if family in FAMILIES:
            _run_rivals(evidence, answer, sums)
    return sums


def _count_faults(family, evidence, answer, sums):
    """A fault is a bearing more than four sigma off; it is named when it is held for wrong."""
    if family.spoiled == "none" or family.stated is False:
        return
    for bearing, verdict in zip(evidence, answer.bearings, strict=False):
        true_deg = _azimuth(bearing)
        off = abs((bearing.bearing_true_deg - true_deg + 180.0) % 360.0 - 180.0)
        if off > 4 * family.sigma_deg:
            sums.faults += 1
            sums.named += verdict.p_good < 0.5
        elif off < 3 * family.sigma_deg:
            sums.sound += 1
            sums.blamed += verdict.p_good < 0.5


def _azimuth(bearing: Bearing) -> float:
    from fix_families import azimuth

    return azimuth(bearing.observer, TRUTH)


def _run_rivals(evidence, answer, sums):
    flat = flat_crossing(evidence)
    middle, in_hull = middle_of_crossings(evidence, TRUTH)
    squares, in_ellipse = least_squares_ellipse(evidence, TRUTH)
    for name, place, held in (
        ("this fix", answer.best, holds(answer.regions[1], TRUTH)),
        ("flat crossing of two", flat, False),
        ("middle of crossings", middle, in_hull),
        ("least squares", squares, in_ellipse),
    ):
        error = distance(place, TRUTH) if place is not None else math.inf
        sums.rivals.setdefault(name, []).append((error, held))


def total(lots: list[Sums]) -> Sums:
    """All lots of a family together."""
    whole = Sums()
    for lot in lots:
        whole.inside = whole.inside + lot.inside
        for name in (
            "trials",
            "fixed",
            "failures",
            "covered",
            "faults",
            "named",
            "sound",
            "blamed",
        ):
            setattr(whole, name, getattr(whole, name) + getattr(lot, name))
        for name in ("squares", "areas", "seconds"):
            getattr(whole, name).extend(getattr(lot, name))
        for name, pairs in lot.rivals.items():
            whole.rivals.setdefault(name, []).extend(pairs)
    return whole


@pytest.fixture(scope="module")
def pool():
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as found:
        yield found


@pytest.fixture(scope="module", autouse=True)
def tables():
    yield
    print(
        f"\n\n{TRIALS} trials of the calibration: standard error of a .95 is "
        f"{math.sqrt(0.0475 / TRIALS):.4f}, of a .50 {math.sqrt(0.25 / TRIALS):.4f}; "
        f"{FIXED} with a fixed truth: {math.sqrt(0.0475 / FIXED):.4f}\n\n"
        "| family | CRB RMSE (m) | RMSE / CRB | coverage of the 95 %, fixed truth "
        "| calibration .95 | .50 | 95 % area, median (km²) | area / CRB area | failures "
        "| CPU time, median (ms) |\n|---|---|---|---|---|---|---|---|---|---|"
    )
    print("\n".join(_ROWS))
    print(
        "\nFaults: bearings more than four sigma off that are held for wrong, and sound ones "
        "(within three) that are.\n\n| family | faults | named | sound | blamed |\n"
        "|---|---|---|---|---|"
    )
    print("\n".join(_FAULTS))
    print(
        "\nBeside what one would do otherwise: median error in metres, and how often the 95 % "
        "region (hull of the crossings, error ellipse) holds the truth.\n\n"
        "| family | this fix | flat crossing of two | middle of crossings | least squares |\n"
        "|---|---|---|---|---|"
    )
    print("\n".join(_RIVALS))


def written(family: Family, sums: Sums) -> str:
    plain = not (
        family.motion or family.ranges or family.listeners or family.shared
        or family.observer_sigma_m or not family.stated
    )  # fmt: skip
    rmse = math.sqrt(np.mean(sums.squares))
    bound = math.sqrt(np.trace(bound_matrix_m2(family))) if plain else math.inf
    bound_km2 = math.pi * -2.0 * math.log(0.05) * math.sqrt(np.linalg.det(bound_matrix_m2(family)))
    area = float(np.median(sums.areas))
    return (
        f"| {family.name} | {f'{bound:.4g}' if bound < 1e6 else '–'} "
        f"| {f'{rmse / bound:.3f}' if bound < 1e6 else f'({rmse:.0f} m)'} "
        f"| {sums.covered / sums.fixed:.3f} "
        f"| {sums.inside[1] / sums.trials:.4f} | {sums.inside[0] / sums.trials:.3f} | {area:.3g} "
        f"| {f'{area / bound_km2 * 1e6:.2f}' if bound < 1e6 else '–'} | {sums.failures} "
        f"| {1e3 * np.median(sums.seconds):.0f} |"
    )


@pytest.mark.parametrize("number", range(len(EVERY)), ids=[family.name for family in EVERY])
def test_the_stated_probability_holds(number, pool):
    """Simulation-based calibration: truth from the prior, data from the model.

    The bound is four binomial standard errors, and one leaf of the grid (1/4000).
    """
    family = EVERY[number]
    per_lot, fixed = -(-TRIALS // LOTS), -(-FIXED // LOTS)
    jobs = [(number, lot, per_lot, fixed) for lot in range(LOTS)]
    sums = total(list(pool.map(run_lot, jobs)))
    _ROWS.append(written(family, sums))
    print("\n" + _ROWS[-1], flush=True)
    if sums.faults:
        _FAULTS.append(
            f"| {family.name} | {sums.faults} | {sums.named / sums.faults:.3f} "
            f"| {sums.sound} | {sums.blamed / sums.sound:.4f} |"
        )
        print(_FAULTS[-1], flush=True)
    if sums.rivals:
        cells = []
        for pairs in sums.rivals.values():
            errors = np.array([error for error, _ in pairs])
            middle = float(np.median(errors))
            held = np.mean([held for _, held in pairs])
            cells.append(
                f"{middle:.3g} m, {held:.2f}" if math.isfinite(middle) else f"none, {held:.2f}"
            )
        _RIVALS.append(f"| {family.name} | " + " | ".join(cells) + " |")
        print(_RIVALS[-1], flush=True)
    assert sums.failures == 0
    if family.supposed_radius_m is None and family.declared:
        # What the fix is told wrongly is reported, not promised: a support that is too wide, errors
        # that are shared without a word of it.
        assert abs(sums.inside[1] / sums.trials - 0.95) < 4 * math.sqrt(0.0475 / TRIALS) + 1 / 4000
        assert abs(sums.inside[0] / sums.trials - 0.50) < 4 * math.sqrt(0.25 / TRIALS) + 1 / 4000
    if not family.shared:
        # One bearing in six is bad, against the 7 % that the model expects, so the fixed truth of
        # that family is held to the stated probability only within the same bound.
        assert sums.covered / sums.fixed > 0.95 - 4 * math.sqrt(0.0475 / sums.fixed)


@pytest.mark.parametrize("number", range(len(FAMILIES)), ids=[family.name for family in FAMILIES])
def test_area_on_a_finer_grid(number):
    """The 95 % area against that of a grid with twenty times smaller shares."""
    family = FAMILIES[number]
    rng = np.random.default_rng([SEED, number, 99])
    ratios = []
    for _ in range(5):
        evidence = fixed_truth(family, rng)
        areas = []
        for tolerance, most in ((1 / 4000, 60_000), (1 / 80_000, 1_200_000)):
            leaves = posterior(
                evidence, family.support_off_centre, tolerance=tolerance, most_leaves=most
            ).leaves
            chosen = densest_leaves(densest_first(leaves), leaves.mass, 0.95)
            areas.append(leaves.area_m2[chosen].sum())
        ratios.append(areas[0] / areas[1])
    print(f"\n{family.name}: 95 % area {np.mean(ratios):.4f} of the finer grid's")
    assert np.mean(ratios) == pytest.approx(1.0, abs=0.02)
