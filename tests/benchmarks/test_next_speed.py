"""Advice on 400 candidates against plain least squares from four starts, in the same run."""

import time

import numpy as np
import pytest
from fix_families import BY_NAME, fixed_truth
from test_fix_speed import SIX, four_starts

from plotter.fix.next_place import next_places, outcomes_at
from plotter.fix.next_report import NextReport
from plotter.fix.posterior import posterior
from plotter.fix.reachable import Reach, anywhere

pytestmark = pytest.mark.slow


def test_advice_on_400_places_takes_no_longer_than_thirty_fixes_by_least_squares():
    """Least squares takes some 13 ms on the machine the 300 ms were asked for: 23 times that."""
    rng = np.random.default_rng(9)
    candidates = anywhere(Reach(SIX.observers[0], 8e3))
    assert 380 <= len(candidates) <= 420
    ours, informed, theirs = [], [], []
    for family in (SIX, BY_NAME["two bearings"], BY_NAME["narrow base"]):
        for _ in range(8):
            after = posterior(fixed_truth(family, rng), family.support)
            scene = fixed_truth(SIX, rng)
            a = time.perf_counter()
            next_places(after, candidates, rng=rng)
            b = time.perf_counter()
            outcomes_at(after, candidates, NextReport(), rng=rng)
            c = time.perf_counter()
            four_starts(scene)
            d = time.perf_counter()
            ours.append(b - a)
            informed.append(c - b)
            theirs.append(d - c)
    ratio = float(np.median(ours) / np.median(theirs))
    print(
        f"\n{len(candidates)} candidates: advice {1e3 * np.median(ours):.0f} ms (of it information "
        f"{1e3 * np.median(informed):.0f} ms), least squares from four starts "
        f"{1e3 * np.median(theirs):.1f} ms, ratio {ratio:.1f}"
    )
    assert ratio < 23.0
