"""The sea of an extract, which has coastlines only: land on the left of each, sea on the right.

Where the coasts do not close, nothing is guessed: that ground is neither land nor sea.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray

from plotter.geodesy.arrays import FloatArray, as_float
from plotter.tiles.grid import Box
from plotter.tiles.outline import land_in

__all__ = ["Run", "Shores", "runs_of", "shores"]

Run: TypeAlias = tuple[NDArray[np.int64], FloatArray]
"""Numbers of a coastline's nodes, and their longitudes and latitudes."""

# How far beside a coast one looks for its ground, degrees: a metre.
_BESIDE_DEG: Final = 1e-5
# Votes for a face from the wrong side, at most: coasts that a hand drew cross now and then.
_WRONG_SHARE: Final = 0.02
# An end so near the edge of the data is led on to it: the next node lay beyond and was cut off.
_LEAST_LEAD_M: Final = 150.0
_MOST_LEAD_M: Final = 1_000.0
_LEAD_STEPS: Final = 3.0
_METRES_IN_DEGREE: Final = 111_000.0
_HOUSES_IN_SEA: Final = 0.02
_VOTES: Final = 200_000
_CLEAR: Final = 0.98


@dataclass(frozen=True, slots=True, eq=False)
class Shores:
    """What the coasts make of some ground; the rest of it is land.

    Parameters
    ----------
    sea, unknown : list of shapely geometry
        Areas in longitude and latitude: the sea, and what may be land or sea.
    """

    sea: list[shapely.Geometry]
    unknown: list[shapely.Geometry]


def runs_of(shapes: Sequence[shapely.Geometry]) -> list[Run]:
    """Runs of coastlines that have no numbers: nodes in one place are one node."""
    lines = [
        shapely.get_coordinates(part)
        for shape in shapes
        for part in shapely.get_parts(shape)
        if part.geom_type == "LineString"
    ]
    if not lines:
        return []
    _, numbers = np.unique(np.concatenate(lines), axis=0, return_inverse=True)
    ends = np.cumsum([len(line) for line in lines])[:-1]
    return list(zip(np.split(numbers.ravel().astype(np.int64), ends), lines, strict=True))


def shores(runs: Sequence[Run], ground: shapely.Geometry, houses: FloatArray) -> Shores:
    """Sea, and what is not known, of the ground that an extract covers.

    Parameters
    ----------
    runs : sequence of Run
        Coastlines with land on their left, cut where nodes are missing.
    ground : shapely geometry
        Area in longitude and latitude.
    houses : ndarray of float64, shape (n, 2)
        Where some of the houses stand: a sea that holds more than 2 % of them is none.

    Returns
    -------
    Shores
        Without any coast the world outline decides, where it says the same of all the ground and
        no house stands in its sea; else it is not known.

    Source
    ------
    OpenStreetMap wiki, tag natural=coastline: land on the left side, water on the right.
    """
    chains = _chains(runs)
    found = Shores([], [])
    for part in shapely.get_parts(ground):
        if part.geom_type == "Polygon" and part.area > 0.0:
            each = _of_part(chains, part, houses)
            found = Shores(found.sea + each.sea, found.unknown + each.unknown)
    return found


def _of_part(chains: Sequence[FloatArray], part: shapely.Polygon, houses: FloatArray) -> Shores:
    shapely.prepare(part)
    near = [line for line in chains if part.intersects(shapely.LineString(line))]
    here = houses[shapely.contains_xy(part, houses)] if len(houses) else houses
    if not near:
        return _by_outline(part, here)
    lead = _lead_deg(near)
    led = [_led(line, part, lead) for line in near]
    lines = [shapely.LineString(line) for line, _ in led]
    loose = [end for _, ends in led for end in ends]
    noded = shapely.unary_union([part.boundary, *lines])
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
    faces = faces[shapely.contains_properly(part, shapely.point_on_surface(faces))]
    left, right = _beside([line for line, _ in led])
    land, sea = _votes(faces, left), _votes(faces, right)
    # A coast that ends in the middle leaves open what lies on its sides, however small it is.
    open_ended = np.zeros(len(faces), dtype=bool)
    if loose:
        tree = shapely.STRtree(faces)
        _, touched = tree.query(shapely.points(loose), predicate="dwithin", distance=1e-8)
        open_ended[touched] = True
    is_sea = (sea > 0) & (land <= _WRONG_SHARE * sea) & ~open_ended
    is_land = (land > 0) & (sea <= _WRONG_SHARE * land) & ~open_ended
    if len(here) and _votes(faces[is_sea], here).sum() > _HOUSES_IN_SEA * len(here):
        return Shores([], [part])
    return Shores(faces[is_sea].tolist(), faces[~is_sea & ~is_land].tolist())


def _by_outline(part: shapely.Polygon, houses: FloatArray) -> Shores:
    """Without a coast: all land or all sea, as the world outline has it; or not known."""
    if len(houses):
        return Shores([], [])
    west, south, east, north = part.bounds
    land = [
        shapely.Polygon(each.rings[0][:, ::-1], [ring[:, ::-1] for ring in each.rings[1:]])
        for each in land_in(Box(south, west, north, east))
    ]
    share = shapely.union_all(land).intersection(part).area / part.area if land else 0.0
    if share >= _CLEAR:
        return Shores([], [])
    return Shores([part], []) if share <= 1.0 - _CLEAR else Shores([], [part])


def _chains(runs: Sequence[Run]) -> list[FloatArray]:
    """Runs joined where one ends at the node at which another begins."""
    starts: dict[int, list[int]] = {}
    ends: dict[int, int] = {}
    for number, (nodes, _) in enumerate(runs):
        starts.setdefault(int(nodes[0]), []).append(number)
        ends[int(nodes[-1])] = ends.get(int(nodes[-1]), 0) + 1
    follows = {
        number: starts[int(nodes[-1])][0]
        for number, (nodes, _) in enumerate(runs)
        if len(starts.get(int(nodes[-1]), ())) == 1 and ends[int(nodes[-1])] == 1
    }
    led_to = set(follows.values())
    left = set(range(len(runs)))
    found = []
    # First those that nothing leads to; what is left over then are rings.
    for first in [n for n in range(len(runs)) if n not in led_to] + list(range(len(runs))):
        chain: list[FloatArray] = []
        following: int | None = first
        while following is not None and following in left:
            left.discard(following)
            chain.append(runs[following][1] if not chain else runs[following][1][1:])
            following = follows.get(following)
        if chain:
            found.append(np.concatenate(chain))
    return found


def _lead_deg(chains: Sequence[FloatArray]) -> float:
    steps = np.concatenate([_lengths_m(line) for line in chains])
    lead = min(max(_LEAST_LEAD_M, _LEAD_STEPS * float(np.median(steps))), _MOST_LEAD_M)
    return lead / _METRES_IN_DEGREE


def _lengths_m(line: FloatArray) -> FloatArray:
    step = np.diff(line, axis=0) * _METRES_IN_DEGREE
    step[:, 0] *= np.cos(np.radians(line[:-1, 1]))
    return as_float(np.hypot(step[:, 0], step[:, 1]))


def _led(
    line: FloatArray, part: shapely.Polygon, lead_deg: float
) -> tuple[FloatArray, list[FloatArray]]:
    """A coast led on over the edge where it ends close to it; and the ends that stay loose."""
    if (line[0] == line[-1]).all():
        return line, []
    loose = []
    if part.covers(shapely.Point(line[-1])):
        more = _way_out(line[-1], line[-1] - line[-2], part, lead_deg)
        line = line if more is None else np.vstack((line, more))
        loose += [] if more is not None else [line[-1]]
    if part.covers(shapely.Point(line[0])):
        more = _way_out(line[0], line[0] - line[1], part, lead_deg)
        line = line if more is None else np.vstack((more, line))
        loose += [] if more is not None else [line[0]]
    return line, loose


def _way_out(
    end: FloatArray, way: FloatArray, part: shapely.Polygon, lead_deg: float
) -> FloatArray | None:
    """A place just beyond the edge: straight on, else the nearest; None if it is too far."""
    shrink = as_float([np.cos(np.radians(end[1])), 1.0])
    length = float(np.hypot(*(way * shrink)))
    places = []
    if length > 0.0:
        ahead = end + way / length * lead_deg
        met = part.boundary.intersection(shapely.LineString([end, ahead]))
        hits = shapely.get_coordinates(met)
        if len(hits):
            places.append(hits[np.argmin(np.hypot(*((hits - end) * shrink).T))])
    places.append(
        shapely.get_coordinates(shapely.shortest_line(shapely.Point(end), part.boundary))[-1]
    )
    for place in places:
        off = (place - end) * shrink
        far = float(np.hypot(*off))
        if far <= lead_deg:
            unit = (place - end) / far if far > 0 else way / max(length, 1e-12)
            return as_float(place + unit * _BESIDE_DEG)
    return None


def _beside(lines: Sequence[FloatArray]) -> tuple[FloatArray, FloatArray]:
    """Points a metre to the left and to the right of the middles of sides, of every line some."""
    every = 1 + sum(len(line) for line in lines) // _VOTES
    a = np.concatenate([line[:-1][::every] for line in lines])
    b = np.concatenate([line[1:][::every] for line in lines])
    way = b - a
    length = np.hypot(way[:, 0], way[:, 1])
    long = length > 0.0
    unit = way[long] / length[long, None]
    middle = 0.5 * (a[long] + b[long])
    off = _BESIDE_DEG * np.column_stack((-unit[:, 1], unit[:, 0]))
    return middle + off, middle - off


def _votes(faces: NDArray[np.object_], points: FloatArray) -> FloatArray:
    """How many of the points lie in each face."""
    shapely.prepare(faces)
    point, face = shapely.STRtree(faces).query(shapely.points(points))
    within = shapely.contains_xy(faces[face], points[point])
    return np.bincount(face[within], minlength=len(faces)).astype(np.float64)
