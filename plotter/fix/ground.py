"""Ground that is ruled out, unlikely or likely before any report: water, what was searched."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely

from plotter.errors import FormatError
from plotter.fix.chart import AnyChart
from plotter.fix.result import Polygon
from plotter.geodesy.arrays import BoolArray, FloatArray, as_float

__all__ = ["Ground", "GroundModel", "ground_model", "shape_on_chart"]

# Nothing is ruled out for good: what was said of the ground may be wrong too.
_LEAST: Final = 1e-4


@dataclass(frozen=True, slots=True)
class Ground:
    """An area whose places are more or less likely than others, before any report.

    Parameters
    ----------
    polygon : Polygon
        Its outline; positions in order round it, with holes.
    weight : float
        How likely a place inside is beside the same place without it: 0 rules out (one in ten
        thousand is left), 0.3 is what a search leaves that finds 70 %, 4 is four times as likely.
    name : str
        What it is called.
    outside : bool
        True where the weight is that of everything outside.

    Raises
    ------
    FormatError
        If the outline has fewer than three corners or the weight is below zero.
    """

    polygon: Polygon
    weight: float
    name: str = ""
    outside: bool = False

    def __post_init__(self) -> None:
        """Reject what cannot be an area."""
        if len(self.polygon.outer) < 3:
            raise FormatError(
                f"an area needs at least three corners, got {len(self.polygon.outer)}"
            )
        if not (math.isfinite(self.weight) and self.weight >= 0):
            raise FormatError(f"the weight of an area must be 0 or more: {self.weight!r}")


@dataclass(frozen=True, slots=True, eq=False)
class GroundModel:
    """Areas ready for points of a chart."""

    chart: AnyChart
    shapes: tuple[shapely.Polygon, ...]
    log_weights: tuple[float, ...]
    outside: tuple[bool, ...]
    edges: tuple[shapely.Geometry, ...]

    def log_weight(self, points_m: FloatArray) -> FloatArray:
        """Logarithm of the weight of points, shape (m,)."""
        x, y = self.chart.flat(points_m)
        total = np.zeros(x.size)
        for shape, weight, outside in zip(self.shapes, self.log_weights, self.outside, strict=True):
            total += weight * (shapely.contains_xy(shape, x, y) != outside)
        return total

    def log_weight_of_cells(
        self, points_m: FloatArray, half_side_m: FloatArray
    ) -> tuple[FloatArray, BoolArray]:
        """Logarithm of the weight of cells about points, and which an outline may run through.

        The middle of such a cell would stand for one side alone, and a cell with its middle in
        ground that is ruled out would never be looked into: it weighs the mean of both.
        """
        x, y = self.chart.flat(points_m)
        points, reach = shapely.points(x, y), math.sqrt(2.0) * half_side_m
        cut = np.zeros(x.size, dtype=np.bool_)
        total = np.zeros(x.size)
        for shape, edge, weight, outside in zip(
            self.shapes, self.edges, self.log_weights, self.outside, strict=True
        ):
            near = shapely.dwithin(edge, points, reach) & (half_side_m > 0.0)
            within = weight * (shapely.contains_xy(shape, x, y) != outside)
            total += np.where(near, math.log(0.5 * (1.0 + math.exp(weight))), within)
            cut |= near
        return total, cut


def shape_on_chart(chart: AnyChart, polygon: Polygon) -> shapely.Polygon:
    """Outline of some ground in the metres of a chart.

    Raises
    ------
    GeometryError
        If it lies beyond the chart's reach: the far side of the Earth would lie over the near one.
    """
    rings = []
    for ring in (polygon.outer, *polygon.holes):
        chart.check_reach(ring)
        rings.append(as_float(chart.points(ring)[:2].T))
    return shapely.Polygon(rings[0], rings[1:])


def ground_model(chart: AnyChart, ground: Sequence[Ground]) -> GroundModel:
    """Prepare areas for a chart."""
    shapes, edges = [], []
    for each in ground:
        shape = shapely.make_valid(shape_on_chart(chart, each.polygon))
        edge = shape.boundary
        shapely.prepare([shape, edge])
        shapes.append(shape)
        edges.append(edge)
    return GroundModel(
        chart,
        tuple(shapes),
        tuple(math.log(max(each.weight, _LEAST)) for each in ground),
        tuple(each.outside for each in ground),
        tuple(edges),
    )
