"""A flat chart about a centre that is exact on the ellipsoid: points, areas and azimuths.

The chart is the east-north plane at the centre C. A chart point (x, y) stands for the point of the
ellipsoid straight below it, so nothing is approximated but the azimuth, which is the one of the
normal section instead of the geodesic. Worst difference of the two: 0.007″ within 50 km, 0.11″
within 200 km, 0.7″ within 500 km, 2.9″ within 1 000 km; both are compared in the tests.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Protocol

import numpy as np

from plotter.errors import GeometryError
from plotter.geodesy.arrays import FloatArray, IntArray, as_float
from plotter.geodesy.ellipsoid import WGS84
from plotter.geodesy.position import Position

__all__ = [
    "REACH_M",
    "AnyChart",
    "AnySights",
    "Chart",
    "Sights",
    "chart_at",
    "mean_position",
    "sights",
]

# Beyond this the normal section leaves the geodesic by more than 10″.
REACH_M: Final = 2_000_000.0
_EARTH_RADIUS_M: Final = 6_371_008.8


class AnySights(Protocol):
    """What n observers need in order to look at points of a chart."""

    def components(self, points_m: FloatArray) -> tuple[FloatArray, FloatArray]:
        """To the right of each observer's axis and along it, metres, shape (n, m)."""

    def azimuth_deg(self, points_m: FloatArray) -> FloatArray:
        """Angle of each point off each observer's axis, (−180, 180], shape (n, m)."""

    def distance_m(self, points_m: FloatArray) -> FloatArray:
        """Distance over the ground from each observer to each point, shape (n, m)."""

    def ways(self, points_m: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Distance over the ground, and the components, shape (n, m) each."""

    def turned(self, bearing_rad: FloatArray) -> "AnySights":
        """Turn each observer's axis to a bearing, shape (n,)."""

    def turn(self, moves_m: FloatArray) -> tuple[FloatArray, FloatArray]:
        """To the right and along, of k moves over the chart each, (n, k, 2); shape (n, k)."""

    def rows(self, index: IntArray) -> "AnySights":
        """Some of the observers."""


class AnyChart(Protocol):
    """A chart of the scene about a centre, and what can be asked of it."""

    @property
    def centre(self) -> Position:
        """Middle of the chart."""

    def lift(self, x_m: FloatArray, y_m: FloatArray) -> FloatArray:
        """Points of the Earth, in the chart's own terms, shape (3, m)."""

    def area_element(self, points_m: FloatArray) -> FloatArray:
        """Square metres of ground for one of chart, shape (m,)."""

    def latlon_deg(self, x_m: FloatArray, y_m: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Latitude and longitude of chart points."""

    def position(self, x_m: float, y_m: float) -> Position:
        """One chart point as a place."""

    def points(self, positions: Sequence[Position]) -> FloatArray:
        """Places on the chart, x and y first, shape (3, n)."""

    def flat(self, points_m: FloatArray) -> tuple[FloatArray, FloatArray]:
        """X and y of lifted points, shape (m,) each."""

    def check_reach(self, positions: Sequence[Position]) -> None:
        """Refuse places that are too far from the centre."""

    def sights(self, observers: Sequence[Position]) -> AnySights:
        """Observers, each looking north."""


@dataclass(frozen=True, slots=True, eq=False)
class Chart:
    """The east-north plane at a centre.

    Parameters
    ----------
    centre : Position
        Where the plane touches the ellipsoid.
    origin_m : ndarray, shape (3,)
        The centre, Earth-centred.
    axes : ndarray, shape (3, 3)
        Rows: unit vectors east, north, up at the centre.
    form : ndarray, shape (3, 3)
        The ellipsoid's quadratic form in these axes, 1/m².
    pull : float
        Slope of the form along up at the centre, 1/m.
    """

    centre: Position
    origin_m: FloatArray
    axes: FloatArray
    form: FloatArray
    pull: float

    def lift(self, x_m: FloatArray, y_m: FloatArray) -> FloatArray:
        """Points of the ellipsoid below chart points.

        Parameters
        ----------
        x_m, y_m : ndarray, shape (m,)
            East and north in the plane.

        Returns
        -------
        ndarray, shape (3, m)
            East, north, up from the centre, metres; up is below zero away from the centre.
        """
        q = self.form
        c = q[0, 0] * x_m * x_m + 2.0 * q[0, 1] * x_m * y_m + q[1, 1] * y_m * y_m
        b = self.pull + q[0, 2] * x_m + q[1, 2] * y_m
        points = np.empty((3, x_m.size))
        points[0], points[1] = x_m, y_m
        np.divide(-c, b + np.sqrt(b * b - q[2, 2] * c), out=points[2])
        return points

    def area_element(self, points_m: FloatArray) -> FloatArray:
        """Square metres of ellipsoid for one square metre of chart, shape (m,)."""
        gradient = self.form @ points_m
        gradient[2] += self.pull
        return np.asarray(np.sqrt((gradient * gradient).sum(0)) / np.abs(gradient[2]))

    def latlon_deg(self, x_m: FloatArray, y_m: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Latitude and longitude of chart points, longitude in [−180, 180]."""
        earth = self.origin_m[:, None] + self.axes.T @ self.lift(x_m, y_m)
        # On the surface itself this is exact, no iteration.
        lat = np.arctan2(earth[2] / (1.0 - WGS84.e2), np.hypot(earth[0], earth[1]))
        return np.degrees(lat), np.degrees(np.arctan2(earth[1], earth[0]))

    def position(self, x_m: float, y_m: float) -> Position:
        """Give the place of one chart point."""
        lat, lon = self.latlon_deg(as_float([x_m]), as_float([y_m]))
        return Position(float(lat[0]), float(lon[0]))

    def points(self, positions: Sequence[Position]) -> FloatArray:
        """East, north, up of places from the centre, metres, shape (3, n)."""
        earth, _, _ = _frames(positions)
        return np.asarray(self.axes @ (earth - self.origin_m).T)

    def flat(self, points_m: FloatArray) -> tuple[FloatArray, FloatArray]:
        """X and y of lifted points, shape (m,) each."""
        return points_m[0], points_m[1]

    def reach_m(self, positions: Sequence[Position]) -> float:
        """Distance from the centre to the farthest of some places, straight through the Earth."""
        return float(np.linalg.norm(self.points(positions), axis=0).max(initial=0.0))

    def check_reach(self, positions: Sequence[Position]) -> None:
        """Refuse places where the normal section is no longer as good as the geodesic.

        Raises
        ------
        GeometryError
            If a place is more than 2 000 km away from the centre.
        """
        far = np.linalg.norm(self.points(positions), axis=0)
        if far.max(initial=0.0) > REACH_M:
            worst = positions[int(far.argmax())]
            raise GeometryError(
                f"{worst} is {far.max() / 1000:.0f} km from the middle of the scene; this reaches "
                f"{REACH_M / 1000:.0f} km, so leave it out or give a nearer centre"
            )

    def sights(self, observers: Sequence[Position]) -> "Sights":
        """Observers, each looking north."""
        return sights(self, observers)


@dataclass(frozen=True, slots=True, eq=False)
class Sights:
    """What n observers need in order to look at chart points.

    Parameters
    ----------
    east, north : ndarray, shape (n, 3)
        Each observer's own unit vectors, in the axes of the chart.
    east_offset_m, north_offset_m : ndarray, shape (n, 1)
        Components of the way from the observer to the chart's centre.
    """

    east: FloatArray
    north: FloatArray
    east_offset_m: FloatArray
    north_offset_m: FloatArray

    def components(self, points_m: FloatArray) -> tuple[FloatArray, FloatArray]:
        """East and north of points as each observer sees them, metres, shape (n, m)."""
        return (
            self.east @ points_m + self.east_offset_m,
            self.north @ points_m + self.north_offset_m,
        )

    def distance_m(self, points_m: FloatArray) -> FloatArray:
        """Distance over the ground from each observer to each point, shape (n, m).

        Accuracy
        --------
        From the plane at the observer by the mean radius of the Earth: 1 m in 500 km.
        """
        return self.ways(points_m)[0]

    def ways(self, points_m: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Distance over the ground, and the components, shape (n, m) each."""
        east, north = self.components(points_m)
        sine = np.minimum(np.hypot(east, north) / _EARTH_RADIUS_M, 1.0)
        return as_float(_EARTH_RADIUS_M * np.arcsin(sine)), east, north

    def turn(self, moves_m: FloatArray) -> tuple[FloatArray, FloatArray]:
        """To the right and along, of k moves over the chart each, (n, k, 2); shape (n, k)."""
        return (
            (moves_m @ self.east[:, :2, None])[:, :, 0],
            (moves_m @ self.north[:, :2, None])[:, :, 0],
        )

    def rows(self, index: IntArray) -> "Sights":
        """Some of the observers."""
        return Sights(
            self.east[index],
            self.north[index],
            self.east_offset_m[index],
            self.north_offset_m[index],
        )

    def azimuth_deg(self, points_m: FloatArray) -> FloatArray:
        """Give the true azimuth from each observer to each point, (−180, 180], shape (n, m)."""
        return np.asarray(np.degrees(np.arctan2(*self.components(points_m))))

    def turned(self, bearing_rad: FloatArray) -> "Sights":
        """Turn each observer's axes so that its second one looks along a bearing, shape (n,).

        The two components then are the offset across the bearing (right positive) and the distance
        along it, and their azimuth is the angle off the bearing, which needs no wrapping.
        """
        sin, cos = np.sin(bearing_rad)[:, None], np.cos(bearing_rad)[:, None]
        return Sights(
            cos * self.east - sin * self.north,
            sin * self.east + cos * self.north,
            cos * self.east_offset_m - sin * self.north_offset_m,
            sin * self.east_offset_m + cos * self.north_offset_m,
        )


def _frames(positions: Sequence[Position]) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Earth-centred place, east and north of each position, shape (n, 3) each."""
    lat = np.radians([p.lat_deg for p in positions])
    lon = np.radians([p.lon_deg for p in positions])
    sin_lat, cos_lat, sin_lon, cos_lon = np.sin(lat), np.cos(lat), np.sin(lon), np.cos(lon)
    radius = WGS84.a_m / np.sqrt(1.0 - WGS84.e2 * sin_lat * sin_lat)
    earth = np.stack(
        (
            radius * cos_lat * cos_lon,
            radius * cos_lat * sin_lon,
            radius * (1.0 - WGS84.e2) * sin_lat,
        ),
        axis=1,
    )
    east = np.stack((-sin_lon, cos_lon, np.zeros_like(lat)), axis=1)
    north = np.stack((-sin_lat * cos_lon, -sin_lat * sin_lon, cos_lat), axis=1)
    return earth, east, north


def chart_at(centre: Position) -> Chart:
    """Make the chart that touches the ellipsoid at `centre`."""
    earth, east, north = (frame[0] for frame in _frames([centre]))
    axes = np.stack((east, north, np.cross(east, north)))
    per_axis = 1.0 / as_float([WGS84.a_m, WGS84.a_m, WGS84.b_m]) ** 2
    form = (axes * per_axis) @ axes.T
    return Chart(centre, earth, axes, form, float(axes[2] @ (per_axis * earth)))


def mean_position(positions: Sequence[Position]) -> Position:
    """Give the middle of some places by the mean of their verticals; safe at 180° and the poles.

    Raises
    ------
    GeometryError
        If the places lie all round the Earth and have no middle.
    """
    _, east, north = _frames(positions)
    up = np.cross(east, north).mean(axis=0)
    if np.linalg.norm(up) < 1e-3:
        raise GeometryError(
            "the observers lie all round the Earth: there is no middle; leave some out"
        )
    lat = np.degrees(np.arctan2(up[2], np.hypot(up[0], up[1])))
    return Position(float(lat), float(np.degrees(np.arctan2(up[1], up[0]))))


def sights(chart: Chart, observers: Sequence[Position]) -> Sights:
    """Prepare observers for looking at points of a chart."""
    earth, east, north = _frames(observers)
    # Subtracting the Earth-centred places first keeps all later numbers small.
    way = chart.origin_m - earth
    return Sights(
        east @ chart.axes.T,
        north @ chart.axes.T,
        (east * way).sum(axis=1, keepdims=True),
        (north * way).sum(axis=1, keepdims=True),
    )
