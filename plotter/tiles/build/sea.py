"""The sea of an extract, which has coastlines only: land on the left of each, sea on the right."""

from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely

from plotter.geodesy.arrays import FloatArray
from plotter.tiles.grid import Box

__all__ = ["sea_beside"]

# How far beside a coast one looks for its ground, degrees: a metre.
_BESIDE_DEG: Final = 1e-5
# Votes for a face from the wrong side, at most: coasts that a hand drew cross now and then.
_WRONG_SHARE: Final = 0.02


def sea_beside(coasts: Sequence[shapely.Geometry], box: Box) -> list[shapely.Geometry]:
    """Areas of a box that the coastlines put into the sea.

    Parameters
    ----------
    coasts : sequence of shapely geometry
        Coastlines in longitude and latitude, land on their left; other geometries are left out.
    box : Box
        The ground.

    Returns
    -------
    list of shapely geometry
        Empty where there is no coast. A face that coasts put on both sides is left out: the extract
        ends in the middle of a coast, and nothing is known of it.

    Source
    ------
    OpenStreetMap wiki, tag natural=coastline: land on the left side, water on the right.
    """
    frame = shapely.box(box.west_deg, box.south_deg, box.east_deg, box.north_deg)
    lines = [
        part
        for coast in coasts
        for part in shapely.get_parts(coast).tolist()
        if part.geom_type == "LineString"
    ]
    clipped = [line for line in shapely.intersection(lines, frame) if not line.is_empty]
    if not clipped:
        return []
    noded = shapely.unary_union([frame.exterior, *clipped])
    faces = list(shapely.get_parts(shapely.polygonize([*shapely.get_parts(noded)])))
    left, right = _beside(clipped)
    tree = shapely.STRtree(faces)
    land, sea = (_votes(tree, len(faces), points) for points in (left, right))
    return [
        face
        for face, for_land, for_sea in zip(faces, land.tolist(), sea.tolist(), strict=True)
        if for_sea and for_land <= _WRONG_SHARE * for_sea
    ]


def _beside(lines: Sequence[shapely.Geometry]) -> tuple[FloatArray, FloatArray]:
    """Points a metre to the left and to the right of the middle of every side."""
    starts, ends = [], []
    for part in (each for line in lines for each in shapely.get_parts(line)):
        xy = shapely.get_coordinates(part)
        starts.append(xy[:-1])
        ends.append(xy[1:])
    a, b = np.concatenate(starts), np.concatenate(ends)
    way = b - a
    length = np.hypot(way[:, 0], way[:, 1])
    long = length > 0.0
    unit = way[long] / length[long, None]
    middle = 0.5 * (a[long] + b[long])
    off = _BESIDE_DEG * np.column_stack((-unit[:, 1], unit[:, 0]))
    return middle + off, middle - off


def _votes(tree: shapely.STRtree, count: int, points: FloatArray) -> FloatArray:
    """How many of the points lie in each face."""
    _, face = tree.query(shapely.points(points), predicate="within")
    return np.bincount(face, minlength=count).astype(np.float64)
