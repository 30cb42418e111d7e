"""The smallest ground that holds the truth with a stated probability, as outlines with area."""

from collections.abc import Callable
from typing import Final, TypeAlias

import numpy as np
import shapely

from plotter.fix.chart import AnyChart
from plotter.fix.contour import CellFinder, smoothed
from plotter.fix.outline import Ring, rings_of_cells, signed_area
from plotter.fix.quadtree import DEEPEST, Leaves
from plotter.fix.result import Piece, Polygon, Region
from plotter.geodesy.arrays import FloatArray, IntArray, as_float
from plotter.geodesy.position import Position

__all__ = [
    "NOTABLE_SHARE",
    "BestPoint",
    "densest_first",
    "densest_leaves",
    "parts_of",
    "polygons_of",
    "region",
]

NOTABLE_SHARE: Final = 0.05
"""A piece with less than this is kept, but neither polished nor spoken of."""

BestPoint: TypeAlias = Callable[[IntArray], tuple[float, float]]
"""From the leaves of a piece, densest first, to its most likely point, chart metres."""

# A ring of fewer corners is a cell or two: there is nothing to smooth.
_FEWEST_CORNERS: Final = 6
# A straight side of the chart bends by up to 8 m over this length on a map in degrees.
_LONGEST_SIDE_M: Final = 20_000.0


def densest_first(leaves: Leaves, share: FloatArray | None = None) -> IntArray:
    """Order of the leaves by density, densest first.

    Parameters
    ----------
    leaves : Leaves
        The cells.
    share : ndarray, shape (m,), optional
        Weights to use instead of the leaves' own mass.
    """
    density = leaves.log_density if share is None else share / leaves.area_m2
    return np.argsort(-density)


def densest_leaves(order: IntArray, share: FloatArray, probability: float) -> IntArray:
    """Fewest leaves that together hold a probability, densest first."""
    count = int(np.searchsorted(np.cumsum(share[order]), probability)) + 1
    return order[:count]


def region(
    chart: AnyChart,
    leaves: Leaves,
    order: IntArray,
    probability: float,
    best_point: BestPoint,
    finder: CellFinder | None = None,
) -> Region:
    """Outline the densest leaves.

    Parameters
    ----------
    chart : Chart
        Where the leaves lie.
    leaves : Leaves
        The posterior.
    order : ndarray of int
        From `densest_first`.
    probability : float
        What the region is to hold.
    best_point : callable
        Finds the most likely point of a piece.
    finder : CellFinder, optional
        Of the same leaves, where it is there already.

    Returns
    -------
    Region
        Its pieces share no side; their shares sum to `probability`, up to one leaf.
    """
    chosen = densest_leaves(order, leaves.mass, probability)
    first_outside = order[min(chosen.size, order.size - 1)]
    log_limit = 0.5 * float(leaves.log_density[chosen[-1]] + leaves.log_density[first_outside])
    pieces = []
    for mine, polygon, gain in _outlined(
        chart, leaves, chosen, (finder or CellFinder(leaves), log_limit)
    ):
        share = float(leaves.mass[mine].sum())
        if share >= NOTABLE_SHARE:
            x, y = best_point(mine)
        else:
            x, y = float(leaves.x_m[mine[0]]), float(leaves.y_m[mine[0]])
        area_km2 = gain * float(leaves.area_m2[mine].sum()) / 1e6
        pieces.append(Piece(share, chart.position(x, y), polygon, area_km2))
    pieces.sort(key=lambda piece: -piece.share)
    return Region(probability, sum(piece.area_km2 for piece in pieces), tuple(pieces))


def polygons_of(
    chart: AnyChart, leaves: Leaves, chosen: IntArray
) -> list[tuple[IntArray, Polygon]]:
    """Outline some leaves.

    Parameters
    ----------
    chart : Chart
        Where the leaves lie.
    leaves : Leaves
        All of them.
    chosen : ndarray of int
        Which to outline.

    Returns
    -------
    list of (ndarray of int, Polygon)
        Each connected part, largest outline first: its leaves in the order given, and its outline.
        Parts share no side.
    """
    return [(mine, polygon) for mine, polygon, _ in _outlined(chart, leaves, chosen)]


def _outlined(
    chart: AnyChart,
    leaves: Leaves,
    chosen: IntArray,
    crossing: tuple[CellFinder, float] | None = None,
) -> list[tuple[IntArray, Polygon, float]]:
    """As `polygons_of`, and by how much each outline holds more than its cells, 1 for as much.

    Where the logarithm of a density is given to cross, all leaves above it are chosen and none
    below: the outline then runs where the density crosses it, not along the steps of the cells.
    """
    rings, outer, holes, owner = _connected(leaves, chosen)
    beside = as_float([_ground_beside(rings[i]) for i in holes]).reshape(-1, 2)
    holes_of: dict[int, list[Ring]] = {}
    for i, k in zip(
        holes, _owners([shapely.Polygon(rings[j]) for j in outer], *beside.T), strict=True
    ):
        holes_of.setdefault(int(k), []).append(rings[i])

    def line(ring: Ring) -> FloatArray:
        if crossing is None or len(ring) < _FEWEST_CORNERS:
            return as_float(ring)
        return smoothed(ring, leaves, *crossing)

    found = []
    for k, i in enumerate(outer):
        steps = [rings[i], *holes_of.get(k, [])]
        lines = [line(ring) for ring in steps]
        gain = sum(map(_signed_area, lines)) / sum(float(signed_area(ring)) for ring in steps)
        outline, *inner = (_positions(chart, leaves.radius_m, each) for each in lines)
        found.append((chosen[owner == k], Polygon(outline, tuple(inner)), gain))
    return found


def _connected(
    leaves: Leaves, chosen: IntArray
) -> tuple[list[Ring], list[int], list[int], IntArray]:
    """Rings about some leaves, which are outlines, largest first, and holes, and whose each is."""
    size = np.left_shift(1, DEEPEST - leaves.level[chosen])
    column, row = leaves.column[chosen] * size, leaves.row[chosen] * size
    rings = rings_of_cells(*_fewer_cells(leaves, chosen))
    area = [signed_area(ring) for ring in rings]
    outer = sorted((i for i, a in enumerate(area) if a > 0), key=lambda i: -area[i])
    holes = [i for i, a in enumerate(area) if a < 0]
    shells = [shapely.Polygon(rings[i]) for i in outer]
    return rings, outer, holes, _owners(shells, column + 0.5 * size, row + 0.5 * size)


def parts_of(leaves: Leaves, chosen: IntArray) -> list[IntArray]:
    """Connected parts of some leaves, that of the largest outline first."""
    _, outer, _, owner = _connected(leaves, chosen)
    return [chosen[owner == k] for k in range(len(outer))]


def _signed_area(line: FloatArray) -> float:
    """Area in unit cells, above zero anticlockwise; about its own middle, to lose no figures."""
    x, y = (line - line.mean(axis=0)).T
    return 0.5 * float(x @ np.roll(y, -1) - y @ np.roll(x, -1))


def _fewer_cells(leaves: Leaves, chosen: IntArray) -> tuple[IntArray, IntArray, IntArray]:
    """Corners and sides of the chosen cells, complete quads taken as their parent.

    Quads stay side by side in the tree, south-west first; one step leaves a quarter of the cells,
    which is enough.
    """
    at = np.sort(chosen)
    level, column, row = leaves.level[at], leaves.column[at], leaves.row[at]
    first = (at[3:] == at[:-3] + 3) & (level[3:] == level[:-3])
    first &= (column[:-3] % 2 == 0) & (column[3:] == column[:-3] + 1)
    first &= (row[:-3] % 2 == 0) & (row[3:] == row[:-3] + 1)
    quad = np.flatnonzero(first)
    size = np.left_shift(1, DEEPEST - level)
    column, row = column * size, row * size
    size[quad] *= 2
    kept = np.ones(at.size, dtype=np.bool_)
    kept[(quad[:, None] + [1, 2, 3]).ravel()] = False
    return column[kept], row[kept], size[kept]


def _owners(shells: list[shapely.Polygon], x: FloatArray, y: FloatArray) -> IntArray:
    """Which shell each cell lies in: the innermost, as a piece may stand in another's hole."""
    owner = np.zeros(x.size, dtype=np.int64)
    for k, shell in enumerate(
        shells[1:], start=1
    ):  # smaller and smaller; the largest needs no test
        west, south, east, north = shell.bounds
        near = np.flatnonzero((x > west) & (x < east) & (y > south) & (y < north))
        shapely.prepare(shell)
        owner[near[shapely.contains_xy(shell, x[near], y[near])]] = k
    return owner


def _ground_beside(hole: Ring) -> tuple[float, float]:
    """Give a point of the piece just outside its hole: left of the hole's first side."""
    (x0, y0), (x1, y1) = hole[0].tolist(), hole[1].tolist()
    along_x, along_y = float(np.sign(x1 - x0)), float(np.sign(y1 - y0))
    return 0.5 * (x0 + x1) - 0.25 * along_y, 0.5 * (y0 + y1) + 0.25 * along_x


def _positions(chart: AnyChart, radius_m: float, ring: FloatArray) -> tuple[Position, ...]:
    metres = ring * (2.0 * radius_m * 0.5**DEEPEST) - radius_m
    side = np.roll(metres, -1, axis=0) - metres
    parts = np.ceil(np.abs(side).sum(axis=1) / _LONGEST_SIDE_M).astype(np.int64)
    if parts.max() > 1:
        corner = np.repeat(np.arange(len(ring)), parts)
        step = np.arange(corner.size) - np.repeat(np.cumsum(parts) - parts, parts)
        metres = metres[corner] + side[corner] * (step / parts[corner])[:, None]
    lat, lon = chart.latlon_deg(metres[:, 0], metres[:, 1])
    return tuple(map(Position, lat.tolist(), lon.tolist()))
