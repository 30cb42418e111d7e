"""A six-bearing fix with its polygons against plain least squares from four starts, same run."""

import math
import time
from dataclasses import replace

import numpy as np
import pytest
from fix_families import BY_NAME, GEOD, Family, distance, fixed_truth
from scipy.optimize import least_squares

from plotter.fix import Bearing, fix
from plotter.geodesy.position import Position

pytestmark = pytest.mark.slow

SIX = Family("six bearings", BY_NAME["one gross error of 6"].stations, 5, 30e3)


def four_starts(bearings: list[Bearing]) -> Position:
    """What a careful programmer writes first: geodesic residuals, default settings."""
    lat0 = float(np.mean([b.observer.lat_deg for b in bearings]))
    lon0 = float(np.mean([b.observer.lon_deg for b in bearings]))
    lat = np.array([b.observer.lat_deg for b in bearings])
    lon = np.array([b.observer.lon_deg for b in bearings])
    said = np.array([b.bearing_true_deg for b in bearings])
    sigma = np.array([b.sigma_deg for b in bearings])
    east_m, north_m = 111_320.0 * math.cos(math.radians(lat0)), 111_320.0

    def residuals(point: np.ndarray) -> np.ndarray:
        there_lon = np.full_like(lon, lon0 + point[0] / east_m)
        there_lat = np.full_like(lat, lat0 + point[1] / north_m)
        azimuth, _, _ = GEOD.inv(lon, lat, there_lon, there_lat)
        return ((said - azimuth + 180.0) % 360.0 - 180.0) / sigma

    starts = [(4000.0, 4000.0), (-4000.0, 4000.0), (-4000.0, -4000.0), (4000.0, -4000.0)]
    best = min((least_squares(residuals, start) for start in starts), key=lambda r: r.cost)
    return Position(lat0 + best.x[1] / north_m, lon0 + best.x[0] / east_m)


def test_a_six_bearing_fix_takes_little_longer_than_least_squares():
    rng = np.random.default_rng(6)
    scenes = [fixed_truth(SIX, rng) for _ in range(30)]
    fix(scenes[0], SIX.support)
    four_starts(scenes[0])
    ours, theirs = [], []
    for bearings in scenes:
        a = time.process_time()
        answer = fix(bearings, SIX.support)
        b = time.process_time()
        peer = four_starts(bearings)
        c = time.process_time()
        ours.append(b - a)
        theirs.append(c - b)
        # Both solve the same problem: the modes lie well within one standard deviation (250 m).
        assert distance(answer.best, peer) < 125.0
    ratio = float(np.median(ours) / np.median(theirs))
    print(
        f"\nsix bearings: fix with regions {1e3 * np.median(ours):.1f} ms, least squares from four "
        f"starts {1e3 * np.median(theirs):.1f} ms, ratio {ratio:.2f}"
    )
    assert ratio < 1.6


def medians(scenes, *calls):
    """Median seconds of the processor of each call over the scenes, taken in turn."""
    times = [[] for _ in calls]
    for scene in scenes:
        for each, call in zip(times, calls, strict=True):
            begun = time.process_time()
            call(scene)
            each.append(time.process_time() - begun)
    return [float(np.median(each)) for each in times]


def test_errors_that_were_assumed():
    """Eight factors on the errors are weighed, for at most twice the time of a fix."""
    family = replace(SIX, name="six assumed", stated=False)
    rng = np.random.default_rng(7)
    scenes = [fixed_truth(family, rng) for _ in range(20)]
    stated = {id(s): [replace(b, sigma_stated=True) for b in s] for s in scenes}
    ours, plain, theirs = medians(
        scenes,
        lambda s: fix(s, SIX.support),
        lambda s: fix(stated[id(s)], SIX.support),
        four_starts,
    )
    print(
        f"\nsix bearings, errors assumed: {1e3 * ours:.1f} ms, {ours / plain:.2f} times stated "
        f"ones, {ours / theirs:.2f} times least squares from four starts"
    )
    assert ours / plain < 3.0


def test_what_moves():
    family = BY_NAME["walker, five bearings in an hour"]
    rng = np.random.default_rng(8)
    scenes = [fixed_truth(family, rng) for _ in range(10)]
    ours, theirs = medians(
        scenes, lambda s: fix(s, family.support, motion=family.motion), four_starts
    )
    print(
        f"\nfive bearings of a walker: {1e3 * ours:.0f} ms, {ours / theirs:.1f} times least "
        "squares of a place from four starts"
    )
    assert ours / theirs < 30.0


def test_cost_grows_no_faster_than_the_number_of_bearings():
    """Eight times the bearings in at most eight times the time, a quarter more for the clock."""
    rng = np.random.default_rng(9)
    seconds = {}
    for count in (25, 50, 100, 200):
        stations = tuple(
            (float(d), float(b))
            for d, b in zip(rng.uniform(2e3, 9e3, count), rng.uniform(0, 360, count), strict=True)
        )
        family = Family(f"{count} bearings", stations, 5, 30e3)
        least = np.inf
        for _ in range(6):
            scene = fixed_truth(family, rng)
            begun = time.process_time()
            fix(scene, family.support)
            least = min(least, time.process_time() - begun)
        seconds[count] = least
    told = ", ".join(f"{count}: {1e3 * each:.0f} ms" for count, each in seconds.items())
    print(f"\nbearings and time: {told}")
    assert seconds[200] / seconds[25] < 8 * 1.25
