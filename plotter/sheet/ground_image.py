"""The map under a page: archive tiles, or the land outline, in light greys at the page's scale."""

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from plotter.geodesy.arrays import FloatArray
from plotter.sheet.frame import MapFrame
from plotter.tiles.archive import Archive
from plotter.tiles.archives import covering
from plotter.tiles.grid import WEB_MERCATOR_MAX_LAT_DEG, Box, TileId
from plotter.tiles.outline import LAND_CREDIT, land_in
from plotter.tiles.reading import read_tiles

if TYPE_CHECKING:
    from PIL.Image import Image

__all__ = ["GroundImage", "grey_safe", "ground_image"]

_DPI: Final = 200.0
_TILE: Final = 256
_DEEPEST: Final = 22
_PARENTS: Final = 1
# The way from page to tile is computed at every so-many pixels and runs straight between.
_EVERY: Final = 16
# Black becomes this grey, so that what is printed over the map keeps a contrast of 3 : 1.
_DARKEST: Final = 96
_WATER, _LAND, _COAST = 234, 252, 130
_MOST_TILES: Final = 1_000  # 130 MB laid out
_SEEN: Final = 127  # of 255: cover from which on a pixel is painted

Pixels = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class GroundImage:
    """The map of one page.

    Parameters
    ----------
    image : PIL image
        Grey, the size of the frame at 200 dpi.
    sources : tuple of str
        Name, level, credit and file date of each archive that was used; the land outline.
    share : float
        Part of the page that archives cover.
    """

    image: "Image"
    sources: tuple[str, ...]
    share: float


def grey_safe(pixels: Pixels) -> Pixels:
    """Return light greys for red, green and blue: black becomes a middle grey, white stays white.

    Source
    ------
    Weights of ITU-R BT.601, as grey printers and scanners use them.
    """
    grey = pixels[..., :3].astype(np.float32) @ np.array([0.299, 0.587, 0.114], np.float32)
    return (_DARKEST + grey * ((255.0 - _DARKEST) / 255.0)).round().astype(np.uint8)


def ground_image(frame: MapFrame, archives: Sequence[Archive]) -> GroundImage:
    """Draw the map of a frame.

    Parameters
    ----------
    frame : MapFrame
        The page's ground.
    archives : sequence of Archive
        In order of preference; those that do not cover the frame are passed over.

    Returns
    -------
    GroundImage
        From every archive the level that is nearest the page's resolution; gaps are filled from
        coarser levels, then from the next archive, then from the land outline.
    """
    from PIL import Image

    wide = round(frame.rect.width / 25.4 * _DPI)
    high = round(frame.rect.height / 25.4 * _DPI)
    lat, lon = _places(frame, wide, high)
    grey = _outline(frame, lat, lon, wide, high)
    known = np.zeros((high, wide), bool)
    sources: list[str] = []
    box = Box(float(lat.min()), float(lon.min()), float(lat.max()), float(lon.max()))
    for archive in covering(archives, box):
        before = int(known.sum())
        level = _paint(grey, known, archive, lat, lon)
        if level is None:
            sources.append(f"{archive.name}: too fine for this scale, left out")
        elif int(known.sum()) > before:
            credit = archive.attribution or "no credit stated in the archive"
            # The file's own date is all there is: the format has no field for that of the map.
            dated = datetime.fromtimestamp(archive.path.stat().st_mtime, tz=UTC)
            words = f"{archive.name}, level {level} ({credit}), file of {dated:%Y-%m-%d}"
            sources.append(words)
    share = float(known.mean())
    if share < 1.0:
        if sources:
            sources.append(
                f"The map's data covers {int(share * 100)} % of this page; the rest is the outline "
                "of the world alone, which knows no road, house or river"
            )
        sources.append(LAND_CREDIT)
    return GroundImage(Image.fromarray(grey), tuple(sources), share)


def _places(frame: MapFrame, wide: int, high: int) -> tuple[FloatArray, FloatArray]:
    """Return the places under every 16th pixel, row by row from the top, longitudes running on."""
    columns, rows = math.ceil(wide / _EVERY) + 1, math.ceil(high / _EVERY) + 1
    x = frame.rect.left + (np.arange(columns) * _EVERY) * frame.rect.width / wide
    y = frame.rect.top - (np.arange(rows) * _EVERY) * frame.rect.height / high
    xs, ys = np.meshgrid(x, y)
    lat, lon = frame.latlon_of_mm(xs, ys)
    centre = frame.middle.lon_deg
    return lat, centre + (lon - centre + 180.0) % 360.0 - 180.0


def _smooth(nodes: FloatArray, wide: int, high: int) -> FloatArray:
    """Fill in between the nodes, at the middle of each pixel."""
    across = (np.arange(wide) + 0.5) / _EVERY
    down = (np.arange(high) + 0.5) / _EVERY
    left, top = across.astype(int), down.astype(int)
    u, v = across - left, (down - top)[:, None]
    upper = nodes[top][:, left] * (1 - u) + nodes[top][:, left + 1] * u
    lower = nodes[top + 1][:, left] * (1 - u) + nodes[top + 1][:, left + 1] * u
    filled: FloatArray = upper * (1 - v) + lower * v
    return filled


def _paint(
    grey: Pixels,
    known: NDArray[np.bool_],
    archive: Archive,
    lat: FloatArray,
    lon: FloatArray,
) -> int | None:
    """Paint an archive where nothing is painted yet.

    Returns the level it was taken from; None where all its levels are too fine for the page.
    """
    high, wide = grey.shape
    inside = np.clip(lat, -WEB_MERCATOR_MAX_LAT_DEG, WEB_MERCATOR_MAX_LAT_DEG)
    column = (lon + 180.0) / 360.0
    row = (1.0 - np.arcsinh(np.tan(np.radians(inside))) / np.pi) / 2.0
    # Level whose pixels are nearest in size to the page's.
    step = float(np.hypot(np.diff(column, axis=1), np.diff(row, axis=1)).mean()) / _EVERY
    wanted = round(math.log2(1.0 / (_TILE * step))) if step > 0 else _DEEPEST
    level = _level_of(archive, wanted, column, row)
    if level is None:
        return None
    (west, north), (columns, rows), _ = _extent(column, row, level)
    mosaic, painted = _mosaic(archive, level, west, north, columns, rows)
    x = _smooth(column * 2**level * _TILE, wide, high) - west * _TILE
    y = _smooth(row * 2**level * _TILE, wide, high) - north * _TILE
    there = painted[
        np.clip(y.astype(int), 0, rows * _TILE - 1), np.clip(x.astype(int), 0, columns * _TILE - 1)
    ]
    there &= _smooth(np.abs(lat), wide, high) <= WEB_MERCATOR_MAX_LAT_DEG
    new = there & ~known
    grey[new] = _sampled(mosaic, x[new], y[new])
    known |= new
    return level


def _level_of(archive: Archive, wanted: int, column: FloatArray, row: FloatArray) -> int | None:
    """Return the archive's finest level that is no finer than wanted, else its coarsest."""
    levels = sorted(each.zoom for each in archive.coverage)
    fitting = [level for level in levels if level <= wanted] or levels[:1]
    while fitting and _extent(column, row, fitting[-1])[2] > _MOST_TILES:
        fitting.pop()
    return fitting[-1] if fitting else None


def _extent(
    column: FloatArray, row: FloatArray, level: int
) -> tuple[tuple[int, int], tuple[int, int], int]:
    side = 2**level
    west, east = math.floor(column.min() * side), math.floor(column.max() * side)
    north, south = math.floor(row.min() * side), math.floor(row.max() * side)
    shape = (east - west + 1, south - north + 1)
    return (west, north), shape, shape[0] * shape[1]


def _sampled(mosaic: Pixels, x: FloatArray, y: FloatArray) -> Pixels:
    """Take greys from between the pixels of a mosaic."""
    high, wide = mosaic.shape
    x, y = np.clip(x - 0.5, 0.0, wide - 1.001), np.clip(y - 0.5, 0.0, high - 1.001)
    left, top = x.astype(int), y.astype(int)
    u, v = x - left, y - top
    upper = mosaic[top, left] * (1 - u) + mosaic[top, left + 1] * u
    lower = mosaic[top + 1, left] * (1 - u) + mosaic[top + 1, left + 1] * u
    greys: Pixels = (upper * (1 - v) + lower * v).round().astype(np.uint8)
    return greys


def _mosaic(
    archive: Archive, level: int, west: int, north: int, columns: int, rows: int
) -> tuple[Pixels, NDArray[np.bool_]]:
    """Lay tiles of one level out side by side; a missing one is cut from a coarser level.

    What is see-through in them is not painted: the map knows nothing there.
    """
    mosaic = np.full((rows * _TILE, columns * _TILE), 255, np.uint8)
    painted = np.zeros((rows * _TILE, columns * _TILE), bool)
    laid = np.zeros((rows, columns), bool)
    for up in range(min(_PARENTS, level) + 1):
        asked: dict[TileId, list[tuple[int, int]]] = {}
        side = 2 ** (level - up)
        for r in range(rows):
            for c in range(columns):
                if not laid[r, c] and 0 <= north + r < 2**level:
                    tile = TileId(level - up, ((west + c) >> up) % side, (north + r) >> up)
                    asked.setdefault(tile, []).append((r, c))
        for tile, data in read_tiles(archive, asked):
            whole = _decoded(data)
            if whole is None:
                continue
            for r, c in asked[tile]:
                cut = up, (west + c) % 2**up, (north + r) % 2**up
                place = (
                    slice(r * _TILE, (r + 1) * _TILE),
                    slice(c * _TILE, (c + 1) * _TILE),
                )
                mosaic[place] = _part(whole[0], *cut)
                painted[place] = _part(whole[1], *cut) > _SEEN
                laid[r, c] = True
        if laid.all():
            break
    return mosaic, painted


def _part(whole: Pixels, up: int, column: int, row: int) -> Pixels:
    if up == 0:
        return whole
    from PIL import Image

    side = _TILE / 2**up
    box = (column * side, row * side, (column + 1) * side, (row + 1) * side)
    image = Image.fromarray(whole).resize((_TILE, _TILE), Image.Resampling.BILINEAR, box=box)
    return np.asarray(image)


def _decoded(data: bytes) -> tuple[Pixels, Pixels] | None:
    """Decode a tile to light greys on white, and its cover; None if it is damaged."""
    from PIL import Image, UnidentifiedImageError

    try:
        with Image.open(io.BytesIO(data)) as image:
            full = image.convert("RGBA")
    except (UnidentifiedImageError, OSError, ValueError):
        return None
    if full.size != (_TILE, _TILE):
        full = full.resize((_TILE, _TILE), Image.Resampling.BILINEAR)
    under = Image.new("RGBA", full.size, "white")
    pixels = np.asarray(Image.alpha_composite(under, full))
    return grey_safe(pixels), np.asarray(full.getchannel("A"))


def _outline(frame: MapFrame, lat: FloatArray, lon: FloatArray, wide: int, high: int) -> Pixels:
    """Draw the world's land on water."""
    from PIL import Image, ImageDraw

    box = Box(
        max(float(lat.min()) - 0.05, -90.0),
        float(lon.min()) - 0.05,
        min(float(lat.max()) + 0.05, 90.0),
        min(float(lon.max()) + 0.05, float(lon.min()) + 359.9),
    )
    image = Image.new("L", (wide, high), _WATER)
    draw = ImageDraw.Draw(image)
    for land in land_in(box):
        for index, ring in enumerate(land.rings):
            x, y = frame.mm_of(ring[:, 0], ring[:, 1])
            across = (x - frame.rect.left) * wide / frame.rect.width
            down = (frame.rect.top - y) * high / frame.rect.height
            points = list(zip(across.tolist(), down.tolist(), strict=True))
            if len(points) > 2:
                draw.polygon(points, fill=_WATER if index else _LAND)
                draw.line([*points, points[0]], fill=_COAST, width=2)
    return np.array(image)
