"""A map archive written block by block: estimated before it starts, resumed where it stopped."""

import json
import multiprocessing
import sqlite3
from collections import Counter, deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import closing
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final, TypeAlias

import numpy as np
import shapely

from plotter.errors import TileError
from plotter.geodesy.arrays import as_float
from plotter.geodesy.position import Area
from plotter.tiles.area_box import box_of_area
from plotter.tiles.build.draw import Block, Drawn, block_of, draw_block
from plotter.tiles.build.features import MapFeatures, MapSource, source_of
from plotter.tiles.build.identity import made_of
from plotter.tiles.build.places import to_lon_lat, to_world
from plotter.tiles.build.rasters import Rasters
from plotter.tiles.grid import Box, TileId, tiles_in

__all__ = ["Built", "Estimate", "Progress", "build_archive", "estimate_archive"]

Progress: TypeAlias = Callable[[float], None]
"""Called with the share that is done, 0 to 1."""

# A tile drawn alone costs some three times what it costs in its block: so few are a tenth at most.
_ONE_IN: Final = 40
_LEAST_SAMPLES: Final = 6
_MOST_SAMPLES: Final = 24
_FEW_BLOCKS: Final = 4  # fewer are drawn before other processes have started
_AHEAD: Final = 2


@dataclass(frozen=True, slots=True)
class Estimate:
    """What an archive will be.

    Parameters
    ----------
    tiles : int
        How many tiles.
    size_bytes : float
        About how large, by a few tiles drawn for it.
    beyond : int
        Tiles of the area that lie wholly beyond the data, and are not written.
    """

    tiles: int
    size_bytes: float
    beyond: int = 0


@dataclass(frozen=True, slots=True)
class Built:
    """What was done.

    Parameters
    ----------
    written : int
        Tiles written now.
    missing : Counter of str
        Scripts that no font has, with how many names wait for each.
    """

    written: int
    missing: Counter[str] = field(default_factory=Counter)


def estimate_archive(
    features: MapFeatures | MapSource,
    area: Area,
    zooms: range,
    *,
    under: Rasters | None = None,
    progress: Progress = lambda _: None,
) -> Estimate:
    """Tiles and size of an archive, by drawing a few of its tiles: at most a tenth of the build.

    Parameters
    ----------
    features : MapSource or MapFeatures
        What there is to draw.
    area : Area
        The ground.
    zooms : range
        Levels.
    under : Rasters, optional
        Scanned maps and heights under the features.
    progress : callable
        Told how far it is.

    Returns
    -------
    Estimate
        Tiles that lie wholly outside a scanned map or model are counted, though not written.
    """
    source = source_of(features)
    box = box_of_area(area)
    wanted = {zoom: _wanted(source, box, zoom, under) for zoom in zooms}
    every = sum(sum(1 for _ in tiles_in(box, zoom)) for zoom in zooms)
    tiles = sum(len(each) for each in wanted.values())
    left = min(max(tiles // _ONE_IN, _LEAST_SAMPLES), _MOST_SAMPLES, tiles)
    samples: list[TileId] = []
    for zoom in reversed(zooms):  # the finest levels have most of the tiles
        count = max(min(left, round(left * 0.75)), 1) if left else 0
        there = wanted[zoom]
        chosen = np.linspace(0, len(there) - 1, min(count, len(there)) + 2)[1:-1].astype(int)
        samples += [there[k] for k in dict.fromkeys(chosen.tolist())]
        left -= len(chosen)
    sizes: dict[int, list[int]] = {}
    for done, tile in enumerate(samples):
        drawn = draw_block(source, Block(tile.zoom, tile.x, tile.y, 1), under)
        sizes.setdefault(tile.zoom, []).append(sum(len(png) for _, png in drawn.tiles))
        progress((done + 1) / len(samples))
    whole, mean = 0.0, 0.0
    for zoom in reversed(zooms):
        mean = float(np.mean(sizes[zoom])) if zoom in sizes else mean
        whole += mean * len(wanted[zoom])
    return Estimate(tiles, whole, every - tiles)


def build_archive(
    features: MapFeatures | MapSource,
    area: Area,
    zooms: range,
    output: Path,
    *,
    name: str,
    credit: str,
    under: Rasters | None = None,
    progress: Progress = lambda _: None,
    workers: int = 1,
    again: bool = False,
) -> Built:
    """Draw an archive; a second call after a stop goes on where the first one stopped.

    Parameters
    ----------
    features : MapSource or MapFeatures
        What there is to draw.
    area : Area
        The ground; tiles that touch its box, and ground of which something is known, are written.
    zooms : range
        Levels.
    output : Path
        An .mbtiles file; its folder is made where there is none. What it already has is kept, so
        one file is for one map: its metadata keep a hash of what it was made of.
    name, credit : str
        Its name, and whom to credit; both are shown on the board.
    under : Rasters, optional
        Scanned maps and heights under the features.
    progress : callable
        Told how far it is.
    workers : int
        Processes that draw; 1 draws in this one.
    again : bool
        Draw it anew, whatever the file holds.

    Returns
    -------
    Built
        Tiles written now.

    Raises
    ------
    TileError
        If there is no credit, or the file cannot be written or holds another map.

    Source
    ------
    MBTiles specification 1.3: tables `metadata` and `tiles`, rows from the south.
    """
    if not credit.strip():
        raise TileError("a map needs a credit: say whose data it is, as their licence asks")
    source, ground = source_of(features), under or Rasters()
    box = box_of_area(area)
    wanted = {tile for zoom in zooms for tile in _wanted(source, box, zoom, under)}
    missing: Counter[str] = Counter()
    written = 0
    try:
        output.parent.mkdir(parents=True, exist_ok=True)
        if again:
            output.unlink(missing_ok=True)
        with closing(sqlite3.connect(output)) as base:
            told = _told(name, credit, box, zooms, source, made_of(source, ground, area))
            _prepare(base, output, told)
            there = _there(base)
            blocks = [b for b in _blocks(wanted) if any(t in wanted - there for t in b.tiles())]
            for done, drawn in enumerate(_drawn(source, blocks, under, workers)):
                rows = [(t, png) for t, png in drawn.tiles if t in wanted and t not in there]
                with base:  # one block, one transaction: a stop loses no more than that
                    written += _write(base, rows)
                missing.update(drawn.names.missing)
                progress((done + 1) / len(blocks))
    except (sqlite3.Error, OSError) as error:
        raise TileError(f"{str(output)!r} cannot be written as a map archive: {error}") from error
    return Built(written, missing)


def _wanted(source: MapSource, box: Box, zoom: int, under: Rasters | None) -> list[TileId]:
    """Tiles of a box on which something may be drawn, row by row."""
    tiles = list(tiles_in(box, zoom))
    known = source.held.known
    if known is None or (under is not None and (under.scans or under.elevations)):
        return tiles
    side = 1 << zoom
    x = as_float([tile.x for tile in tiles]) / side
    y = as_float([tile.y for tile in tiles]) / side
    shapely.prepare(known)
    touched = np.zeros(len(tiles), dtype=bool)
    for turn in (-1.0, 0.0, 1.0):
        squares = shapely.box(x + turn, y, x + turn + 1.0 / side, y + 1.0 / side)
        touched |= shapely.intersects(known, squares)
    return [tile for tile, there in zip(tiles, touched.tolist(), strict=True) if there]


def _blocks(wanted: Iterable[TileId]) -> list[Block]:
    """Blocks that hold tiles, each no larger than it must be; coarse levels first."""
    found: dict[Block, list[TileId]] = {}
    for tile in sorted(wanted, key=lambda t: (t.zoom, t.y, t.x)):
        found.setdefault(block_of(tile), []).append(tile)
    return [_shrunk(block, tiles) for block, tiles in found.items()]


def _shrunk(block: Block, tiles: list[TileId]) -> Block:
    west, north = min(t.x for t in tiles), min(t.y for t in tiles)
    count = max(max(t.x for t in tiles) - west, max(t.y for t in tiles) - north) + 1
    return Block(
        block.zoom,
        min(west, block.x + block.count - count),
        min(north, block.y + block.count - count),
        count,
    )


def _drawn(
    source: MapSource, blocks: list[Block], under: Rasters | None, workers: int
) -> Iterator[Drawn]:
    """Blocks in their order; several processes work ahead of what is written."""
    if workers <= 1 or len(blocks) < _FEW_BLOCKS:
        for block in blocks:
            yield draw_block(source, block, under)
        return
    with ProcessPoolExecutor(
        workers,
        mp_context=multiprocessing.get_context("spawn"),
        initializer=_begin,
        initargs=(replace(source, _tree=None, _shown=None), under),
    ) as pool:
        waiting: deque[Future[Drawn]] = deque()
        try:
            for block in blocks:
                waiting.append(pool.submit(_one, block))
                if len(waiting) > _AHEAD * workers:
                    yield waiting.popleft().result()
            while waiting:
                yield waiting.popleft().result()
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


_HERE: dict[str, tuple[MapSource, Rasters | None]] = {}


def _begin(source: MapSource, under: Rasters | None) -> None:
    _HERE["map"] = (source, under)


def _one(block: Block) -> Drawn:
    source, under = _HERE["map"]
    return draw_block(source, block, under)


def _told(
    name: str, credit: str, box: Box, zooms: range, source: MapSource, made: str
) -> dict[str, str]:
    corners = (box.west_deg, box.south_deg, box.east_deg, box.north_deg)
    told = {
        "name": name,
        "format": "png",
        "type": "baselayer",
        "version": "1",
        "attribution": credit,
        "bounds": ",".join(f"{degrees:.5f}" for degrees in corners),
        "minzoom": str(zooms.start),
        "maxzoom": str(zooms.stop - 1),
        "made_of": made,
    }
    if source.reading.notes:
        told["notes"] = json.dumps(source.reading.notes)
    known, unsure = source.held.known, source.held.unsure
    if known is not None and not known.is_empty:
        edges = to_world(as_float([corners[:2], corners[2:]])).ravel()
        low, high = edges[[0, 1]], edges[[2, 3]]
        asked = shapely.box(low[0], high[1], high[0], low[1])
        told["known_ground"] = _geojson(known.intersection(asked))
        if unsure is not None:
            told["sea_unknown"] = _geojson(unsure.intersection(asked))
    return told


def _geojson(shape: shapely.Geometry) -> str:
    there = shapely.transform(shape, lambda xy: to_lon_lat(as_float(xy)))
    return str(shapely.to_geojson(shapely.set_precision(there, 1e-6)))


def _prepare(base: sqlite3.Connection, output: Path, told: dict[str, str]) -> None:
    with base:
        base.execute("CREATE TABLE IF NOT EXISTS metadata (name TEXT PRIMARY KEY, value TEXT)")
        base.execute(
            "CREATE TABLE IF NOT EXISTS tiles (zoom_level INTEGER, tile_column INTEGER, "
            "tile_row INTEGER, tile_data BLOB, PRIMARY KEY (zoom_level, tile_column, tile_row))"
        )
        before = dict(base.execute("SELECT name, value FROM metadata").fetchall())
        if before.get("name", told["name"]) != told["name"]:
            raise TileError(
                f"{str(output)!r} holds the map {before['name']!r}, not {told['name']!r}: "
                "give another file"
            )
        (count,) = base.execute("SELECT COUNT(*) FROM tiles").fetchone()
        if count and before.get("made_of") != told["made_of"]:
            raise TileError(
                f"{str(output)!r} was made of other layers, another area or another style, and "
                "nothing is mixed into it: draw it anew with --again, or give another file"
            )
        levels = [int(each["minzoom"]) for each in (before, told) if "minzoom" in each]
        finest = [int(each["maxzoom"]) for each in (before, told) if "maxzoom" in each]
        told |= {"minzoom": str(min(levels)), "maxzoom": str(max(finest))}
        base.executemany("INSERT OR REPLACE INTO metadata VALUES (?, ?)", told.items())


def _there(base: sqlite3.Connection) -> set[TileId]:
    rows = base.execute("SELECT zoom_level, tile_column, tile_row FROM tiles").fetchall()
    return {TileId(zoom, x, (1 << zoom) - 1 - row) for zoom, x, row in rows}


def _write(base: sqlite3.Connection, tiles: list[tuple[TileId, bytes]]) -> int:
    rows = [(t.zoom, t.x, t.flipped_row, png) for t, png in tiles]
    base.executemany("INSERT INTO tiles VALUES (?, ?, ?, ?)", rows)
    return len(rows)
