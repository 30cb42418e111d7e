"""The families of the fix as a user states them: no patch, stated errors half trusted; and rivals.

    STATED_TRIALS=100 python -m pytest -m slow -s tests/benchmarks/test_families_stated.py

Prints the table of DEVELOPERS.md. Truth by geodesics; close and far scenes beside the families.
"""

import math
import os
from dataclasses import replace

import numpy as np
import pytest
from fix_families import FAMILIES, TRUTH, Family, bound_matrix_m2, distance, fixed_truth, holds
from fix_rivals import flat_crossing, least_squares_ellipse, middle_of_crossings

from plotter.fix import fix

pytestmark = pytest.mark.slow

TRIALS = int(os.environ.get("STATED_TRIALS", "60"))
# Three from three sides, near and far: what a caller types in.
NEAR_AND_FAR = tuple(
    Family(
        f"three at {away_m:g} m",
        ((away_m, 180.0), (1.2 * away_m, 290.0), (0.8 * away_m, 40.0)),
        sigma_deg,
        60e3,
    )
    for away_m, sigma_deg in ((300.0, 10.0), (3e3, 5.0), (30e3, 5.0), (200e3, 5.0))
)


def measured(family):
    rng = np.random.default_rng([31, *map(ord, family.name)])
    bound = bound_matrix_m2(family)
    bound_km2 = math.pi * -2.0 * math.log(0.05) * math.sqrt(np.linalg.det(bound)) / 1e6
    bound_m = math.sqrt(float(np.trace(bound)))
    held, faced, areas, face_areas, errors = 0, 0, [], [], []
    rivals = {name: [] for name in ("flat crossing of two", "middle of crossings", "least squares")}
    for _ in range(TRIALS):
        exact = fixed_truth(family, rng)
        stated = [replace(each, exact=False) for each in exact]
        answer, face = fix(stated), fix(exact)
        held += holds(answer.regions[1], TRUTH)
        faced += holds(face.regions[1], TRUTH)
        areas.append(answer.regions[1].area_km2)
        face_areas.append(face.regions[1].area_km2)
        errors.append(distance(answer.best, TRUTH))
        for name, place in (
            ("flat crossing of two", flat_crossing(exact)),
            ("middle of crossings", middle_of_crossings(exact, TRUTH)[0]),
            ("least squares", least_squares_ellipse(exact, TRUTH)[0]),
        ):
            rivals[name].append(distance(place, TRUTH) if place is not None else math.inf)
    print(
        f"| {family.name} | {held / TRIALS:.2f} | {faced / TRIALS:.2f} "
        f"| {np.median(areas) / bound_km2:.2f} | {np.median(face_areas) / bound_km2:.2f} "
        f"| {np.median(errors) / bound_m:.2f} | "
        + " | ".join(f"{np.median(each) / bound_m:.2f}" for each in rivals.values())
        + " |",
        flush=True,
    )
    return held / TRIALS


def test_every_family_as_a_user_states_it():
    print(
        f"\n{TRIALS} scenes a family; areas over the ellipse of the bound, median errors over its "
        "root mean square\n\n| family | .95 holds | at face value | area | at face value | error "
        "| flat crossing of two | middle of crossings | least squares |\n"
        "|---|---|---|---|---|---|---|---|---|"
    )
    for family in (*FAMILIES, *NEAR_AND_FAR):
        held = measured(family)
        if family.spoiled == "none" and "line" not in family.name:
            assert held > 0.9 - 4.0 * math.sqrt(0.09 / TRIALS), family.name
