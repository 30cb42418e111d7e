"""What lies under the reports: land outline and map tiles that fit a budget, as JSON values."""

import base64
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING, Any, Final

from plotter.board.data import packed_path, packed_paths
from plotter.errors import TileError
from plotter.tiles import (
    BORDER_CREDIT,
    LAND_CREDIT,
    WEB_MERCATOR_MAX_LAT_DEG,
    Archive,
    Box,
    LandPolygon,
    TileId,
    borders_in,
    covering,
    image_type,
    land_in,
    read_tiles,
    tile_ids,
)

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = ["EmbedReport", "EmbeddedTiles", "LevelReport", "embed_tiles", "land_data"]


# Least size, widest view for which it is worth its bytes, and tolerance of each land outline.
_SHEETS: Final = ((360.0, 360.0, 0.25), (12.0, 40.0, 0.03), (2.0, 10.0, 0.0))


@dataclass(frozen=True, slots=True)
class LevelReport:
    """What was taken of one level of one archive.

    Parameters
    ----------
    archive : str
        Its name.
    zoom : int
        The level.
    embedded, left_out : int
        Tiles over the area that are in the board, and that are not.
    """

    archive: str
    zoom: int
    embedded: int
    left_out: int


@dataclass(frozen=True, slots=True)
class EmbedReport:
    """What the board carries of the map archives.

    Parameters
    ----------
    levels : tuple of LevelReport
        Coarse to fine.
    tile_bytes : int
        Size of the embedded tiles in the file.
    budget_bytes : int
        What was allowed.
    problems : tuple of str
        Archives that failed on the way, and why.
    credits : tuple of str
        Whom to credit, as printed on the board.
    ends : tuple of str
        Where the data of the archives ends within the board's ground, in words.
    """

    levels: tuple[LevelReport, ...]
    tile_bytes: int
    budget_bytes: int
    problems: tuple[str, ...]
    credits: tuple[str, ...]
    ends: tuple[str, ...] = ()

    def in_words(self) -> tuple[str, ...]:
        """Say it in plain sentences."""
        said = []
        for name in dict.fromkeys(level.archive for level in self.levels):
            of = [level for level in self.levels if level.archive == name]
            whole = [level.zoom for level in of if level.embedded and not level.left_out]
            part = [level for level in of if level.embedded and level.left_out]
            none = [level.zoom for level in of if not level.embedded]
            words = [f"{name}: {sum(level.embedded for level in of)} tiles on board"]
            if whole:
                words.append(f"complete to zoom {max(whole)}")
            words += [
                f"zoom {level.zoom} in part ({level.left_out} tiles left out)" for level in part
            ]
            if none:
                words.append(f"zoom {min(none)} and finer left out for size")
            said.append("; ".join(words) + ".")
        return (*said, *self.ends, *self.problems)


@dataclass(frozen=True, slots=True)
class EmbeddedTiles:
    """Tiles ready to stand in a page.

    Parameters
    ----------
    images : dict of str to str
        Data URIs by "zoom/x/y".
    report : EmbedReport
        What was taken and what was not.
    """

    images: dict[str, str]
    report: EmbedReport


def embed_tiles(archives: Sequence[Archive], area: Box, *, budget_bytes: int) -> EmbeddedTiles:
    """Choose tiles over an area, coarse levels first, until the budget is used up.

    Within a level the tiles nearest the middle come first, so that a level that does not fit
    whole still shows the ground that matters. Where two archives have the same tile the first
    one's is taken; where its data ends in it, the next one's shows through.

    Parameters
    ----------
    archives : sequence of Archive
        In order of preference.
    area : Box
        The ground.
    budget_bytes : int
        Most that the tiles may add to the file, counted as they stand in it.

    Returns
    -------
    EmbeddedTiles
        The tiles and the report. An archive that fails is named in the report, never raised.
    """
    images: dict[str, str] = {}
    part: dict[str, bytes] = {}  # tiles in which an archive's data ends
    levels: list[LevelReport] = []
    problems: list[str] = []
    used = 0
    full = False
    chosen = covering(archives, area)
    zooms = sorted({level.zoom for archive in chosen for level in archive.coverage})
    for zoom, archive in ((zoom, archive) for zoom in zooms for archive in chosen):
        try:
            wanted = [
                tile
                for tile in _nearest_first(tile_ids(archive, area, zoom), area)
                if _key(tile) not in images or _key(tile) in part
            ]
            taken = 0
            for tile, found in () if full else read_tiles(archive, wanted):
                key = _key(tile)
                image = _over(part[key], found) if key in part else found
                uri = f"data:{image_type(image)};base64,{base64.b64encode(image).decode('ascii')}"
                more = len(uri) - len(images.get(key, ""))
                if used + more > budget_bytes:
                    full = True
                    break
                images[key] = uri
                used += more
                taken += 1
                if archive.ends_in(tile.box()):
                    part[key] = image
                else:
                    part.pop(key, None)
        except TileError as error:
            problems.append(str(error))
            continue
        if wanted:
            levels.append(LevelReport(archive.name, zoom, taken, len(wanted) - taken))
    credit = [archive.attribution for archive in chosen if archive.attribution]
    report = EmbedReport(
        tuple(levels), used, budget_bytes, tuple(dict.fromkeys(problems)),
        (LAND_CREDIT, BORDER_CREDIT, *dict.fromkeys(credit)),
        tuple(words for archive in chosen for words in _ends(archive, area)),
    )  # fmt: skip
    return EmbeddedTiles(images, report)


def _ends(archive: Archive, area: Box) -> Iterator[str]:
    if archive.ends_in(area):
        yield (
            f"{archive.name}: its data ends within this ground, at the dotted line; beyond it only "
            "the outline of the world is drawn, which knows no road, house or river."
        )
    if archive.sea_unknown is not None and archive.sea_unknown.intersects(_frame(area)):
        yield f"{archive.name}: what is land and what is sea is not known everywhere."


def _frame(area: Box) -> "BaseGeometry":
    import shapely  # loaded already, with what is known

    return shapely.box(area.west_deg, area.south_deg, area.east_deg, area.north_deg)


def _over(upper: bytes, lower: bytes) -> bytes:
    """One tile upon another; the upper alone where either cannot be drawn."""
    from PIL import Image, UnidentifiedImageError

    try:
        with Image.open(io.BytesIO(upper)) as above, Image.open(io.BytesIO(lower)) as below:
            top, ground = above.convert("RGBA"), below.convert("RGBA")
    except (UnidentifiedImageError, OSError, ValueError):
        return upper
    if ground.size != top.size:
        ground = ground.resize(top.size)
    out = io.BytesIO()
    Image.alpha_composite(ground, top).save(out, "PNG")
    return out.getvalue()


def _key(tile: TileId) -> str:
    return f"{tile.zoom}/{tile.x}/{tile.y}"


def _nearest_first(tiles: Sequence[TileId], area: Box) -> list[TileId]:
    if not tiles:
        return []
    side = 1 << tiles[0].zoom
    middle_x = ((area.west_deg + area.east_deg) / 2.0 + 180.0) / 360.0 * side
    middle_y = (min(tile.y for tile in tiles) + max(tile.y for tile in tiles) + 1) / 2.0

    def distance(tile: TileId) -> tuple[float, TileId]:
        across = (tile.x + 0.5 - middle_x + side / 2.0) % side - side / 2.0
        return across**2 + (tile.y + 0.5 - middle_y) ** 2, tile

    return sorted(tiles, key=distance)


def land_data(view: Box) -> list[dict[str, Any]]:
    """Return the land outline as JSON values: the world coarsely, the surroundings, the area.

    Parameters
    ----------
    view : Box
        The ground that the board opens on.

    Returns
    -------
    list of dict
        For each: "box" (south, west, north, east in whole millionths of a degree, the last two as
        steps from the first two), "land", the polygons as packed rings, and "borders", the country
        borders as packed lines. What comes later covers what came before.
    """
    span_deg = max(view.north_deg - view.south_deg, view.east_deg - view.west_deg)
    return [
        {
            "box": packed_path([(box.south_deg, box.west_deg), (box.north_deg, box.east_deg)]),
            "land": _packed(land_in(box, tolerance_deg=tolerance)),
            "borders": packed_paths(borders_in(box, tolerance_deg=tolerance)),
        }
        for least_deg, widest_deg, tolerance in _SHEETS
        if span_deg <= widest_deg
        for box in (_about(view, least_deg=least_deg),)
    ]


def _about(view: Box, *, least_deg: float) -> Box:
    """Grow a view by its own size on every side, and by no less than `least_deg`."""
    edge = WEB_MERCATOR_MAX_LAT_DEG
    middle = (view.west_deg + view.east_deg) / 2.0
    high = max(view.north_deg - view.south_deg, least_deg)
    wide = max(view.east_deg - view.west_deg, 2.0 * least_deg)
    return Box(
        max(min(view.south_deg - high, edge), -edge),
        max(view.west_deg - wide, middle - 180.0),
        min(max(view.north_deg + high, -edge), edge),
        min(view.east_deg + wide, middle + 180.0),
    )


def _packed(land: Sequence[LandPolygon]) -> list[list[list[int]]]:
    rings = packed_paths([ring for polygon in land for ring in polygon.rings])
    following = iter(rings)
    return [list(islice(following, len(polygon.rings))) for polygon in land]
