"""Drawing a block of tiles from features: areas, lines, and names that keep off each other."""

import io
from collections.abc import Iterator
from functools import cache
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from PIL import Image, ImageChops, ImageDraw, ImageFont

from plotter.geodesy.arrays import FloatArray, as_float
from plotter.tiles.build.layers import MapFeatures
from plotter.tiles.build.rasters import Rasters, Window
from plotter.tiles.build.relief import contours, shading
from plotter.tiles.build.style import LABELS, LAND, STYLES, Look, width_px
from plotter.tiles.grid import TileId

__all__ = ["BLOCK", "draw_block"]

BLOCK: Final = 4
"""Tiles on each side of a block: names and wide lines run on from tile to tile within it."""

_TILE: Final = 256
_FINE: Final = 2  # drawn so many times larger, then reduced: smooth edges
_MARGIN: Final = 96
_CASING: Final = 0.8  # what is left of a road's dark line on each side of its pale middle
_HEIGHT_STEP: Final = 2  # pixels from one height to the next
_GROUND_COVER: Final = STYLES["water"].order  # what is drawn up to here is shaded with the ground
_FEW_COLOURS: Final = 48
_MANY_COLOURS: Final = 160
_INK: Final = "#1d1d1b"
_HEIGHT_INK: Final = "#6b4d2a"
_HEIGHT_SIZE: Final = 11
_HEIGHT_EDGE: Final = 24
_HEIGHT_LEAST: Final = 120.0  # a shorter contour has no room for its height
_HALO: Final = "#fbfaf4"


def draw_block(
    features: MapFeatures, tree: shapely.STRtree, first: TileId, under: Rasters | None = None
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

    under : Rasters, optional
        Scanned maps, which then are the ground (areas of the layers are not painted over them);
        and heights, drawn as shading over the ground's
        colours and as contours (over a scanned map: contours alone).

    Yields
    ------
    tuple of TileId and bytes
        Each tile with its PNG. With no features, ground that no raster knows is see-through, and
        a tile of nothing else is left out: an empty tile would look like empty land.
    """
    under = under or Rasters()
    image = _block(features, tree, first, under)
    colours = _MANY_COLOURS if under.scans or under.elevations else _FEW_COLOURS
    count = min(BLOCK, 1 << first.zoom)
    for dy in range(count):
        for dx in range(count):
            left, top = _MARGIN + dx * _TILE, _MARGIN + dy * _TILE
            tile = image.crop((left, top, left + _TILE, top + _TILE))
            if tile.getchannel("A").getextrema()[1]:
                yield TileId(first.zoom, first.x + dx, first.y + dy), _png(tile, colours)


def _block(
    features: MapFeatures, tree: shapely.STRtree, first: TileId, under: Rasters
) -> Image.Image:
    """Draw a block with its margin."""
    side = 1 << first.zoom
    pixels = min(BLOCK, side) * _TILE + 2 * _MARGIN
    scale = _TILE * side * _FINE
    corner = as_float([first.x * _TILE - _MARGIN, first.y * _TILE - _MARGIN]) * _FINE
    extent = pixels * _FINE
    box = shapely.box(*(corner / scale), *((corner + extent) / scale))
    window = Window(first.zoom, first.x * _TILE - _MARGIN, first.y * _TILE - _MARGIN, pixels)
    heights = under.heights_m(window, pixels // _HEIGHT_STEP) if under.elevations else None
    shown = _part(features, np.sort(tree.query(box, predicate="intersects")))
    if heights is not None:
        shown = _joined(shown, contours(heights, window))
    drawn = _looks(shown, first.zoom, box)
    cover = [pair for pair in drawn if pair[0].order <= _GROUND_COVER]
    if under.scans:
        image = Image.new("RGBA", (extent, extent))
    else:
        # Where the layers say what is land, all the rest is sea; else all is land.
        ground = STYLES["water"].fill if "land" in features.kinds else LAND
        image = Image.new("RGBA", (extent, extent), ground)
        if heights is not None and not features.kinds:
            image.putalpha(_known(heights, extent))
        pen = ImageDraw.Draw(image)
        for look, shape in cover:
            _draw(pen, look, shape, corner, scale, first.zoom, box)
        if heights is not None:
            image = _shaded(image, shading(heights, window))
    pen = ImageDraw.Draw(image)
    for look, shape in drawn[len(cover) :]:
        _draw(pen, look, shape, corner, scale, first.zoom, box)
    for look, shape in drawn:
        if look.core:
            width = width_px(look, first.zoom) - 2 * _CASING
            for line in _lines(shape, corner, scale) if width >= 1.0 else ():
                _stroke(pen, line, look.core, width)
    small = image.resize((pixels, pixels), Image.Resampling.LANCZOS)
    if under.scans:
        small = Image.alpha_composite(Image.fromarray(under.image(window)), small)
    _names(small, shown, first, side)
    return small


def _png(tile: Image.Image, colours: int) -> bytes:
    out = io.BytesIO()
    if tile.getchannel("A").getextrema()[0] == 255:
        tile = tile.convert("RGB").quantize(colours, dither=Image.Dither.NONE)
    tile.save(out, "PNG", optimize=True)
    return out.getvalue()


def _part(features: MapFeatures, here: NDArray[np.int64]) -> MapFeatures:
    numbers = here.tolist()
    return MapFeatures(
        features.geometries[numbers] if numbers else np.array([], dtype=object),
        tuple(features.kinds[i] for i in numbers),
        tuple(features.names[i] for i in numbers),
        features.credit,
    )


def _joined(one: MapFeatures, other: MapFeatures) -> MapFeatures:
    return MapFeatures(
        np.concatenate((one.geometries, other.geometries)),
        one.kinds + other.kinds,
        one.names + other.names,
        one.credit,
    )


def _looks(
    features: MapFeatures, zoom: int, box: shapely.Polygon
) -> list[tuple[Look, shapely.Geometry]]:
    """Pair what is drawn at a level with its look, in the order of drawing."""
    kinds = features.kinds
    chosen = sorted(
        (i for i, kind in enumerate(kinds) if kind in STYLES and zoom >= STYLES[kind].from_zoom),
        key=lambda i: STYLES[kinds[i]].order,
    )
    shapes = shapely.clip_by_rect(features.geometries[chosen], *box.bounds) if chosen else []
    return [(STYLES[kinds[i]], shape) for i, shape in zip(chosen, shapes, strict=True)]


def _known(heights: FloatArray, extent: int) -> Image.Image:
    """Cover of the ground whose height is known."""
    known = Image.fromarray(np.where(np.isnan(heights), 0, 255).astype(np.uint8))
    return known.resize((extent, extent), Image.Resampling.NEAREST)


def _shaded(image: Image.Image, brightness: FloatArray) -> Image.Image:
    grey = Image.fromarray((brightness * 255.0).round().astype(np.uint8))
    grey = grey.resize(image.size, Image.Resampling.BILINEAR)
    shaded = ImageChops.multiply(image.convert("RGB"), Image.merge("RGB", (grey, grey, grey)))
    shaded.putalpha(image.getchannel("A"))
    return shaded


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


def _names(image: Image.Image, features: MapFeatures, first: TileId, side: int) -> None:
    """Write the names of points, the more important first, none over another."""
    pen = ImageDraw.Draw(image)
    taken: list[tuple[float, float, float, float]] = []
    order = {kind: rank for rank, kind in enumerate(LABELS)}
    points = sorted(
        (i for i, kind in enumerate(features.kinds) if kind in LABELS),
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
    if first.zoom >= STYLES["index contour"].from_zoom:
        _heights(pen, features, first, side, taken)


def _heights(
    pen: ImageDraw.ImageDraw,
    features: MapFeatures,
    first: TileId,
    side: int,
    taken: list[tuple[float, float, float, float]],
) -> None:
    """Write the heights of index contours on them, where no other name is."""
    font = _font(_HEIGHT_SIZE)
    inner = min(BLOCK, side) * _TILE + _MARGIN - _HEIGHT_EDGE
    lines = (i for i, kind in enumerate(features.kinds) if kind == "index contour")
    for i in lines:
        points = (as_float(shapely.get_coordinates(features.geometries[i])) * side) * _TILE
        points += _MARGIN - as_float([first.x, first.y]) * _TILE
        # Whole within the block: what crosses its edge would be cut, or written twice.
        places = points[((points > _MARGIN + _HEIGHT_EDGE) & (points < inner)).all(axis=1)]
        if np.hypot(*np.diff(points, axis=0).T).sum() < _HEIGHT_LEAST or not len(places):
            continue
        x, y = places[len(places) // 2].tolist()
        box = pen.textbbox((x, y), features.names[i], font, anchor="mm")
        place = (box[0] - 2, box[1] - 2, box[2] + 2, box[3] + 2)
        if any(_overlap(place, other) for other in taken):
            continue
        taken.append(place)
        pen.text(
            (x, y), features.names[i], font=font, fill=_HEIGHT_INK, anchor="mm",
            stroke_width=2, stroke_fill=_HALO,
        )  # fmt: skip


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
