"""Places that somebody can get to and listen from: in an area, within a time, by name, by road.

Everything is laid out on the plane of the fix's chart, so that 180° and the poles are places like
any other.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from plotter.errors import GeometryError
from plotter.fix.chart import REACH_M, Chart, chart_at, mean_position
from plotter.fix.result import Polygon
from plotter.geodesy.arrays import FloatArray, as_float
from plotter.geodesy.geodesic import inverse_arrays
from plotter.geodesy.position import Position

__all__ = ["ABOUT", "Candidate", "Reach", "along", "anywhere", "inside", "named"]

ABOUT: Final = 400
"""How many places an area or a road is covered with unless said otherwise."""

# Corners of the circle that stands for a reach: 0.03 % short of its area.
_QUARTER: Final = 32
# A reach that is no limit still has to be on the chart.
_CLIP_MARGIN: Final = 1.001


@dataclass(frozen=True, slots=True)
class Candidate:
    """A place to listen from.

    Parameters
    ----------
    position : Position
        Where.
    name : str
        What people call it; empty where it is only a point of an area or a road.
    """

    position: Position
    name: str = ""


@dataclass(frozen=True, slots=True)
class Reach:
    """What can be reached from a start: everything within a distance, as the crow flies.

    A straight line is the shortest way there is: by road or on foot it takes longer.

    Parameters
    ----------
    start : Position
        Where the listener is now.
    radius_m : float
        How far he gets, above 0, at most 2 000 km.

    Raises
    ------
    GeometryError
        If the radius is not in that range.
    """

    start: Position
    radius_m: float

    def __post_init__(self) -> None:
        """Reject what is no reach."""
        if not (math.isfinite(self.radius_m) and 0.0 < self.radius_m <= REACH_M):
            raise GeometryError(
                f"a reach of {self.radius_m / 1000.0:g} km is not between 0 and "
                f"{REACH_M / 1000.0:.0f} km: check the minutes and the speed"
            )

    def holds(self, places: Sequence[Position]) -> list[bool]:
        """Which places lie within the reach, by geodesic distance."""
        distance, _, _ = inverse_arrays(
            self.start.lat_deg,
            self.start.lon_deg,
            [place.lat_deg for place in places],
            [place.lon_deg for place in places],
        )
        return [bool(near) for near in distance <= self.radius_m]


def named(
    places: Iterable[tuple[str, Position]], *, reach: Reach | None = None
) -> tuple[Candidate, ...]:
    """Named places, in their order, those within a reach only.

    Parameters
    ----------
    places : iterable of (str, Position)
        Name and place; a later place of the same name replaces the earlier.
    reach : Reach or None
        No limit unless given.
    """
    found = [Candidate(position, name) for name, position in dict(places).items()]
    return _within(reach, found)


def anywhere(reach: Reach, *, count: int = ABOUT) -> tuple[Candidate, ...]:
    """Even grid of all that a reach holds, its start included.

    Parameters
    ----------
    reach : Reach
        The circle.
    count : int
        About how many places.
    """
    chart = chart_at(reach.start)
    found = _grid(chart, _disc(chart, reach), count)
    return (Candidate(reach.start), *_within(reach, found))


def inside(
    polygons: Sequence[Polygon], *, count: int = ABOUT, reach: Reach | None = None
) -> tuple[Candidate, ...]:
    """Even grid inside polygons.

    Parameters
    ----------
    polygons : sequence of Polygon
        Their sides are straight on the chart, which is nearly the shortest way between corners, and
        never the long way round the Earth.
    count : int
        About how many places; at least one however thin the polygons.
    reach : Reach or None
        Takes only the part within it.

    Raises
    ------
    GeometryError
        If an outline crosses itself, or reaches too far for a chart.
    """
    corners = [corner for polygon in polygons for corner in polygon.outer]
    if not corners:
        return ()
    chart = chart_at(mean_position(corners))
    _check_reach(chart, corners)
    if reach is not None and not _near(chart, reach.start):
        return ()
    shapes = [
        shapely.Polygon(_ring(chart, polygon.outer), [_ring(chart, h) for h in polygon.holes])
        for polygon in polygons
    ]
    for shape in shapes:
        if not shape.is_valid:
            raise GeometryError(
                f"the outline of the area crosses itself ({shapely.is_valid_reason(shape)}, metres "
                f"from {chart.centre}): draw it again"
            )
    ground = shapely.union_all(shapes)
    if reach is not None:
        ground = ground.intersection(_disc(chart, reach))
    return _within(reach, _grid(chart, ground, count))


def along(
    lines: Sequence[Sequence[Position]], reach: Reach, *, count: int = ABOUT
) -> tuple[Candidate, ...]:
    """Places at even spacing along lines, such as roads.

    Parameters
    ----------
    lines : sequence of sequence of Position
        Corners of each line.
    reach : Reach
        Takes only the parts within it; a road layer often covers a whole country.
    count : int
        About how many places over all lines.
    """
    chart = chart_at(reach.start)
    disc = _disc(chart, reach)
    shapely.prepare(disc)
    road = _near_lines(chart, lines)
    road = road[shapely.intersects(disc, road)]
    pieces = shapely.get_parts(shapely.intersection(road, disc))
    ends = np.cumsum(shapely.length(pieces))
    if not ends.size or ends[-1] == 0.0:
        return ()
    # The spacing runs on from one piece to the next: many short ones share one place.
    at = (np.arange(count) + 0.5) * (ends[-1] / count)
    piece = np.searchsorted(ends, at, side="right").clip(max=ends.size - 1)
    points = shapely.line_interpolate_point(
        pieces[piece], at - ends[piece] + shapely.length(pieces[piece])
    )
    return _within(reach, _candidates(chart, shapely.get_coordinates(points)))


def _within(reach: Reach | None, found: Sequence[Candidate]) -> tuple[Candidate, ...]:
    if reach is None or not found:
        return tuple(found)
    kept = reach.holds([candidate.position for candidate in found])
    return tuple(candidate for candidate, near in zip(found, kept, strict=True) if near)


def _check_reach(chart: Chart, corners: Sequence[Position]) -> None:
    far = float(np.linalg.norm(chart.points(corners), axis=0).max())
    if far > REACH_M:
        raise GeometryError(
            f"the area reaches {far / 1000.0:.0f} km from its middle, too far to be searched at "
            f"once: give a smaller one, at most {REACH_M / 1000.0:.0f} km"
        )


def _near(chart: Chart, place: Position) -> bool:
    """Whether a circle about a place can touch what the chart shows."""
    return float(np.linalg.norm(chart.points([place]))) < 2.0 * REACH_M


def _disc(chart: Chart, reach: Reach) -> shapely.Polygon:
    x, y, _ = chart.points([reach.start])[:, 0].tolist()
    # A hair too wide: what lies outside is sorted out by the geodesic distance.
    return shapely.Point(x, y).buffer(_CLIP_MARGIN * reach.radius_m, quad_segs=_QUARTER)


def _ring(chart: Chart, ring: Sequence[Position]) -> FloatArray:
    return np.asarray(chart.points(ring)[:2].T)


def _near_lines(chart: Chart, lines: Sequence[Sequence[Position]]) -> NDArray[np.object_]:
    """Lines on the chart, cut where they leave the half of the Earth that the chart shows."""
    corners = [corner for line in lines for corner in line]
    if not corners:
        return np.empty(0, dtype=np.object_)
    points = chart.points(corners)
    near = np.linalg.norm(points, axis=0) < 2.0 * REACH_M
    whole = np.repeat(np.arange(len(lines)), [len(line) for line in lines])
    # A new part begins with each line, and wherever a line comes near again.
    starts = np.append([True], (whole[1:] != whole[:-1]) | (near[1:] != near[:-1]))
    part = np.cumsum(starts) - 1
    kept = near & (np.bincount(part)[part] > 1)
    _, part = np.unique(part[kept], return_inverse=True)
    found = shapely.linestrings(points[:2].T[kept], indices=part) if kept.any() else []
    return np.asarray(found, dtype=np.object_)


def _grid(chart: Chart, ground: shapely.Geometry, count: int) -> list[Candidate]:
    """Square grid over a shape of the chart; one place of its own where no point falls inside."""
    if ground.is_empty or ground.area == 0.0:
        return []
    step = math.sqrt(ground.area / count)
    west, south, east, north = ground.bounds
    x, y = (
        low + 0.5 * (high - low - step * (n - 1)) + step * np.arange(n)
        for low, high, n in (
            (west, east, math.ceil((east - west) / step)),
            (south, north, math.ceil((north - south) / step)),
        )
    )
    x, y = (axis.ravel() for axis in np.meshgrid(x, y))
    shapely.prepare(ground)
    held = shapely.contains_xy(ground, x, y)
    points = np.stack((x[held], y[held]), axis=1)
    if not points.size:
        points = shapely.get_coordinates(ground.representative_point())
    return list(_candidates(chart, points))


def _candidates(chart: Chart, points_m: FloatArray) -> tuple[Candidate, ...]:
    lat, lon = chart.latlon_deg(as_float(points_m[:, 0]), as_float(points_m[:, 1]))
    return tuple(
        Candidate(Position(*place)) for place in zip(lat.tolist(), lon.tolist(), strict=True)
    )
