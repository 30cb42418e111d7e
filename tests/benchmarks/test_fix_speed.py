"""A six-bearing fix with its polygons against plain least squares from four starts, same run."""

import math
import time

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


def test_a_six_bearing_fix_takes_no_longer_than_three_times_least_squares():
    rng = np.random.default_rng(6)
    scenes = [fixed_truth(SIX, rng) for _ in range(30)]
    fix(scenes[0], SIX.support)
    four_starts(scenes[0])
    ours, theirs = [], []
    for bearings in scenes:
        a = time.perf_counter()
        answer = fix(bearings, SIX.support)
        b = time.perf_counter()
        peer = four_starts(bearings)
        c = time.perf_counter()
        ours.append(b - a)
        theirs.append(c - b)
        # Both solve the same problem: the modes lie well within one standard deviation (250 m).
        assert distance(answer.best, peer) < 125.0
    ratio = float(np.median(ours) / np.median(theirs))
    print(
        f"\nsix bearings: fix with regions {1e3 * np.median(ours):.1f} ms, least squares from four "
        f"starts {1e3 * np.median(theirs):.1f} ms, ratio {ratio:.2f}"
    )
    assert ratio < 3.0
