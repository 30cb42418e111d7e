"""A chart for scenes of more than 2 000 km: equal areas about a centre, azimuths by geodesics."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Final

import numpy as np

from plotter.errors import GeometryError
from plotter.geodesy.arrays import FloatArray, IntArray, as_float
from plotter.geodesy.ellipsoid import WGS84
from plotter.geodesy.geodesic import inverse_arrays
from plotter.geodesy.position import Position

if TYPE_CHECKING:
    from pyproj import Proj

__all__ = ["WIDE_REACH_M", "WideChart", "WideSights"]

# Half the side of the largest square inside the circle that is the whole Earth: its corners are at
# the antipode, the middles of its sides a quarter of the way round, 10 000 km.
WIDE_REACH_M: Final = 9_000_000.0
_EARTH_RADIUS_M: Final = 6_371_008.8


@cache
def _plane(centre: Position) -> "Proj":
    from pyproj import Proj  # loaded late: few scenes are so wide

    return Proj(
        proj="laea",
        lat_0=centre.lat_deg,
        lon_0=centre.lon_deg,
        a=WGS84.a_m,
        rf=WGS84.inverse_flattening,
    )


@dataclass(frozen=True, slots=True)
class WideChart:
    """Lambert's azimuthal equal-area plane at a centre.

    Its points, shape (3, m), are latitude and longitude in degrees and a row of zeros.

    Parameters
    ----------
    centre : Position
        Where the plane touches the ellipsoid.
    """

    centre: Position

    def lift(self, x_m: FloatArray, y_m: FloatArray) -> FloatArray:
        """Points of the ellipsoid on chart points, shape (3, m)."""
        lat, lon = self.latlon_deg(x_m, y_m)
        return np.stack((lat, lon, np.zeros_like(lat)))

    def area_element(self, points_m: FloatArray) -> FloatArray:
        """One: equal areas."""
        return np.ones(points_m.shape[1])

    def latlon_deg(self, x_m: FloatArray, y_m: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Latitude and longitude of chart points."""
        lon, lat = _plane(self.centre)(as_float(x_m), as_float(y_m), inverse=True)
        return as_float(lat), as_float(lon)

    def position(self, x_m: float, y_m: float) -> Position:
        """Give the place of one chart point."""
        lat, lon = self.latlon_deg(as_float([x_m]), as_float([y_m]))
        return Position(float(lat[0]), float(lon[0]))

    def points(self, positions: Sequence[Position]) -> FloatArray:
        """Places on the chart: x, y and zero, shape (3, n)."""
        x, y = _plane(self.centre)(
            as_float([p.lon_deg for p in positions]), as_float([p.lat_deg for p in positions])
        )
        return np.stack((as_float(x), as_float(y), np.zeros(len(positions))))

    def flat(self, points_m: FloatArray) -> tuple[FloatArray, FloatArray]:
        """X and y of lifted points, shape (m,) each."""
        x, y = _plane(self.centre)(points_m[1], points_m[0])
        return as_float(x), as_float(y)

    def check_reach(self, positions: Sequence[Position]) -> None:
        """Refuse places beyond a quarter of the way round.

        Raises
        ------
        GeometryError
            If a place is more than 9 000 km away from the centre, along either axis of the chart.
        """
        far = np.abs(self.points(positions)[:2]).max(axis=0)
        if far.max(initial=0.0) > WIDE_REACH_M:
            worst = positions[int(far.argmax())]
            raise GeometryError(
                f"{worst} is too far from the middle of the scene: a fix reaches "
                f"{WIDE_REACH_M / 1000:.0f} km, so leave it out or give a nearer centre"
            )

    def sights(self, observers: Sequence[Position]) -> "WideSights":
        """Observers, each looking north."""
        return WideSights(
            as_float([p.lat_deg for p in observers])[:, None],
            as_float([p.lon_deg for p in observers])[:, None],
            np.zeros((len(observers), 1)),
        )


@dataclass(frozen=True, slots=True, eq=False)
class WideSights:
    """Observers who look at points along geodesics.

    Parameters
    ----------
    lat_deg, lon_deg, bearing_rad : ndarray, shape (n, 1)
        Where each is, and where its axis points.
    """

    lat_deg: FloatArray
    lon_deg: FloatArray
    bearing_rad: FloatArray

    def components(self, points_m: FloatArray) -> tuple[FloatArray, FloatArray]:
        """To the right of the axis and along it, as seen in the plane at the observer, (n, m).

        Their length is the radius of the Earth times the sine of the way there: by so much a metre
        across the line turns the bearing, also beyond a quarter of the way round.
        """
        _, right, ahead = self.ways(points_m)
        return right, ahead

    def ways(self, points_m: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Geodesic distance, and the components, shape (n, m) each."""
        distance, azimuth, _ = inverse_arrays(self.lat_deg, self.lon_deg, points_m[0], points_m[1])
        flat = _EARTH_RADIUS_M * np.abs(np.sin(distance / _EARTH_RADIUS_M))
        off = np.radians(azimuth) - self.bearing_rad
        return distance, flat * np.sin(off), flat * np.cos(off)

    def azimuth_deg(self, points_m: FloatArray) -> FloatArray:
        """Angle of each point off each observer's axis, (−180, 180], shape (n, m)."""
        return np.asarray(np.degrees(np.arctan2(*self.components(points_m))))

    def distance_m(self, points_m: FloatArray) -> FloatArray:
        """Geodesic distance, shape (n, m)."""
        distance, _, _ = inverse_arrays(self.lat_deg, self.lon_deg, points_m[0], points_m[1])
        return distance

    def turned(self, bearing_rad: FloatArray) -> "WideSights":
        """Turn each observer's axis to a bearing, shape (n,)."""
        return WideSights(self.lat_deg, self.lon_deg, self.bearing_rad + bearing_rad[:, None])

    def turn(self, moves_m: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Refuse: what moves is not tracked over so wide a scene.

        Raises
        ------
        GeometryError
            Always.
        """
        raise GeometryError(
            "a moving target is followed within 2 000 km only: leave out the far observers, or fix "
            f"it as if it stood still ({len(moves_m)} reports)"
        )

    def rows(self, index: IntArray) -> "WideSights":
        """Some of the observers."""
        return WideSights(self.lat_deg[index], self.lon_deg[index], self.bearing_rad[index])
