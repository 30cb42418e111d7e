"""Near and far alike, through a report file: what a coordinator's bearings give at every scale.

    USER_TRIALS=75 python -m pytest -m slow -s tests/fix/test_user_scales.py

A small seeded part is in the default run; the large one prints the table of DEVELOPERS.md.
"""

import math
import os

import numpy as np
import pytest
from fix_families import TRUTH, ahead, azimuth, distance, holds
from user_scenes import SCALES_M, Scene, bound_km2, fix_of_file, report_file, scene

TRIALS = int(os.environ.get("USER_TRIALS", "75"))
COUNTS = (2, 3, 4, 6)


def run(path, scale_m, count, trials, seed, *, narrow):
    rng = np.random.default_rng([seed, int(scale_m), count, narrow])
    held, ratios, said, wrong, blamed, right = 0, [], [], [], 0, 0
    for _ in range(trials):
        given = scene(rng, scale_m, count, narrow=narrow)
        answer = fix_of_file(path, report_file(given))
        held += holds(answer.regions[1], given.truth)
        ratios.append(answer.regions[1].area_km2 / bound_km2(given))
        said.append(1.0 - answer.p_all_good)
        wrong.append(any(given.wrong))
        for is_wrong, verdict in zip(given.wrong, answer.bearings, strict=True):
            right += not is_wrong
            blamed += not is_wrong and verdict.p_good < 0.5
    return (
        held,
        float(np.median(ratios)),
        float(np.mean(said)),
        float(np.mean(wrong)),
        blamed,
        right,
    )


@pytest.mark.parametrize("scale_m", SCALES_M)
def test_three_or_four_bearings_hold_the_truth_at_every_scale(scale_m, tmp_path):
    """Binomial bounds of four standard errors about .95."""
    held, blamed, right = 0, 0, 0
    for count in (3, 4):
        each = run(tmp_path / "r.csv", scale_m, count, 10, 5, narrow=False)
        held, blamed, right = held + each[0], blamed + each[4], right + each[5]
    assert held / 20 > 0.95 - 4.0 * math.sqrt(0.95 * 0.05 / 20)
    assert blamed / right < 0.15


@pytest.mark.parametrize("distance_m", [300.0, 3e3, 30e3])
def test_three_good_bearings_give_what_the_geometry_holds(distance_m, tmp_path):
    """± 10° that meet within 3°: at most two and a half times the ellipse of the bound."""
    posts = [ahead(TRUTH, b, distance_m) for b in (180.0, 270.0, 0.0)]
    off = [3.0, -2.0, 2.0]
    said = [azimuth(p, TRUTH) + e for p, e in zip(posts, off, strict=True)]
    given = Scene(TRUTH, posts, said, off, [False] * 3, 10.0)
    answer = fix_of_file(tmp_path / "r.csv", report_file(given))
    assert holds(answer.regions[1], TRUTH)
    assert answer.regions[1].area_km2 < 2.5 * bound_km2(given)
    assert distance(answer.best, TRUTH) < 0.1 * distance_m
    assert min(v.p_good for v in answer.bearings) > 0.95
    assert answer.findings[0].startswith("95 % region ")


@pytest.mark.parametrize("scale_m", SCALES_M)
def test_three_well_placed_bearings_are_no_wider_than_twice_the_bound(scale_m, tmp_path):
    """From three sides, errors as stated: the median area is that of the ellipse at face value, and
    half trusted at most twice as large (1.6 to 1.75 in 15 scenes a scale)."""
    rng = np.random.default_rng([17, int(scale_m)])
    ratios, held = [], 0
    for _ in range(7):
        turn, sigma = rng.uniform(0.0, 360.0), float(rng.choice([3.0, 5.0, 10.0]))
        posts = [
            ahead(
                TRUTH, turn + 120.0 * k + rng.uniform(-20.0, 20.0), scale_m * rng.uniform(0.6, 1.2)
            )
            for k in range(3)
        ]
        off = rng.normal(0.0, sigma, 3)
        said = [azimuth(p, TRUTH) + e for p, e in zip(posts, off, strict=True)]
        given = Scene(TRUTH, posts, said, off.tolist(), [False] * 3, sigma)
        answer = fix_of_file(tmp_path / "r.csv", report_file(given))
        ratios.append(answer.regions[1].area_km2 / bound_km2(given))
        held += holds(answer.regions[1], TRUTH)
    assert np.median(ratios) < 2.0
    assert held >= 5


@pytest.mark.slow
def test_every_scale_in_figures(tmp_path):
    print(
        f"\n{TRIALS} scenes a cell\n\n| scene | coverage .95 | area / bound's | one is wrong: said "
        "| true | blamed |\n|---|---|---|---|---|---|"
    )
    least, blamed, right = 1.0, 0, 0
    for narrow in (False, True):
        for scale_m in SCALES_M:
            held_here = 0
            for count in COUNTS:
                held, ratio, said, wrong, b, r = run(
                    tmp_path / "r.csv", scale_m, count, TRIALS, 6, narrow=narrow
                )
                held_here += held
                least, blamed, right = min(least, held / TRIALS), blamed + b, right + r
                print(
                    f"| {'narrow' if narrow else 'wide'}, {scale_m / 1000:g} km, {count} "
                    f"| {held / TRIALS:.3f} | {ratio:.2g} | {said:.2f} | {wrong:.2f} "
                    f"| {b / r:.3f} |",
                    flush=True,
                )
            share = held_here / (TRIALS * len(COUNTS))
            assert share > 0.93 - 3.0 * math.sqrt(0.93 * 0.07 / (TRIALS * len(COUNTS)))
    print(f"least cell {least:.3f}; blamed {blamed / right:.4f}")
    assert blamed / right < 0.02
