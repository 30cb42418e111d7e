"""Marks of places: simple shapes of our own that survive grey, small enough to stand in crowds."""

from typing import Final, TypeAlias

import numpy as np
import shapely

from plotter.geodesy.arrays import FloatArray, as_float
from plotter.tiles.build.paint import Canvas

__all__ = ["MARKS", "draw_mark", "reach_px"]

Stroke: TypeAlias = tuple[tuple[float, float], ...]

_INK: Final = "#1d1d1b"
_PAPER: Final = "#fbfaf4"
_PLATE_PX: Final = 6.5
_LINE_PX: Final = 1.5


def _ring(radius: float, x: float = 0.0, y: float = 0.0, turn: tuple[int, int] = (0, 12)) -> Stroke:
    steps = [2.0 * np.pi * k / 12 for k in range(turn[0], turn[1] + 1)]
    return tuple((float(x + radius * np.cos(a)), float(y + radius * np.sin(a))) for a in steps)


# Pale strokes on a dark plate, from −5 to 5, y down.
MARKS: Final[dict[str, tuple[Stroke, ...]]] = {
    "hospital": (((0, -4), (0, 4)), ((-4, 0), (4, 0))),
    "fire station": (((-3, 4), (-4, 0), (-1, -1), (0, -5), (3, -1), (4, 2), (3, 4), (-3, 4)),),
    "police": (((-4, -4), (4, -4), (4, 0), (0, 5), (-4, 0), (-4, -4)),),
    "helipad": (_ring(5), ((-2, -3), (-2, 3)), ((2, -3), (2, 3)), ((-2, 0), (2, 0))),
    "shelter": (((-5, 0), (0, -4), (5, 0)), ((-3, 0), (-3, 4), (3, 4), (3, 0))),
    "station": (((-4, -4), (4, -4), (4, 2), (-4, 2), (-4, -4)), ((-3, 5), (-1, 2)),
                ((3, 5), (1, 2)), ((-4, -1), (4, -1))),
    "lighthouse": (((-2, 5), (-1, -2), (1, -2), (2, 5)), ((-5, -5), (-2, -3)), ((5, -5), (2, -3))),
    "bridge": (((-5, -2), (5, -2)), _ring(4, 0, 3, (6, 12))),
    "mast": (((0, -2), (-3, 5)), ((0, -2), (3, 5)), ((-2, 2), (2, 2)), _ring(4, 0, -2, (5, 7)),
             _ring(4, 0, -2, (-1, 1))),
    "landing place": (((0, -5), (0, 4)), ((-3, -2), (3, -2)), _ring(4, 0, 0, (0, 6))),
    "ford": (((-5, -2), (-2, -4), (1, -2), (4, -4)), ((-5, 3), (-2, 1), (1, 3), (4, 1))),
    "drinking water": (((0, -5), (-3, 0), (-3, 3), (0, 5), (3, 3), (3, 0), (0, -5)),),
    "filling station": (((-4, 5), (-4, -4), (1, -4), (1, 5)), ((-4, -1), (1, -1)),
                        ((1, 0), (4, 1), (4, -3), (2, -5))),
    "school": (((-5, -2), (0, -4), (5, -2), (0, 0), (-5, -2)), ((-3, 0), (-3, 3), (3, 3), (3, 0))),
    "place of worship": (((-4, 5), (-4, 0), (0, -5), (4, 0), (4, 5), (-4, 5)),),
}  # fmt: skip


def reach_px(mark: str) -> float:
    """How far a mark reaches from its place, pixels."""
    return 0.0 if not mark else _PLATE_PX + 1.0 if mark in MARKS else 4.0


def draw_mark(canvas: Canvas, mark: str, x: float, y: float) -> None:
    """Draw a mark at a place of the canvas: of `MARKS`, or a ``dot``, ``square``, ``triangle``."""
    at = as_float([x, y])
    if mark in MARKS:
        plate = shapely.box(x - _PLATE_PX, y - _PLATE_PX, x + _PLATE_PX, y + _PLATE_PX)
        canvas.fill([plate.buffer(1.2)], _PAPER)
        canvas.fill([plate], _INK)
        canvas.stroke([_path(stroke) + at for stroke in MARKS[mark]], _PAPER, _LINE_PX)
    elif mark == "triangle":
        canvas.fill([shapely.Polygon(_path(((-4.5, 3.5), (4.5, 3.5), (0, -4.5))) + at)], _INK)
    elif mark == "square":
        canvas.fill([shapely.box(x - 4, y - 4, x + 4, y + 4)], _INK)
        canvas.fill([shapely.box(x - 2.4, y - 2.4, x + 2.4, y + 2.4)], _PAPER)
    elif mark:
        canvas.fill([shapely.Point(x, y).buffer(3.0)], _INK)


def _path(stroke: Stroke) -> FloatArray:
    return as_float(stroke)
