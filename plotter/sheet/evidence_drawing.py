"""Drawing distances, watches and ground: rings, ears that heard or did not, straight hatching."""

import math
from collections.abc import Sequence
from typing import Final

import numpy as np

from plotter.board.evidence_values import GroundMark, RangeMark, WatchMark
from plotter.board.values import Scene
from plotter.sheet.frame import MapFrame
from plotter.sheet.labels import LabelRoom
from plotter.sheet.near import near
from plotter.sheet.pen import BLUE, GREY, PLAIN, VERMILION, WHITE, Pen

__all__ = ["draw_ground", "draw_hearing", "name_evidence"]

_HATCH_MM: Final = 4.0
_NAME_MM: Final = 2.2
_SHAPE_MM: Final = 1.3

Point = tuple[float, float]


def draw_ground(pen: Pen, frame: MapFrame, scene: Scene) -> None:
    """Draw ground that is more or less likely, under everything else."""
    for ground in scene.ground:
        _ground(pen, frame, ground)


def draw_hearing(pen: Pen, frame: MapFrame, scene: Scene) -> None:
    """Draw distances, then watches."""
    for distance in scene.ranges:
        _range(pen, frame, distance)
    for watch in scene.watches:
        _watch(pen, frame, watch)


def name_evidence(pen: Pen, frame: MapFrame, scene: Scene, room: LabelRoom) -> None:
    """Write what each of them says beside it."""
    for distance in scene.ranges:
        for (part,) in near(frame, [frame.path(distance.line.path)], closed=False)[:1]:
            wide = pen.width(distance.label, _NAME_MM)
            found = room.along(part, wide, _NAME_MM)
            if found is not None:
                x, y, angle = found
                pen.text(x, y, distance.label, _NAME_MM, anchor="middle", angle_deg=angle,
                         halo_mm=0.5)  # fmt: skip
    for place, label in (
        *((watch.place, watch.label) for watch in scene.watches),
        *((ground.middle, ground.label) for ground in scene.ground),
    ):
        x, y = frame.path([place])[0]
        if frame.holds(x, y):
            wide = pen.width(label, _NAME_MM)
            (left, bottom, _, _), _ = room.beside(x, y, 2.0, wide, _NAME_MM)
            pen.text(left, bottom + 0.4, label, _NAME_MM, PLAIN, halo_mm=0.5)


def _range(pen: Pen, frame: MapFrame, mark: RangeMark) -> None:
    for outline, width, dash in (
        *((each, 0.1, (0.4, 0.8)) for each in mark.band),
        (mark.line, 0.5, (2.6, 1.4) if mark.doubtful else ()),
    ):
        for (part,) in near(frame, [frame.path(outline.path)], closed=False):
            pen.line(part, width, VERMILION, dash)


def _watch(pen: Pen, frame: MapFrame, mark: WatchMark) -> None:
    """Draw a triangle: filled where it was heard, open and struck through where it was not."""
    x, y = frame.path([mark.place])[0]
    corners = [
        (x + _SHAPE_MM * math.sin(turn), y + _SHAPE_MM * math.cos(turn))
        for turn in (0.0, 2.0 * math.pi / 3.0, 4.0 * math.pi / 3.0)
    ]
    pen.shape([corners], 0.3, BLUE, BLUE if mark.heard else WHITE)
    if not mark.heard:
        pen.line([(x - 1.4, y - 1.2), (x + 1.4, y + 1.2)], 0.3, BLUE)


def _ground(pen: Pen, frame: MapFrame, mark: GroundMark) -> None:
    for rings in near(frame, [frame.path(outline.path) for outline in mark.outlines]):
        pen.shape(rings, 0.35, GREY, dash_mm=(1.0, 0.8) if mark.doubtful else ())
        # Where all ground outside is meant its words say so; hatching would bury the map.
        if not mark.outside:
            with pen.within_rings(rings):
                _hatch(pen, frame, rings, mark)


def _hatch(pen: Pen, frame: MapFrame, rings: Sequence[Sequence[Point]], mark: GroundMark) -> None:
    """Rule upright lines if likely, level ones if searched, both if ruled out."""
    rect = frame.rect
    xs = [x for x, _ in rings[0]]
    ys = [y for _, y in rings[0]]
    west, east = max(min(xs), rect.left), min(max(xs), rect.right)
    south, north = max(min(ys), rect.bottom), min(max(ys), rect.top)
    if mark.kind in {"likely", "ruled out"}:
        for x in np.arange(west + _HATCH_MM / 2.0, east, _HATCH_MM).tolist():
            pen.line([(x, south), (x, north)], 0.12, GREY)
    if mark.kind in {"searched", "ruled out"}:
        for y in np.arange(south + _HATCH_MM / 2.0, north, _HATCH_MM).tolist():
            pen.line([(west, y), (east, y)], 0.12, GREY)
