"""Drawing a block of tiles from features: areas, lines, and names that keep off each other."""

import io
from collections.abc import Iterator
from functools import cache
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from plotter.geodesy.arrays import FloatArray, as_float
from plotter.tiles.build.layers import MapFeatures
from plotter.tiles.build.style import LABELS, LAND, STYLES, Look, width_px
from plotter.tiles.grid import TileId

__all__ = ["BLOCK", "draw_block"]

BLOCK: Final = 4
"""Tiles on each side of a block: names and wide lines run on from tile to tile within it."""

_TILE: Final = 256
_FINE: Final = 2  # drawn so many times larger, then reduced: smooth edges
_MARGIN: Final = 96
_CASING: Final = 0.8  # what is left of a road's dark line on each side of its pale middle
_INK: Final = "#1d1d1b"
_HALO: Final = "#fbfaf4"


def draw_block(
    features: MapFeatures, tree: shapely.STRtree, first: TileId
) -> Iterator[tuple[TileId, bytes]]:
    """Draw a block of tiles.

    Parameters
    ----------
    features : MapFeatures
        What there is.
    tree : shapely.STRtree
        Of its geometries.
    first : TileId
        The block's north-western tile; column and row are multiples of `BLOCK`.

    Yields
    ------
    tuple of TileId and bytes
        Each tile with its PNG.
    """
    side = 1 << first.zoom
    count = min(BLOCK, side)
    pixels = count * _TILE + 2 * _MARGIN
    scale = _TILE * side * _FINE
    corner = as_float([first.x * _TILE - _MARGIN, first.y * _TILE - _MARGIN]) * _FINE
    extent = pixels * _FINE
    box = shapely.box(*(corner / scale), *((corner + extent) / scale))
    # Where the layers say what is land, all the rest is sea; else all is land.
    ground = STYLES["water"].fill if "land" in features.kinds else LAND
    image = Image.new("RGB", (extent, extent), ground)
    pen = ImageDraw.Draw(image)
    here = np.sort(tree.query(box, predicate="intersects"))
    by_order = sorted(
        (i for i in here.tolist() if features.kinds[i] in STYLES),
        key=lambda i: STYLES[features.kinds[i]].order,
    )
    shapes = shapely.clip_by_rect(features.geometries[by_order], *box.bounds) if by_order else []
    drawn: list[tuple[Look, NDArray[np.object_] | shapely.Geometry]] = []
    for i, shape in zip(by_order, shapes, strict=True):
        look = STYLES[features.kinds[i]]
        if first.zoom >= look.from_zoom:
            drawn.append((look, shape))
    for look, shape in drawn:
        _draw(pen, look, shape, corner, scale, first.zoom, box)
    for look, shape in drawn:
        if look.core:
            width = width_px(look, first.zoom) - 2 * _CASING
            for line in _lines(shape, corner, scale) if width >= 1.0 else ():
                _stroke(pen, line, look.core, width)
    small = image.resize((pixels, pixels), Image.Resampling.LANCZOS)
    _names(small, features, here, first, side)
    for dy in range(count):
        for dx in range(count):
            left, top = _MARGIN + dx * _TILE, _MARGIN + dy * _TILE
            tile = small.crop((left, top, left + _TILE, top + _TILE))
            out = io.BytesIO()
            tile.quantize(48, dither=Image.Dither.NONE).save(out, "PNG", optimize=True)
            yield TileId(first.zoom, first.x + dx, first.y + dy), out.getvalue()


def _draw(
    pen: ImageDraw.ImageDraw,
    look: Look,
    shape: shapely.Geometry,
    corner: FloatArray,
    scale: float,
    zoom: int,
    box: shapely.Polygon,
) -> None:
    if look.fill:
        for part in shapely.get_parts(shape):
            if isinstance(part, shapely.Polygon):
                _fill(pen, part, look.fill, corner, scale)
    if look.line:
        # An area's edge where the block cuts it is no edge of the area.
        edge = shape
        if shapely.get_dimensions(shape) == 2:
            edge = shapely.difference(shapely.boundary(shape), box.boundary)
        width = width_px(look, zoom)
        for line in _lines(edge, corner, scale):
            pieces = _dashes(line, look.dash, _FINE) if look.dash else [line]
            for piece in pieces:
                _stroke(pen, piece, look.line, width)


def _fill(
    pen: ImageDraw.ImageDraw, area: shapely.Polygon, colour: str, corner: FloatArray, scale: float
) -> None:
    outer = as_float(area.exterior.coords)[:, :2] * scale - corner
    if not area.interiors:
        pen.polygon([tuple(p) for p in outer.tolist()], fill=colour)
        return
    # Holes show what lies below: the area goes on through a mask.
    size = pen.im.size
    mask = Image.new("1", size, 0)
    cut = ImageDraw.Draw(mask)
    cut.polygon([tuple(p) for p in outer.tolist()], fill=1)
    for ring in area.interiors:
        inner = as_float(ring.coords)[:, :2] * scale - corner
        cut.polygon([tuple(p) for p in inner.tolist()], fill=0)
    pen.bitmap((0, 0), mask, fill=colour)


def _lines(shape: shapely.Geometry, corner: FloatArray, scale: float) -> Iterator[FloatArray]:
    for part in shapely.get_parts(shape):
        if isinstance(part, shapely.LineString) and part.length > 0:
            yield as_float(part.coords)[:, :2] * scale - corner


def _stroke(pen: ImageDraw.ImageDraw, line: FloatArray, colour: str, width: float) -> None:
    points = [tuple(p) for p in line.tolist()]
    pen.line(points, fill=colour, width=max(round(width * _FINE), 1), joint="curve")


def _dashes(line: FloatArray, dash: tuple[float, ...], fine: int) -> list[FloatArray]:
    """Cut a line into dashes along its length."""
    on, off = dash[0] * fine, dash[1] * fine
    steps = np.hypot(*np.diff(line, axis=0).T)
    at = np.concatenate(([0.0], np.cumsum(steps)))
    pieces = []
    for start in np.arange(0.0, at[-1], on + off):
        end = min(start + on, at[-1])
        inner = (at > start) & (at < end)
        places = np.concatenate(([start], at[inner], [end]))
        pieces.append(
            np.column_stack((np.interp(places, at, line[:, 0]), np.interp(places, at, line[:, 1])))
        )
    return pieces


def _names(
    image: Image.Image, features: MapFeatures, here: NDArray[np.int64], first: TileId, side: int
) -> None:
    """Write the names of points, the more important first, none over another."""
    pen = ImageDraw.Draw(image)
    taken: list[tuple[float, float, float, float]] = []
    order = {kind: rank for rank, kind in enumerate(LABELS)}
    points = sorted(
        (i for i in here.tolist() if features.kinds[i] in LABELS),
        key=lambda i: (order[features.kinds[i]], features.names[i]),
    )
    for i in points:
        label = LABELS[features.kinds[i]]
        if first.zoom < label.from_zoom:
            continue
        middle = features.geometries[i].centroid
        x = (middle.x * side - first.x) * _TILE + _MARGIN
        y = (middle.y * side - first.y) * _TILE + _MARGIN
        _mark(pen, label.mark, x, y)
        font = _font(label.size)
        left, top, right, bottom = pen.textbbox(
            (x + 7, y - label.size / 2), features.names[i], font
        )
        place = (left - 2, top - 2, right + 2, bottom + 2)
        if not features.names[i] or any(_overlap(place, other) for other in taken):
            continue
        taken.append(place)
        pen.text(
            (x + 7, y - label.size / 2),
            features.names[i],
            font=font,
            fill=_INK,
            stroke_width=2,
            stroke_fill=_HALO,
        )


def _mark(pen: ImageDraw.ImageDraw, mark: str, x: float, y: float) -> None:
    if mark == "triangle":
        pen.polygon([(x - 4, y + 3), (x + 4, y + 3), (x, y - 4)], fill=_INK)
    elif mark == "square":
        pen.rectangle((x - 3, y - 3, x + 3, y + 3), fill=_HALO, outline=_INK)
    else:
        pen.ellipse((x - 3, y - 3, x + 3, y + 3), fill=_INK)


def _overlap(a: tuple[float, ...], b: tuple[float, ...]) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


@cache
def _font(size: int) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    return ImageFont.load_default(size)
