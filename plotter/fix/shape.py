"""What shape the answer has, decided once: point, strip, ring, disc, wedge, several, nothing.

A shape is read off the 95 % region: how its ground lies about each place that says anything of it,
how long it is beside its width, and how much of it hangs together.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from plotter.fix.evidence import Bearing
from plotter.fix.listening import Listening
from plotter.fix.posterior import Posterior
from plotter.fix.ranges import Range
from plotter.fix.region import NOTABLE_SHARE, densest_first, densest_leaves, parts_of
from plotter.fix.result import Kind
from plotter.geodesy.arrays import FloatArray, IntArray, as_float

__all__ = ["Headline", "Shape", "headline_of", "shape_of", "weighted_quantiles"]

_LONG: Final = 5.0
_OUTER: Final = 0.95
_OUTER_SHARE: Final = 0.01
# One piece stands for all where it holds as much.
_MOST: Final = 0.8
# A wedge is seen under less than this to either side, and ends so many times as far as it begins.
_WEDGE_DEG: Final = 60.0
_WEDGE_DEPTH: Final = 4.0
# A ring or a disc lies round a place on so much of the horizon; a ring's hole is so wide.
_ROUND: Final = 0.75
_HOLLOW: Final = 0.35
# So many times the ground of its 50 % region is no longer one place. A normal density has 4.3; two
# good bearings, with their doubt, some 20.
_THIN: Final = 50.0
_MOST_PLACES: Final = 12
_COMPASS: Final = 36


@dataclass(frozen=True, slots=True, eq=False)
class Headline:
    """What the first sentence is about.

    With one or two reports it is what holds if they are right, where that is likelier than not,
    since nothing can tell that they are wrong; from three on, the full posterior.

    Parameters
    ----------
    weights : ndarray, shape (m,)
        Probability of each leaf; sums to 1.
    chosen : ndarray of int
        The leaves of its 95 % region, densest first.
    area_km2 : float
        Their area.
    if_right : bool
        Whether it holds only if the reports are right.
    """

    weights: FloatArray
    chosen: IntArray
    area_km2: float
    if_right: bool


@dataclass(frozen=True, slots=True)
class Shape:
    """The shape of an answer; what does not belong to its kind is zero.

    Parameters
    ----------
    kind : str
        ``point``, ``strip``, ``ring``, ``disc``, ``wedge``, ``several places`` or ``nothing``.
    share : float
        How much of the 95 % region it describes.
    start : int or None
        The report whose place a wedge starts from, or that a ring or disc lies round.
    direction_true_deg, spread_deg : float
        Of a wedge: towards its middle, and half the angle that holds 68 % of it.
    near_m, middle_m, far_m : float
        Distances from that place that 5, 50 and 95 % of it lie within.
    axis_true_deg, length_m, width_m : float
        Of a strip: bearing of its long axis, [0, 180), and its extents from end to end.
    at_the_edge : bool
        Whether the ground that is computed cuts it off.
    """

    kind: Kind
    share: float = 1.0
    start: int | None = None
    direction_true_deg: float = 0.0
    spread_deg: float = 0.0
    near_m: float = 0.0
    middle_m: float = 0.0
    far_m: float = 0.0
    axis_true_deg: float = 0.0
    length_m: float = 0.0
    width_m: float = 0.0
    at_the_edge: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class _Seen:
    """Cells as seen from one report's place, and their weights."""

    start: int
    distance_m: FloatArray
    azimuth_rad: FloatArray
    share: FloatArray

    @property
    def quantiles_m(self) -> tuple[float, float, float]:
        near, middle, far = weighted_quantiles(
            self.distance_m, self.share, as_float([0.05, 0.5, 0.95])
        )
        return float(near), float(middle), float(far)

    @property
    def direction_rad(self) -> float:
        east, north = self.share @ np.sin(self.azimuth_rad), self.share @ np.cos(self.azimuth_rad)
        return float(np.arctan2(east, north))

    def spread_deg(self, held: float) -> float:
        """Half the angle about the middle that holds a share of it."""
        off = np.abs((self.azimuth_rad - self.direction_rad + np.pi) % (2.0 * np.pi) - np.pi)
        return float(np.degrees(weighted_quantiles(off, self.share, as_float([held]))[0]))

    @property
    def round(self) -> float:
        """Part of the horizon on which some of it lies."""
        turn = np.rint(self.azimuth_rad * (_COMPASS / (2.0 * np.pi))).astype(np.int64) % _COMPASS
        held = np.bincount(turn, self.share, _COMPASS) / self.share.sum()
        return float((held > 0.1 / _COMPASS).mean())


def headline_of(after: Posterior, order: IntArray) -> Headline:
    """Read off what the first sentence is about; `order` is that of the leaves by density."""
    leaves, weights = after.leaves, after.leaves.mass
    total = float(after.all_good.sum())
    if_right = 0 < after.told.size <= 2 and total >= 0.5
    if if_right:
        weights = np.asarray(after.all_good / total)
        order = densest_first(leaves, weights)
    chosen = densest_leaves(order, weights, 0.95)
    return Headline(weights, chosen, float(leaves.area_m2[chosen].sum()) / 1e6, if_right)


def weighted_quantiles(values: FloatArray, weights: FloatArray, shares: FloatArray) -> FloatArray:
    """Values below which the given shares of the weight lie."""
    order = np.argsort(values)
    held = np.cumsum(weights[order])
    at = np.searchsorted(held, shares * held[-1]).clip(max=values.size - 1)
    return np.asarray(values[order][at])


def shape_of(after: Posterior, headline: Headline) -> Shape:
    """Decide the shape.

    Parameters
    ----------
    after : Posterior
        The posterior.
    headline : Headline
        What the first sentence is about.
    """
    places = _places(after)
    if not places:
        return Shape("nothing")
    weights, chosen = headline.weights, headline.chosen
    whole = float(weights[chosen].sum())
    parts = parts_of(after.leaves, chosen)
    shares = [float(weights[mine].sum()) / whole for mine in parts]
    main = int(np.argmax(shares))
    one_piece = shares[main] >= _MOST
    if (found := _round(after, weights, chosen, places)) is not None:
        return found
    cells = parts[main] if one_piece else chosen
    one_place = len({(r.observer.lat_deg, r.observer.lon_deg) for _, r in places}) == 1
    if not one_piece and sum(share >= NOTABLE_SHARE for share in shares) > 1:
        # A ray that the grid cut in two is still one direction.
        ray = _wedge(after, weights, cells, places) if one_place else None
        return ray or Shape("several places", shares[main])
    share = shares[main] if one_piece else 1.0
    axis, length, width = _extent(after, weights, cells)
    long = length > _LONG * width
    edge = _at_the_edge(after, weights, cells)
    if (edge or long or one_place) and (wedge := _wedge(after, weights, cells, places)) is not None:
        return wedge
    if long:
        length, width = _spans(after, cells, axis)
        return Shape(
            "strip", share, axis_true_deg=axis, length_m=length, width_m=width, at_the_edge=edge
        )
    if edge or after.told.size == 0 or _thin(after, weights, chosen):
        return _about(after, weights, cells, places, "disc", share)
    return Shape("point", share, length_m=length, width_m=width)


def _places(after: Posterior) -> list[tuple[int, Bearing | Range | Listening]]:
    """Reports whose places say where it is: those of bearings and distances, then who heard it.

    Reports of the place itself come last in `reports` but for watches, and start no direction.
    """
    reports = list(enumerate(after.reports))
    found: list[tuple[int, Bearing | Range | Listening]] = [
        (i, r) for i, r in reports if isinstance(r, Bearing | Range)
    ]
    found += [(i, r) for i, r in reports if isinstance(r, Listening) and r.heard and not found]
    if not found:
        # A place that was reported, with nothing but watches: no start, but something is known.
        return (
            [] if after.told.size == 0 else [(i, r) for i, r in reports if isinstance(r, Listening)]
        )
    return found[:_MOST_PLACES]


def _seen(after: Posterior, weights: FloatArray, cells: IntArray, start: int) -> _Seen:
    x, y = after.leaves.x_m[cells], after.leaves.y_m[cells]
    points = after.chart.lift(x, y)
    sights = after.chart.sights([after.reports[start].observer])
    across, ahead = (part[0] for part in sights.components(points))
    return _Seen(start, np.hypot(across, ahead), np.arctan2(across, ahead), weights[cells])


def _round(
    after: Posterior,
    weights: FloatArray,
    chosen: IntArray,
    places: list[tuple[int, Bearing | Range | Listening]],
) -> Shape | None:
    """A ring or a disc, where no direction was given."""
    if after.bearings:
        return None
    for start, report in places:
        seen = _seen(after, weights, chosen, start)
        if seen.round < _ROUND:
            continue
        near, middle, far = seen.quantiles_m
        hollow = isinstance(report, Range) and near > _HOLLOW * middle and far < 3.0 * middle
        if hollow or len(places) == 1 or not after.told.size:
            return _about(after, weights, chosen, places, "ring" if hollow else "disc", 1.0, start)
    return None


def _about(
    after: Posterior,
    weights: FloatArray,
    cells: IntArray,
    places: list[tuple[int, Bearing | Range | Listening]],
    kind: Kind,
    share: float,
    start: int | None = None,
) -> Shape:
    """Ground that lies round a place: that one, or the one with the least to its edge."""
    starts = [i for i, _ in places] if start is None else [start]
    # Of all the chance, not of the region alone: 95 % of 95 % is less.
    everywhere = np.arange(weights.size) if share >= _MOST else cells
    seen = min(
        (_seen(after, weights, everywhere, i) for i in starts), key=lambda s: s.quantiles_m[2]
    )
    near, middle, far = seen.quantiles_m
    edge = _at_the_edge(after, weights, cells)
    return Shape(kind, share, seen.start, near_m=near, middle_m=middle, far_m=far, at_the_edge=edge)


def _wedge(
    after: Posterior,
    weights: FloatArray,
    cells: IntArray,
    places: list[tuple[int, Bearing | Range | Listening]],
) -> Shape | None:
    """The direction from that place from where it is seen under the least angle."""
    views = [_seen(after, weights, cells, i) for i, report in places if isinstance(report, Bearing)]
    if not views:
        return None
    seen = min(views, key=lambda view: view.spread_deg(0.95))
    near, middle, far = seen.quantiles_m
    edge = _at_the_edge(after, weights, cells)
    if seen.spread_deg(0.95) > _WEDGE_DEG or (far < _WEDGE_DEPTH * near and not edge):
        return None
    return Shape(
        "wedge",
        float(weights[cells].sum() / 0.95),
        seen.start,
        float(np.degrees(seen.direction_rad)) % 360.0,
        seen.spread_deg(0.68),
        near,
        middle,
        far,
        at_the_edge=edge,
    )


def _extent(after: Posterior, weights: FloatArray, cells: IntArray) -> tuple[float, float, float]:
    """Bearing of the long axis, and length and width: four standard deviations."""
    x, y = after.leaves.x_m[cells], after.leaves.y_m[cells]
    share = weights[cells] / weights[cells].sum()
    about = np.stack((x - share @ x, y - share @ y))
    # A cell is as wide as it is, however few there are.
    own = float(share @ after.leaves.half_side_m[cells] ** 2) / 3.0
    values, vectors = np.linalg.eigh((about * share) @ about.T)
    width, length = 4.0 * np.sqrt(values + own)
    axis = float(np.degrees(np.arctan2(vectors[0, 1], vectors[1, 1]))) % 180.0
    return axis, float(length), float(width)


def _spans(after: Posterior, cells: IntArray, axis_true_deg: float) -> tuple[float, float]:
    """From end to end of some cells, along an axis and across it."""
    x, y = after.leaves.x_m[cells], after.leaves.y_m[cells]
    sin, cos = np.sin(np.radians(axis_true_deg)), np.cos(np.radians(axis_true_deg))
    own = 2.0 * float(after.leaves.half_side_m[cells].min())
    return float(np.ptp(x * sin + y * cos)) + own, float(np.ptp(x * cos - y * sin)) + own


def _thin(after: Posterior, weights: FloatArray, chosen: IntArray) -> bool:
    """Whether a small core holds half, and the other half lies anywhere: no point is to be told."""
    held = np.cumsum(weights[chosen])
    area = after.leaves.area_m2[chosen]
    core = int(np.searchsorted(held, 0.5)) + 1
    return float(area.sum()) > _THIN * float(area[:core].sum())


def _at_the_edge(after: Posterior, weights: FloatArray, cells: IntArray) -> bool:
    """Whether more than 1 % of it lies in the outer 5 % of the ground that is computed."""
    leaves = after.leaves
    beyond = np.maximum(np.abs(leaves.x_m[cells]), np.abs(leaves.y_m[cells]))
    outer = beyond > _OUTER * leaves.radius_m
    return float(weights[cells][outer].sum()) > _OUTER_SHARE
