"""Scenes whose truth is known, made by geodesics and by PROJ, never by the chart under test."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from pyproj import Geod, Proj

from plotter.fix import Bearing, Region, Support
from plotter.geodesy.position import Position

GEOD = Geod(ellps="WGS84")
TRUTH = Position(47.0, 8.0)
# Ellipsoidal orthographic projection: the chart's plane, by another hand.
PLANE = Proj(f"+proj=ortho +lat_0={TRUTH.lat_deg} +lon_0={TRUTH.lon_deg} +ellps=WGS84")
P_GROSS, P_RECIPROCAL = 0.05, 0.02


@dataclass(frozen=True)
class Family:
    """Observers about a truth, as (distance in metres, bearing from the truth in degrees)."""

    name: str
    stations: tuple[tuple[float, float], ...]
    sigma_deg: float
    radius_m: float
    spoiled: Literal["none", "gross", "reciprocal"] = "none"

    @property
    def support(self) -> Support:
        return Support(self.radius_m, TRUTH)

    @property
    def support_off_centre(self) -> Support:
        """A support whose middle is not the truth, which would be a corner of cells on every level:
        a point on an outline is neither in nor out."""
        return Support(self.radius_m, ahead(TRUTH, 33.0, 0.0137 * self.radius_m))

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
BY_NAME = {family.name: family for family in FAMILIES}


def fixed_truth(family: Family, rng: np.random.Generator) -> list[Bearing]:
    """Bearings to the truth with Gaussian errors, one of them spoiled where the family says so."""
    observers = family.observers
    readings = [azimuth(o, TRUTH) + rng.normal(0.0, family.sigma_deg) for o in observers]
    victim = int(rng.integers(len(observers)))
    if family.spoiled == "gross":
        readings[victim] = rng.uniform(0.0, 360.0)
    elif family.spoiled == "reciprocal":
        readings[victim] += 180.0
    return _bearings(observers, readings, family.sigma_deg)


def from_the_model(family: Family, rng: np.random.Generator) -> tuple[Position, list[Bearing]]:
    """A truth from the prior, uniform by area on the support, and bearings from the likelihood."""
    truth = _uniform_by_area(family.radius_m, rng)
    observers = family.observers
    readings = []
    for observer in observers:
        kind = rng.uniform()
        if kind < P_GROSS:
            readings.append(rng.uniform(0.0, 360.0))
        else:
            error = rng.normal(0.0, family.sigma_deg)
            while abs(error) > 180.0:
                error = rng.normal(0.0, family.sigma_deg)
            back = 180.0 if kind < P_GROSS + P_RECIPROCAL else 0.0
            readings.append(azimuth(observer, truth) + error + back)
    return truth, _bearings(observers, readings, family.sigma_deg)


def _uniform_by_area(radius_m: float, rng: np.random.Generator) -> Position:
    while True:
        lon, lat = PLANE(*rng.uniform(-radius_m, radius_m, 2), inverse=True)
        # Ground per plane: up to 1.06 in the corners of the widest family.
        if radius_m < 1e5 or rng.uniform() * 1.1 < 1.0 / PLANE.get_factors(lon, lat).areal_scale:
            return Position(lat, lon)


def _bearings(
    observers: Sequence[Position], readings: Sequence[float], sigma_deg: float
) -> list[Bearing]:
    return [
        Bearing(o, r % 360.0, sigma_deg, f"Post {i}")
        for i, (o, r) in enumerate(zip(observers, readings, strict=True), start=1)
    ]


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
