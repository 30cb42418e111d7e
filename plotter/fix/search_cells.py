"""Cells cut finer where a search needs it, and which of them lie in a piece of ground."""

import math
from typing import Final

import numpy as np
import shapely

from plotter.errors import FormatError
from plotter.fix.chart import AnyChart
from plotter.fix.ground import shape_on_chart
from plotter.fix.quadtree import DEEPEST, Leaves
from plotter.fix.result import Polygon
from plotter.geodesy.arrays import BoolArray, IntArray
from plotter.geodesy.geodesic import destination
from plotter.geodesy.position import Position

__all__ = ["circle", "cut", "cut_along", "inside"]

# A cell that a boundary runs through is cut until it holds less than this, so that counting it in
# or out by its middle moves no probability that anybody reads.
_LEAST_MASS: Final = 1e-5
_MOST_CUTS: Final = 8
_CORNERS: Final = 96


def circle(centre: Position, radius_m: float) -> Polygon:
    """Ground within a distance of a place, as a polygon of the same area.

    Raises
    ------
    FormatError
        If the radius is not above 0 m.
    """
    if not (math.isfinite(radius_m) and radius_m > 0.0):
        raise FormatError(f"searched ground needs a radius above 0 m: {radius_m!r}")
    turn = 2.0 * math.pi / _CORNERS
    reach = radius_m * math.sqrt(turn / math.sin(turn))
    bearings = (-360.0 * corner / _CORNERS % 360.0 for corner in range(_CORNERS))
    return Polygon(tuple(destination(centre, bearing, reach) for bearing in bearings))


def cut(leaves: Leaves, wanted: BoolArray) -> tuple[Leaves, IntArray]:
    """Cut some cells in four, mass and ground shared evenly.

    Returns
    -------
    leaves : Leaves
        The cells, those that were cut last, four side by side, south-west first.
    parent : ndarray of int
        For each new cell, the old one that it is, or is a part of.
    """
    kept, opened = np.flatnonzero(~wanted), np.flatnonzero(wanted)
    parent = np.concatenate((kept, np.repeat(opened, 4)))
    new = np.arange(parent.size) >= kept.size
    east = np.concatenate((np.zeros_like(kept), np.tile([0, 1, 0, 1], opened.size)))
    north = np.concatenate((np.zeros_like(kept), np.tile([0, 0, 1, 1], opened.size)))
    share = np.where(new, 0.25, 1.0)
    return (
        Leaves(
            radius_m=leaves.radius_m,
            level=leaves.level[parent] + new,
            column=np.where(new, 2 * leaves.column[parent] + east, leaves.column[parent]),
            row=np.where(new, 2 * leaves.row[parent] + north, leaves.row[parent]),
            log_density=leaves.log_density[parent],
            area_m2=leaves.area_m2[parent] * share,
            mass=leaves.mass[parent] * share,
            asked=leaves.asked[parent],
        ),
        parent,
    )


def cut_along(chart: AnyChart, leaves: Leaves, ground: Polygon) -> tuple[Leaves, IntArray]:
    """Cut the cells that a boundary runs through, until they are too light to matter.

    Returns
    -------
    leaves, parent
        As from `cut`.

    Raises
    ------
    GeometryError
        If the ground is more than 2 000 km from the middle of the chart.
    """
    edge = shape_on_chart(chart, ground).boundary
    shapely.prepare(edge)
    west, south, east, north = edge.bounds
    parent = np.arange(leaves.level.size)
    for _ in range(_MOST_CUTS):
        half, x, y = leaves.half_side_m, leaves.x_m, leaves.y_m
        heavy = (leaves.mass > _LEAST_MASS) & (leaves.level < DEEPEST)
        near = (x + half > west) & (x - half < east) & (y + half > south) & (y - half < north)
        at = np.flatnonzero(heavy & near)
        boxes = shapely.box(x[at] - half[at], y[at] - half[at], x[at] + half[at], y[at] + half[at])
        wanted = np.zeros(x.size, dtype=np.bool_)
        wanted[at] = shapely.intersects(edge, boxes)
        if not wanted.any():
            break
        leaves, older = cut(leaves, wanted)
        parent = parent[older]
    return leaves, parent


def inside(chart: AnyChart, leaves: Leaves, ground: Polygon) -> BoolArray:
    """Whether the middle of each cell lies in a piece of ground, shape (m,)."""
    shape = shape_on_chart(chart, ground)
    shapely.prepare(shape)
    return np.asarray(shapely.contains_xy(shape, leaves.x_m, leaves.y_m))
