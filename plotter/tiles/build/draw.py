"""Drawing a block of tiles: ground, areas, relief, ways, and names that keep off each other."""

import io
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from PIL import Image

from plotter.geodesy.arrays import FloatArray, as_float
from plotter.tiles.build.features import MapFeatures, MapSource, joined
from plotter.tiles.build.naming import Names, draw_names
from plotter.tiles.build.paint import Canvas
from plotter.tiles.build.rasters import Rasters, Window
from plotter.tiles.build.relief import contours, shading
from plotter.tiles.build.repair import cut
from plotter.tiles.build.style import LAND, STYLES, Look, width_px
from plotter.tiles.grid import TileId

__all__ = ["BLOCK", "Block", "Drawn", "block_of", "draw_block", "draw_picture"]

BLOCK: Final = 8
"""Most tiles on each side of a block: names and wide lines run on from tile to tile within it."""

_TILE: Final = 256
_MARGIN: Final = 96
_CASING: Final = 0.8  # what is left of a road's dark line on each side of its pale middle
_HEIGHT_STEP: Final = 2  # pixels from one height to the next
_GROUND_COVER: Final = STYLES["water"].order  # what is drawn up to here is shaded with the ground
_FEW_COLOURS: Final = 64
_MANY_COLOURS: Final = 255
_EDGE_INK: Final = "#6b6b6b"


@dataclass(frozen=True, slots=True)
class Block:
    """A square of tiles that are drawn together.

    Parameters
    ----------
    zoom, x, y : int
        Its level, and column and row of its north-western tile.
    count : int
        Tiles on each side.
    """

    zoom: int
    x: int
    y: int
    count: int

    def tiles(self) -> Iterator[TileId]:
        """Yield the tiles that the world has of it, row by row."""
        side = 1 << self.zoom
        for y in range(self.y, min(self.y + self.count, side)):
            for x in range(self.x, min(self.x + self.count, side)):
                yield TileId(self.zoom, x, y)


@dataclass(frozen=True, slots=True)
class Drawn:
    """A block as it came out.

    Parameters
    ----------
    tiles : tuple of (TileId, bytes)
        Each with its PNG; a tile on which nothing is drawn is left out.
    names : Names
        What was written, and what no font could write.
    """

    tiles: tuple[tuple[TileId, bytes], ...]
    names: Names = field(default_factory=Names)


def block_of(tile: TileId, count: int = BLOCK) -> Block:
    """Block of the world's own grid of blocks that holds a tile."""
    count = min(count, 1 << tile.zoom)
    return Block(tile.zoom, tile.x // count * count, tile.y // count * count, count)


def draw_block(source: MapSource, block: Block, under: Rasters | None = None) -> Drawn:
    """Draw a block of tiles.

    Parameters
    ----------
    source : MapSource
        What there is.
    block : Block
        Which tiles.
    under : Rasters, optional
        Scanned maps, which then are the ground (areas of the layers are not painted over them);
        and heights, drawn as shading over the ground's colours and as contours (over a scanned
        map: contours alone).

    Returns
    -------
    Drawn
        Ground of which neither source nor raster says anything is see-through, and a tile of
        nothing else is left out: an empty tile would look like empty land.
    """
    under = under or Rasters()
    picture, names = draw_picture(source, block, under)
    colours = _MANY_COLOURS if under.scans or under.elevations else _FEW_COLOURS
    tiles = []
    for tile in block.tiles():
        left, top = ((tile.x - block.x) * _TILE, (tile.y - block.y) * _TILE)
        part = picture[top : top + _TILE, left : left + _TILE]
        if part[..., 3].any():
            tiles.append((tile, _png(part, colours)))
    return Drawn(tuple(tiles), names)


def draw_picture(
    source: MapSource, block: Block, under: Rasters
) -> tuple[NDArray[np.uint8], Names]:
    """Red, green, blue and cover of a block, rows from the north; and its names."""
    pixels = block.count * _TILE + 2 * _MARGIN
    window = Window(block.zoom, block.x * _TILE - _MARGIN, block.y * _TILE - _MARGIN, pixels)
    scale = float(_TILE << block.zoom)
    to_pixels = as_float([scale, window.left, window.top])
    edges = as_float([window.left, window.top, window.left + pixels, window.top + pixels]) / scale
    shown = source.within(edges.tolist(), block.zoom)
    heights = under.heights_m(window, pixels // _HEIGHT_STEP) if under.elevations else None
    if heights is not None:
        shown = joined(shown, contours(heights, window))
    canvas = Canvas(pixels)
    _draw(canvas, shown, block.zoom, to_pixels, pixels, under, window, heights)
    if under.scans:
        scans = Image.fromarray(under.image(window))
        over = Image.alpha_composite(scans, Image.fromarray(canvas.rgba()))
        canvas.put(np.asarray(over))
    inner = (float(_MARGIN), float(pixels - _MARGIN))
    names = draw_names(canvas, shown, to_pixels, block.zoom, inner)
    return canvas.rgba()[_MARGIN:-_MARGIN, _MARGIN:-_MARGIN], names


def _draw(
    canvas: Canvas,
    shown: MapFeatures,
    zoom: int,
    to_pixels: FloatArray,
    pixels: int,
    under: Rasters,
    window: Window,
    heights: FloatArray | None,
) -> None:
    frame = shapely.box(0.0, 0.0, pixels, pixels)
    if not under.scans:
        _ground(canvas, shown, to_pixels, frame, heights)
    by_kind = _by_kind(shown, zoom, to_pixels, frame)
    cover = [pair for pair in by_kind if pair[0].order <= _GROUND_COVER]
    for look, shapes in cover if not under.scans else ():
        _area_and_line(canvas, look, shapes, zoom, frame)
    if heights is not None and not under.scans:
        _shade(canvas, shading(heights, window))
    for look, shapes in by_kind[len(cover) :]:
        _area_and_line(canvas, look, shapes, zoom, frame)
    for look, shapes in by_kind:
        width = width_px(look, zoom) - 2 * _CASING
        if look.core and width >= 1.0:
            canvas.stroke(_lines(shapes, frame), look.core, width)
    if shown.known is not None and not shown.known.is_empty and not under.scans:
        _edge_of_data(canvas, shown.known, to_pixels, frame)


def _ground(
    canvas: Canvas,
    shown: MapFeatures,
    to_pixels: FloatArray,
    frame: shapely.Polygon,
    heights: FloatArray | None,
) -> None:
    """Land, or sea about it, over all that is known; what is neither stays see-through."""
    known = frame if shown.known is None else _in_pixels(shown.known, to_pixels)
    colour = STYLES["water"].fill if shown.sea_around else LAND
    if heights is not None and known.is_empty:
        # Beyond the data of layers a model of heights does not tell land from sea.
        canvas.fill_where(~np.isnan(heights), LAND)
    canvas.fill([known.intersection(frame)], colour)
    if shown.unsure is not None and not shown.unsure.is_empty:
        canvas.clear([_in_pixels(shown.unsure, to_pixels).intersection(frame)])


def _in_pixels(shape: shapely.Geometry, to_pixels: FloatArray) -> shapely.Geometry:
    return shapely.transform(shape, lambda xy: as_float(xy) * to_pixels[0] - to_pixels[1:])


def _by_kind(
    shown: MapFeatures, zoom: int, to_pixels: FloatArray, frame: shapely.Polygon
) -> list[tuple[Look, NDArray[np.object_]]]:
    """Shapes in pixels with their look, kind by kind in the order of drawing."""
    kinds = np.array(shown.kinds, dtype=object)
    found = []
    for kind, look in sorted(STYLES.items(), key=lambda pair: pair[1].order):
        if zoom < look.from_zoom or kind not in shown.kinds:
            continue
        shapes = _in_pixels(shown.geometries[kinds == kind], to_pixels)
        parts = cut(shapes, frame.bounds)
        found.append((look, parts[~shapely.is_empty(parts)]))
    return found


def _area_and_line(
    canvas: Canvas, look: Look, shapes: NDArray[np.object_], zoom: int, frame: shapely.Polygon
) -> None:
    areas = shapes[shapely.get_dimensions(shapes) == 2]
    if look.fill and len(areas):
        canvas.fill(areas, look.fill)
    if look.line:
        width = width_px(look, zoom)
        dash = tuple(part * width / look.width for part in look.dash)
        canvas.stroke(_lines(shapes, frame), look.line, width, dash)


def _lines(shapes: NDArray[np.object_], frame: shapely.Polygon) -> Iterator[FloatArray]:
    """Lines, and edges of areas but where the picture itself cuts them."""
    areas = shapely.get_dimensions(shapes) == 2
    edges = shapely.difference(shapely.boundary(shapes[areas]), frame.boundary)
    for part in shapely.get_parts(np.concatenate((shapes[~areas], edges))).tolist():
        if part.geom_type == "LineString" and part.length > 0.0:
            yield shapely.get_coordinates(part)


def _edge_of_data(
    canvas: Canvas, known: shapely.Geometry, to_pixels: FloatArray, frame: shapely.Polygon
) -> None:
    ends = shapely.boundary(_in_pixels(known, to_pixels)).intersection(frame.buffer(-2.0))
    lines = [
        shapely.get_coordinates(part)
        for part in shapely.get_parts(ends).tolist()
        if part.geom_type == "LineString"
    ]
    if lines:
        canvas.stroke(lines, _EDGE_INK, 1.4, (2.0, 5.0))


def _shade(canvas: Canvas, brightness: FloatArray) -> None:
    side = len(canvas.premultiplied)
    grey = Image.fromarray((brightness * 255.0).round().astype(np.uint8))
    fine = np.asarray(grey.resize((side, side), Image.Resampling.BILINEAR), dtype=np.uint16)
    colours = canvas.premultiplied[..., :3]
    colours[:] = (colours * fine[..., None] // 255).astype(np.uint8)


def _png(tile: NDArray[np.uint8], colours: int) -> bytes:
    out = io.BytesIO()
    opaque = tile[..., 3].min() == 255
    image = Image.fromarray(np.ascontiguousarray(tile[..., :3] if opaque else tile))
    few = image.quantize(colours, method=Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE)
    few.save(out, "PNG")
    return out.getvalue()
