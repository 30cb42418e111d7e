"""Where two bearings cross, exactly on the ellipsoid, by the iterated ellipsoidal gnomonic."""

import math
from dataclasses import dataclass
from typing import Any, Final

from geographiclib.geodesic import Geodesic

from plotter.errors import FormatError, NoIntersection, NotConverged, ParallelBearings
from plotter.geodesy.ellipsoid import WGS84
from plotter.geodesy.geodesic import normal_bearing_deg
from plotter.geodesy.position import Position

__all__ = ["Crossing", "crossing"]

_GEODESIC: Final = Geodesic(WGS84.a_m, WGS84.f)
# Lines that cut at less than this run side by side for thousands of times their distance apart;
# a compass degree would move such a crossing across an ocean.
_PARALLEL_DEG: Final = 0.01
_SETTLED_M: Final = 1e-5
_ROUNDS: Final = 30

_Vector = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Crossing:
    """The place where two bearings cross ahead of both observers.

    Parameters
    ----------
    position : Position
        The crossing.
    distance_a_m, distance_b_m : float
        From each observer along its bearing.
    cut_deg : float
        Angle between the lines there, 0 to 90.
    """

    position: Position
    distance_a_m: float
    distance_b_m: float
    cut_deg: float


def crossing(
    a: Position, bearing_a_true_deg: float, b: Position, bearing_b_true_deg: float
) -> Crossing:
    """Cross two geodesic bearings.

    Parameters
    ----------
    a, b : Position
        The observers.
    bearing_a_true_deg, bearing_b_true_deg : float
        Their bearings from true north.

    Returns
    -------
    Crossing
        The nearer of the two places where the great circles meet, if it is ahead of both.

    Raises
    ------
    ParallelBearings
        If the lines are one and the same, or cut at less than 0.01 degrees.
    NoIntersection
        If the lines meet only behind an observer; the message says behind which.
    NotConverged
        If the iteration does not settle.

    Accuracy
    --------
    10 micrometres divided by the sine of the cut.

    Source
    ------
    C. F. F. Karney, Algorithms for geodesics (2013), section 8, iterated as in S. Baselga and
    J. C. Martínez-Llario, Stud. Geophys. Geod. 62 (2018) 353–363.

    Examples
    --------
    >>> round(crossing(Position(0, 0), 45, Position(0, 2), 315).position.lat_deg, 3)
    1.006
    """
    for bearing in (bearing_a_true_deg, bearing_b_true_deg):
        if not math.isfinite(bearing):
            raise FormatError(f"a bearing must be a finite number of degrees, got {bearing!r}")
    normal_a = _normal(a, bearing_a_true_deg)
    normal_b = _normal(b, bearing_b_true_deg)
    line = _cross(normal_a, normal_b)
    size = math.hypot(*line)
    if size < math.sin(math.radians(_PARALLEL_DEG)):
        raise ParallelBearings(
            "the two bearings run along each other: no crossing; take a bearing from another place"
        )
    point: _Vector = (line[0] / size, line[1] / size, line[2] / size)
    opposite: _Vector = (-point[0], -point[1], -point[2])
    unit_a, unit_b = _unit(a), _unit(b)

    # The two great circles meet at a point and its opposite: the nearer one is meant. Which side of
    # an observer it lies on is decided on the ellipsoid, once the place is exact.
    start = min(
        (point, opposite),
        key=lambda p: math.acos(_clamp(_dot(p, unit_a))) + math.acos(_clamp(_dot(p, unit_b))),
    )
    lines = (
        _GEODESIC.Line(a.lat_deg, a.lon_deg, bearing_a_true_deg),
        _GEODESIC.Line(b.lat_deg, b.lon_deg, bearing_b_true_deg),
    )
    guess = Position(math.degrees(math.asin(_clamp(start[2]))), _longitude(start))
    position, cut_deg = _refine(lines, guess)
    distances = [_travelled_m(line, position) for line in lines]
    behind = tuple(
        name for name, distance in zip("AB", distances, strict=True) if distance < -_SETTLED_M
    )
    if behind:
        who = " and ".join(f"observer {name}" for name in behind)
        raise NoIntersection(
            f"the bearings meet only behind {who}: check for a reciprocal or a wrong north", behind
        )
    return Crossing(position, abs(distances[0]), abs(distances[1]), cut_deg)


def _refine(lines: tuple[Any, Any], guess: Position) -> tuple[Position, float]:
    """Project about the guess, cross the two straight lines there, and take the result as guess.

    Gives the crossing and the angle between the lines there.
    """
    lat, lon = guess.lat_deg, guess.lon_deg
    for _ in range(_ROUNDS):
        (p1, p2), (q1, q2) = (_plane_points(line, lat, lon) for line in lines)
        d1 = (p2[0] - p1[0], p2[1] - p1[1])
        d2 = (q2[0] - q1[0], q2[1] - q1[1])
        turn = d1[0] * d2[1] - d1[1] * d2[0]
        cut = math.degrees(math.asin(_clamp(abs(turn) / (math.hypot(*d1) * math.hypot(*d2)))))
        if cut < _PARALLEL_DEG:
            raise ParallelBearings(
                f"the two bearings cut at less than {_PARALLEL_DEG}°: no usable crossing; take a "
                "bearing from another place"
            )
        along = ((q1[0] - p1[0]) * d2[1] - (q1[1] - p1[1]) * d2[0]) / turn
        x, y = p1[0] + along * d1[0], p1[1] + along * d1[1]
        lat, lon = _from_plane(lat, lon, x, y)
        if math.hypot(x, y) < _SETTLED_M:
            return Position(lat, lon), cut
    raise NotConverged("the crossing of the two bearings did not settle; plot them by hand")


def _travelled_m(line: Any, position: Position) -> float:  # noqa: ANN401 - geographiclib is untyped
    """Distance from the observer along its line to a point of it, negative behind the observer."""
    there = _GEODESIC.Inverse(line.lat1, line.lon1, position.lat_deg, position.lon_deg)
    off = abs(normal_bearing_deg(there["azi1"] - line.azi1 + 180.0) - 180.0)
    return float(there["s12"]) if off <= 90.0 else -float(there["s12"])


def _clamp(value: float) -> float:
    return max(-1.0, min(1.0, value))


def _plane_points(
    line: Any,  # noqa: ANN401 - geographiclib is untyped
    lat: float,
    lon: float,
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Two points of a line near a centre, in the gnomonic plane about that centre."""
    there = _GEODESIC.Inverse(line.lat1, line.lon1, lat, lon)
    turn = math.radians(there["azi1"] - line.azi1)
    along = WGS84.a_m * math.atan2(
        math.sin(there["s12"] / WGS84.a_m) * math.cos(turn), math.cos(there["s12"] / WGS84.a_m)
    )
    reach = max(1000.0, 0.1 * there["s12"])
    points = []
    for s in (along - reach, along + reach):
        p = line.Position(s)
        to = _GEODESIC.Inverse(lat, lon, p["lat2"], p["lon2"], _GEODESIC.ALL)
        rho = to["m12"] / to["M12"]
        azimuth = math.radians(to["azi1"])
        points.append((rho * math.sin(azimuth), rho * math.cos(azimuth)))
    return points[0], points[1]


def _from_plane(lat: float, lon: float, x: float, y: float) -> tuple[float, float]:
    """Undo the gnomonic projection about (lat, lon) by Newton's method on the distance."""
    rho = math.hypot(x, y)
    line = _GEODESIC.Line(lat, lon, math.degrees(math.atan2(x, y)), _GEODESIC.ALL)
    s = WGS84.a_m * math.atan(rho / WGS84.a_m)
    p = line.Position(s, _GEODESIC.ALL)
    for _ in range(10):
        step = (p["m12"] / p["M12"] - rho) * p["M12"] ** 2
        s -= step
        p = line.Position(s, _GEODESIC.ALL)
        if abs(step) < _SETTLED_M * 1e-3:
            break
    return float(p["lat2"]), float(p["lon2"])


def _unit(p: Position) -> _Vector:
    lat, lon = math.radians(p.lat_deg), math.radians(p.lon_deg)
    return (math.cos(lat) * math.cos(lon), math.cos(lat) * math.sin(lon), math.sin(lat))


def _normal(p: Position, bearing_deg: float) -> _Vector:
    """Normal of the great circle that a bearing begins, on the unit sphere."""
    lat, lon, course = math.radians(p.lat_deg), math.radians(p.lon_deg), math.radians(bearing_deg)
    north = (-math.sin(lat) * math.cos(lon), -math.sin(lat) * math.sin(lon), math.cos(lat))
    east = (-math.sin(lon), math.cos(lon), 0.0)
    c, s = math.cos(course), math.sin(course)
    tangent = (
        c * north[0] + s * east[0],
        c * north[1] + s * east[1],
        c * north[2] + s * east[2],
    )
    return _cross(_unit(p), tangent)


def _cross(u: _Vector, v: _Vector) -> _Vector:
    return (
        u[1] * v[2] - u[2] * v[1],
        u[2] * v[0] - u[0] * v[2],
        u[0] * v[1] - u[1] * v[0],
    )


def _dot(u: _Vector, v: _Vector) -> float:
    return u[0] * v[0] + u[1] * v[1] + u[2] * v[2]


def _longitude(v: _Vector) -> float:
    return math.degrees(math.atan2(v[1], v[0]))
