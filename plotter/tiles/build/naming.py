"""Names of a block: places and marks, streets and waters along their lines, numbers of roads."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Final, TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray

from plotter.geodesy.arrays import FloatArray, as_float
from plotter.tiles.build.features import MapFeatures
from plotter.tiles.build.kinds import ROADS
from plotter.tiles.build.lettering import Lettered, lettered
from plotter.tiles.build.marks import draw_mark, reach_px
from plotter.tiles.build.paint import Canvas, Set
from plotter.tiles.build.placing import (
    Room,
    Way,
    along,
    beside,
    box_points,
    straight,
    way_of,
)
from plotter.tiles.build.repair import cut
from plotter.tiles.build.style import AREA_NAMES, LABELS, STYLES, Label

__all__ = ["Names", "draw_names"]

Shapes: TypeAlias = NDArray[np.object_]

_INK: Final = "#1d1d1b"
_WATER_INK: Final = "#1f4a6b"
_HEIGHT_INK: Final = "#6b4d2a"
_HALO: Final = "#fbfaf4"
_SIZES: Final = ((14, (10.5,)), (15, (11.5, 10.5)), (30, (12.0, 10.5)))  # up to a level
_HEIGHT_SIZE: Final = 10.5
_NUMBER_SIZE: Final = 10.5
_APART: Final = 500.0
_SAME: Final = 200.0  # the same name at a place so near is the same place
_NUMBERED: Final = ROADS[:4]
# Of LABELS, so many come before streets: to villages; on a level with room, to bridges.
_FIRST_MARKS: Final = 7
_FIRST_MARKS_FINE: Final = 10
_FINE: Final = 17
_RIVERS: Final = ("river", "stream")
# A name may be wider than its water, but not than twice as wide.
_OVER: Final = 2.0
_LEAST_AREA: Final = 150.0


@dataclass(slots=True)
class Names:
    """What was written, to be counted.

    Parameters
    ----------
    written : set of (kind, name)
        Each name that stands in the block.
    missing : Counter of str
        Scripts of letters that no font has, by names.
    """

    written: set[tuple[str, str]] = field(default_factory=set)
    missing: Counter[str] = field(default_factory=Counter)


class _Writer:
    """A canvas, what of it is taken, and the words to be drawn at the end."""

    def __init__(self, canvas: Canvas, low: float, high: float) -> None:
        self.canvas = canvas
        self.names = Names()
        self.low, self.high = low, high
        self.room = Room((low, low), (high, high))
        self.words: dict[tuple[float, str], list[list[Set]]] = defaultdict(list)
        self.stand: dict[str, list[FloatArray]] = defaultdict(list)

    def shaped(self, text: str, size: float) -> Lettered | None:
        found = lettered(text, size)
        if found.missing:
            self.names.missing.update(found.missing)
        return found if found.clusters else None

    def write(self, kind: str, text: str, size: float, ink: str, letters: list[Set]) -> None:
        self.words[size, ink].append(letters)
        self.names.written.add((kind, text))

    def near(self, text: str, at: FloatArray, apart: float) -> bool:
        return any(np.hypot(*(at - other)) < apart for other in self.stand[text])

    def finish(self) -> None:
        for (size, ink), words in self.words.items():
            self.canvas.letters(words, size, ink, _HALO)


def draw_names(
    canvas: Canvas, features: MapFeatures, pixels: FloatArray, zoom: int, inner: tuple[float, float]
) -> Names:
    """Write the names of a block.

    Parameters
    ----------
    canvas : Canvas
        Of the block and its margin.
    features : MapFeatures
        In the world's units.
    pixels : ndarray of float64, shape (3,)
        Factor to the canvas' pixels, and what is taken off x and y.
    zoom : int
        The level.
    inner : tuple of float
        First and last pixel of the block within the canvas, both ways: names end there, so that
        none is cut by a tile's edge.

    Returns
    -------
    Names
        What was written, and the scripts that no font has.
    """
    writer = _Writer(canvas, *inner)
    if features.known is not None and not features.known.is_empty:
        writer.room.keep_within(
            shapely.transform(features.known, lambda xy: as_float(xy) * pixels[0] - pixels[1:])
        )
    shapes = shapely.transform(
        features.geometries, lambda xy: as_float(xy) * pixels[0] - pixels[1:]
    )
    kinds = np.array(features.kinds, dtype=object)
    order = list(LABELS)
    first = _FIRST_MARKS_FINE if zoom >= _FINE else _FIRST_MARKS
    _marks(writer, features, shapes, kinds, order[:first], zoom)
    _areas(writer, features, shapes, kinds, ("water",), zoom)
    sizes = next(sizes for last, sizes in _SIZES if zoom <= last)
    streets = _pieces(writer, features, shapes, kinds, ROADS)
    rivers = _pieces(writer, features, shapes, kinds, _RIVERS)
    _lines(writer, streets, sizes, _INK, most=1)
    _lines(writer, rivers, sizes, _WATER_INK, most=1)
    _numbers(writer, features, shapes, kinds)
    _marks(writer, features, shapes, kinds, order[first:], zoom)
    _areas(writer, features, shapes, kinds, [k for k in AREA_NAMES if k != "water"], zoom)
    # Each way has its name once before any has it again.
    _lines(writer, streets, sizes, _INK)
    _lines(writer, rivers, sizes, _WATER_INK)
    heights = _pieces(writer, features, shapes, kinds, ("index contour",))
    _lines(writer, heights, (_HEIGHT_SIZE,), _HEIGHT_INK)
    writer.finish()
    return writer.names


def _marks(
    writer: _Writer,
    features: MapFeatures,
    shapes: Shapes,
    kinds: Shapes,
    chosen: Iterable[str],
    zoom: int,
) -> None:
    for kind in chosen:
        label = LABELS[kind]
        if not label.from_zoom <= zoom <= label.to_zoom:
            continue
        which = np.flatnonzero(kinds == kind)
        for i in sorted(which.tolist(), key=lambda n: (not features.names[n], features.names[n])):
            _mark(writer, kind, label, _told(features, i), shapely.centroid(shapes[i]))


def _told(features: MapFeatures, i: int) -> str:
    name, number = features.names[i], features.numbers[i] if features.numbers else ""
    return f"{name} {number}".strip() if features.kinds[i] == "summit" else name


def _mark(writer: _Writer, kind: str, label: Label, text: str, point: shapely.Point) -> None:
    x, y = point.x, point.y
    reach = reach_px(label.mark)
    margin = reach + 1.0
    inside = writer.low - margin < x < writer.high + margin
    if not (inside and writer.low - margin < y < writer.high + margin):
        return
    at = as_float([x, y])
    key = f"{kind} {text}"  # a town and its station may have one name
    if text and writer.near(key, at, _SAME):
        return
    if label.mark:
        spot = box_points(x - reach, y - reach, x + reach, y + reach)
        whole = writer.room.cells(spot) is not None
        # At the very edge a mark is drawn by both blocks, each its part.
        if whole and not writer.room.take(spot):
            return
        if not whole:
            writer.room.block(spot)
        draw_mark(writer.canvas, label.mark, x, y)
    if not text:
        return
    name = writer.shaped(text, float(label.size))
    letters = None if name is None else beside(writer.room, name, x, y, reach)
    if letters is not None:
        writer.stand[key].append(at)
        writer.write(kind, text, float(label.size), _INK, letters)


def _areas(
    writer: _Writer,
    features: MapFeatures,
    shapes: Shapes,
    kinds: Shapes,
    chosen: Iterable[str],
    zoom: int,
) -> None:
    edges = (writer.low, writer.low, writer.high, writer.high)
    for kind in chosen:
        label = AREA_NAMES[kind]
        which = [i for i in np.flatnonzero(kinds == kind).tolist() if features.names[i]]
        if zoom < label.from_zoom or not which:
            continue
        parts = cut(shapes[which], edges)
        for n in np.argsort(-shapely.area(parts), kind="stable").tolist():
            if parts[n].area >= _LEAST_AREA:
                _in_area(writer, kind, label, features.names[which[n]], parts[n])


def _in_area(writer: _Writer, kind: str, label: Label, text: str, area: shapely.Geometry) -> None:
    largest = max(shapely.get_parts(area).tolist(), key=shapely.area)
    point = largest.representative_point()
    at = as_float([point.x, point.y])
    name = writer.shaped(text, float(label.size))
    west, _, east, _ = largest.bounds
    if name is None or name.width > _OVER * (east - west) or writer.near(text, at, _APART):
        return
    letters = beside(writer.room, name, point.x, point.y, 0.0)
    if letters is not None:
        writer.stand[text].append(at)
        ink = _WATER_INK if kind == "water" else _INK
        writer.write(kind, text, float(label.size), ink, letters)


def _pieces(
    writer: _Writer, features: MapFeatures, shapes: Shapes, kinds: Shapes, chosen: tuple[str, ...]
) -> list[tuple[str, str, list[Way]]]:
    """Kind, name and joined lines of what has a name, the most important and longest first."""
    found: dict[str, list[int]] = defaultdict(list)
    rank: dict[str, int] = {}
    for place, kind in enumerate(chosen):
        for i in np.flatnonzero(kinds == kind).tolist():
            if features.names[i]:
                found[features.names[i]].append(i)
                rank.setdefault(features.names[i], place)
    edges = (writer.low, writer.low, writer.high, writer.high)
    rows = [(rank[name], name, _merged(cut(shapes[which], edges))) for name, which in found.items()]
    rows = [row for row in rows if row[2]]
    rows.sort(key=lambda row: (row[0], row[2][0].length, row[1]))
    return [(chosen[place], name, [way_of(line) for line in lines]) for place, name, lines in rows]


def _lines(
    writer: _Writer,
    pieces: list[tuple[str, str, list[Way]]],
    sizes: tuple[float, ...],
    ink: str,
    most: int = 1_000,
) -> None:
    for kind, text, ways in pieces:
        for size in sizes:
            name = writer.shaped(text, size)
            if name is None:
                break
            stand = writer.stand[text]
            set_now = list(along(writer.room, name, ways, _APART, stand, most))
            for letters, middle in set_now:
                stand.append(middle)
                writer.write(kind, text, size, ink, letters)
            if set_now:
                break


def _merged(parts: Shapes) -> list[shapely.LineString]:
    """Lines joined end to end, the longest first."""
    lines = [
        shapely.boundary(part) if shapely.get_dimensions(part) == 2 else part
        for part in shapely.get_parts(parts).tolist()
        if shapely.get_dimensions(part) > 0
    ]
    if not lines:
        return []
    whole = shapely.line_merge(shapely.union_all(lines))
    found = [p for p in shapely.get_parts(whole).tolist() if p.length > 0.0]
    return sorted(found, key=lambda part: (-part.length, part.bounds))


def _numbers(
    writer: _Writer,
    features: MapFeatures,
    shapes: Shapes,
    kinds: Shapes,
) -> None:
    """Numbers of the great roads on plates of their own, every so far along."""
    edges = (writer.low, writer.low, writer.high, writer.high)
    found: dict[str, list[int]] = defaultdict(list)
    for kind in _NUMBERED:
        for i in np.flatnonzero(kinds == kind).tolist() if features.numbers else ():
            if features.numbers[i]:
                found[features.numbers[i]].append(i)
    for text, which in found.items():
        name = writer.shaped(text, _NUMBER_SIZE)
        if name is None:
            continue
        key = f"number {text}"
        for x, y in _spots(_merged(cut(shapes[which], edges))):
            at = as_float([x, y])
            if writer.near(key, at, _APART):
                continue
            half_wide, half_high = name.width / 2 + 4.0, _NUMBER_SIZE * 0.62
            plate = (x - half_wide, y - half_high, x + half_wide, y + half_high)
            if writer.room.take(box_points(*plate)):
                shape = shapely.box(*plate)
                writer.canvas.fill([shape.buffer(1.0)], _INK)
                writer.canvas.fill([shape], _HALO)
                writer.stand[key].append(at)
                letters = straight(name, x - name.width / 2, y)
                writer.write("number", text, _NUMBER_SIZE, _INK, letters)


def _spots(lines: list[shapely.LineString]) -> Iterator[tuple[float, float]]:
    for line in lines:
        if line.length < STYLES["road"].width * 12:
            continue
        for share in (0.5, 0.25, 0.75, 0.1, 0.9):
            point = line.interpolate(share, normalized=True)
            yield point.x, point.y
