"""Scenes whose truth is known, made by geodesics and by PROJ, never by the chart under test."""

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from pyproj import Geod, Proj

from plotter.fix import (
    Bearing,
    CommonError,
    Evidence,
    Listening,
    Motion,
    Range,
    Region,
    Support,
)
from plotter.geodesy.position import Position

GEOD = Geod(ellps="WGS84")
TRUTH = Position(47.0, 8.0)
# Ellipsoidal orthographic projection: the chart's plane, by another hand.
PLANE = Proj(f"+proj=ortho +lat_0={TRUTH.lat_deg} +lon_0={TRUTH.lon_deg} +ellps=WGS84")
P_GROSS, P_RECIPROCAL = 0.05, 0.02
SCALES = np.array([0.4, 0.55, 0.75, 1.0, 1.35, 1.8, 2.5, 3.4])
SCALE_WEIGHTS = np.exp(-0.5 * (np.log(SCALES) / 0.5) ** 2)
SCALE_WEIGHTS /= SCALE_WEIGHTS.sum()


@dataclass(frozen=True)
class Family:
    """Observers about a truth, as (distance in metres, bearing from the truth in degrees)."""

    name: str
    stations: tuple[tuple[float, float], ...]
    sigma_deg: float
    radius_m: float
    spoiled: Literal["none", "gross", "reciprocal"] = "none"
    observer_sigma_m: float = 0.0
    shared: tuple[int, ...] = ()
    """Which stations share an error, normal with SHARED_DEG."""
    declared: bool = True
    """Where not, the fix is not told that they do."""
    stated: bool = True
    """Where not, the true sigma is a lognormal multiple of the one that is assumed."""
    ranges: tuple[tuple[float, float, float], ...] = ()
    """Distance and bearing of stations that measure a distance, and its sigma in metres."""
    listeners: tuple[tuple[float, float], ...] = ()
    motion: Motion | None = None
    supposed_radius_m: float | None = None
    """The support that the fix is told, where that is a wrong one."""

    @property
    def support(self) -> Support:
        return Support(self.supposed_radius_m or self.radius_m, TRUTH)

    @property
    def support_off_centre(self) -> Support:
        """A support whose middle is not the truth, which would be a corner of cells on every level:
        a point on an outline is neither in nor out."""
        radius_m = self.supposed_radius_m or self.radius_m
        return Support(radius_m, ahead(TRUTH, 33.0, 0.0137 * radius_m))

    @property
    def observers(self) -> list[Position]:
        return [ahead(TRUTH, bearing, distance) for distance, bearing in self.stations]


def ahead(start: Position, bearing_deg: float, distance_m: float) -> Position:
    lon, lat, _ = GEOD.fwd(start.lon_deg, start.lat_deg, bearing_deg, distance_m)
    return Position(lat, lon)


def azimuth(start: Position, end: Position) -> float:
    return GEOD.inv(start.lon_deg, start.lat_deg, end.lon_deg, end.lat_deg)[0]


def distance(start: Position, end: Position) -> float:
    return GEOD.inv(start.lon_deg, start.lat_deg, end.lon_deg, end.lat_deg)[2]


def _around(distance_km: float, *bearings: float) -> tuple[tuple[float, float], ...]:
    return tuple((1000.0 * distance_km, float(bearing)) for bearing in bearings)


def _at(*places_km: tuple[float, float]) -> tuple[tuple[float, float], ...]:
    return tuple(
        (1000.0 * math.hypot(x, y), math.degrees(math.atan2(x, y)) % 360.0) for x, y in places_km
    )


FAMILIES = (
    Family("good cross", _around(5, 180, 270, 0), 5, 30e3),
    Family("narrow base", _at((-0.5, -10), (0, -10), (0.5, -10)), 3, 30e3),
    Family("two bearings", _around(5, 150, 210), 5, 30e3),
    Family("collinear, off the line", _at((-6, -4), (-2, -4), (2, -4), (6, -4)), 5, 30e3),
    Family("on the observers' line", _at((-8, 0), (-5, 0.01), (-3, -0.01), (4, 0)), 5, 30e3),
    Family(
        "one gross error of 6",
        tuple(zip((3e3, 4e3, 5e3, 6e3, 7e3, 8e3), (10, 75, 130, 190, 250, 310), strict=True)),
        5,
        30e3,
        "gross",
    ),
    Family("one reciprocal of 4", _around(5, 150, 200, 250, 320), 5, 30e3, "reciprocal"),
    Family(
        "sigma 15°, 2–20 km",
        tuple(zip((2e3, 6e3, 10e3, 14e3, 20e3), (20, 95, 160, 230, 300), strict=True)),
        15,
        40e3,
    ),
    Family("short", ((500.0, 180.0), (400.0, 250.0), (300.0, 330.0)), 10, 3e3),
    Family(
        "long 500 km, 3°",
        tuple(zip((500e3, 450e3, 550e3, 500e3), (180, 240, 300, 20), strict=True)),
        3,
        1500e3,
    ),
    Family("long 500 km, 1°", _around(500, 150, 180, 210), 1, 1500e3),
    Family("two near-parallel", _around(20, 177, 183), 8, 40e3),
)
SHARED_DEG = 5.0
LISTENING_RANGE_M = 8_000.0
START = dt.datetime(2026, 5, 1, 6, 0, tzinfo=dt.UTC)
STEP_S = 900.0
MORE_FAMILIES = (
    Family("observers known to 50 m", ((500.0, 180.0), (400.0, 250.0), (300.0, 330.0)), 5, 3e3,
           observer_sigma_m=50.0),
    Family("shared 5° error", _around(5, 150, 180, 210, 270, 330), 3, 30e3, shared=(0, 1, 2)),
    Family("shared 5° error, not declared", _around(5, 150, 180, 210, 270, 330), 3, 30e3,
           shared=(0, 1, 2), declared=False),
    Family("support three times too wide", _around(5, 180, 270, 0), 5, 30e3,
           supposed_radius_m=90e3),
    Family("bearings and distances", _around(5, 150, 210), 5, 30e3,
           ranges=((6e3, 180.0, 300.0), (4e3, 60.0, 300.0))),
    Family("two bearings, eight listeners", _around(5, 150, 210), 5, 30e3,
           listeners=tuple((d, b) for d, b in zip(
               (4e3, 6e3, 8e3, 10e3, 12e3, 15e3, 18e3, 22e3),
               (20.0, 70.0, 110.0, 160.0, 200.0, 250.0, 290.0, 340.0), strict=True))),
    Family("walker, five bearings in an hour", _around(4, 20, 95, 160, 230, 300), 5, 30e3,
           motion=Motion(0.4, 0.4**2 / 7200.0)),
    Family("errors assumed, not stated", _around(5, 30, 110, 180, 250, 320), 5, 30e3, stated=False),
)  # fmt: skip
BY_NAME = {family.name: family for family in FAMILIES + MORE_FAMILIES}


def fixed_truth(family: Family, rng: np.random.Generator) -> list[Evidence]:
    """Reports of the truth with Gaussian errors, one of them spoiled where the family says so."""
    path = _path(family, TRUTH, rng)
    sigma_deg = family.sigma_deg
    places = family.observers
    seen_from = _true_places(family, places, rng)
    readings = [
        azimuth(o, there) + rng.normal(0.0, sigma_deg)
        for o, there in zip(seen_from, path, strict=False)
    ]
    for i in family.shared:
        readings[i] += SHARED_DEG
    victim = int(rng.integers(len(places)))
    if family.spoiled == "gross":
        readings[victim] = rng.uniform(0.0, 360.0)
    elif family.spoiled == "reciprocal":
        readings[victim] += 180.0
    distances = [
        distance(ahead(TRUTH, b, d), TRUTH) + rng.normal(0.0, sd) for d, b, sd in family.ranges
    ]
    return [
        *_bearings(family, places, readings),
        *_ranges(family, distances),
        *_watches(family, TRUTH, rng),
    ]


def from_the_model(family: Family, rng: np.random.Generator) -> tuple[Position, list[Evidence]]:
    """A truth from the prior, uniform by area on the support, and reports from the likelihood."""
    truth = _uniform_by_area(family.radius_m, rng)
    path = _path(family, truth, rng)
    scale = 1.0
    if not family.stated:
        # The factor has the prior that `plotter.fix.likelihood.SCALES` stands for.
        scale = float(rng.choice(SCALES, p=SCALE_WEIGHTS))
    shared_deg = rng.normal(0.0, SHARED_DEG)
    places = family.observers
    seen_from = _true_places(family, places, rng)
    readings = []
    for i, (observer, there) in enumerate(zip(seen_from, path, strict=False)):
        kind = rng.uniform()
        if kind < P_GROSS:
            readings.append(rng.uniform(0.0, 360.0))
        else:
            error = rng.normal(0.0, scale * family.sigma_deg)
            while abs(error) > 180.0:
                error = rng.normal(0.0, scale * family.sigma_deg)
            back = 180.0 if kind < P_GROSS + P_RECIPROCAL else 0.0
            common = shared_deg if i in family.shared else 0.0
            readings.append(azimuth(observer, there) + error + common + back)
    distances = []
    for d, b, sd in family.ranges:
        station = ahead(TRUTH, b, d)
        said = distance(station, truth) + rng.normal(0.0, sd)
        if rng.uniform() < P_GROSS:
            said = rng.uniform(0.0, 2.0 * family.radius_m)
        distances.append(max(said, 1.0))
    return truth, [
        *_bearings(family, places, readings),
        *_ranges(family, distances),
        *_watches(family, truth, rng),
    ]


def _true_places(
    family: Family, said: Sequence[Position], rng: np.random.Generator
) -> list[Position]:
    """Where the observers are, if what they say of it has an error."""
    if not family.observer_sigma_m:
        return list(said)
    moves = rng.normal(0.0, family.observer_sigma_m, (len(said), 2))
    return [
        ahead(place, math.degrees(math.atan2(x, y)), math.hypot(x, y))
        for place, (x, y) in zip(said, moves, strict=True)
    ]


def _path(family: Family, end: Position, rng: np.random.Generator) -> list[Position]:
    """Where the thing was at each bearing; the last one is where it is at the time of the fix.

    White noise in the acceleration, integrated backwards by its exact covariance in each step.
    """
    count = len(family.stations)
    if family.motion is None:
        return [end] * count
    q = family.motion.wander_m2_s3
    velocity = rng.normal(0.0, family.motion.sigma_mps, 2)
    offset = np.zeros(2)
    path = [end]
    step = STEP_S
    covariance = q * np.array([[step**3 / 3, step**2 / 2], [step**2 / 2, step]])
    root = np.linalg.cholesky(covariance + 1e-12 * np.eye(2))
    for _ in range(count - 1):
        noise = root @ rng.normal(size=(2, 2))
        offset = offset - velocity * step + noise[0]
        velocity = velocity + noise[1]
        bearing = math.degrees(math.atan2(offset[0], offset[1]))
        path.append(ahead(end, bearing, float(np.hypot(*offset))))
    return path[::-1]


def _uniform_by_area(radius_m: float, rng: np.random.Generator) -> Position:
    while True:
        lon, lat = PLANE(*rng.uniform(-radius_m, radius_m, 2), inverse=True)
        # Ground per plane: up to 1.06 in the corners of the widest family.
        if radius_m < 1e5 or rng.uniform() * 1.1 < 1.0 / PLANE.get_factors(lon, lat).areal_scale:
            return Position(lat, lon)


def _bearings(
    family: Family, observers: Sequence[Position], readings: Sequence[float]
) -> list[Evidence]:
    return [
        Bearing(
            o,
            r % 360.0,
            family.sigma_deg,
            f"Post {i + 1}",
            observer_sigma_m=family.observer_sigma_m,
            sigma_stated=family.stated,
            exact=True,
            common=CommonError("compass", SHARED_DEG)
            if family.declared and i in family.shared
            else None,
            time_utc=START + dt.timedelta(seconds=STEP_S * i) if family.motion else None,
        )
        for i, (o, r) in enumerate(zip(observers, readings, strict=True))
    ]


def _ranges(family: Family, distances: Sequence[float]) -> list[Evidence]:
    return [
        Range(ahead(TRUTH, b, d), said, sigma_m=sd, sender=f"Meter {i}")
        for i, ((d, b, sd), said) in enumerate(zip(family.ranges, distances, strict=True), start=1)
    ]


def _watches(family: Family, truth: Position, rng: np.random.Generator) -> list[Evidence]:
    """What each listener hears: the chance falls with the distance, one scale common to all."""
    scale = LISTENING_RANGE_M * math.exp(rng.normal(0.0, 0.5))
    watches: list[Evidence] = []
    for i, (d, b) in enumerate(family.listeners, start=1):
        place = ahead(TRUTH, b, d)
        chance = 0.98 / (1.0 + math.exp((math.log(distance(place, truth) / scale)) / 0.4))
        chance = min(max(chance, 0.02), 0.98)
        heard = bool(rng.uniform() < chance)
        watches.append(Listening(place, heard, LISTENING_RANGE_M, sender=f"Ear {i}"))
    return watches


def bound_matrix_m2(family: Family) -> np.ndarray:
    """Least covariance of an unbiased estimate, by finite differences of geodesic azimuths."""
    step = 1.0
    rows = []
    for observer in family.observers:
        ends = [ahead(TRUTH, b, step) for b in (90.0, 270.0, 0.0, 180.0)]
        east, west, north, south = (azimuth(observer, end) for end in ends)
        slope = [(d + 180.0) % 360.0 - 180.0 for d in (east - west, north - south)]
        rows.append([s / (2.0 * step) / family.sigma_deg for s in slope])
    jacobian = np.asarray(rows)
    return np.linalg.inv(jacobian.T @ jacobian)


def shape_of(region: Region) -> shapely.MultiPolygon:
    """A region as a shape in longitude and latitude."""

    def ring(corners: Sequence[Position]) -> list[tuple[float, float]]:
        return [(p.lon_deg, p.lat_deg) for p in corners]

    return shapely.MultiPolygon(
        [
            shapely.Polygon(ring(p.polygon.outer), [ring(hole) for hole in p.polygon.holes])
            for p in region.pieces
        ]
    )


def holds(region: Region, place: Position) -> bool:
    return bool(shapely.contains_xy(shape_of(region), place.lon_deg, place.lat_deg))
