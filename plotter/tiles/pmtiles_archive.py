"""Raster PMTiles archives, version 3: mapped read-only, their directories read once and kept."""

import gzip
import json
import mmap
import zlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

import numpy as np
from pmtiles.tile import (
    Compression,
    Entry,
    HeaderDict,
    MagicNumberNotFound,
    SpecVersionUnsupported,
    deserialize_directory,
    deserialize_header,
    zxy_to_tileid,
)

from plotter.errors import TileError
from plotter.geodesy.arrays import IntArray
from plotter.tiles.archive import (
    ADVICE,
    Archive,
    ZoomCoverage,
    image_type,
    plain_text,
    tile_ranges,
)
from plotter.tiles.grid import MAX_ZOOM, Box, TileId

__all__ = ["hilbert_cells", "open_archive", "read_tiles", "tile_ids"]

_HEADER_BYTES: Final = 127
_MOST_DEPTH: Final = 4  # a root and three levels of leaves: what readers of the format allow
_MOST_ENTRIES: Final = 5_000_000
_MOST_BYTES: Final = 1 << 26  # of one unpacked directory: a small file may unpack to anything
_FIRST_IDS: Final = np.array([(4**zoom - 1) // 3 for zoom in range(MAX_ZOOM + 2)], dtype=np.int64)
_DAMAGE: Final = (
    ValueError, EOFError, OSError, zlib.error, OverflowError, IndexError, RecursionError,
)  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class _Index:
    """The directories of one archive.

    Parameters
    ----------
    header : HeaderDict
        Sections and kinds.
    told : dict
        The metadata.
    first, run, offset, length : ndarray of int, shape (n,)
        Entries in the order of their tile ids.
    squares : dict of int to ndarray of int, shape (n, 3)
        By level: column, row and side of the squares that the entries fill.
    """

    header: HeaderDict
    told: dict[str, Any]
    first: IntArray
    run: IntArray
    offset: IntArray
    length: IntArray
    squares: dict[int, IntArray]


def open_archive(path: Path, *, vectors: bool = False) -> Archive:
    """Read what an archive says about itself.

    Parameters
    ----------
    path : Path
        A .pmtiles file. It is opened read-only and taken as unchanging.
    vectors : bool
        Whether its tiles are to be vectors, not images.

    Returns
    -------
    Archive
        Its name, credit and coverage.

    Raises
    ------
    TileError
        If the file is missing, damaged, of another version, or holds no raster tiles.

    Source
    ------
    PMTiles specification, version 3.
    """
    index = _index(path)
    if index.header["tile_type"].name == "MLT":
        raise TileError(f"{str(path)!r} holds vector tiles of a kind not read here; {ADVICE}")
    if not index.squares:
        raise TileError(f"{str(path)!r} holds no tiles; {ADVICE}")
    with _mapped(path) as data:
        sample = _tile(index, data, 0)
        size = len(data)
    if (image_type(sample) is None) != vectors:
        raise TileError(f"the tiles in {str(path)!r} are not PNG, JPEG or WebP images; {ADVICE}")
    return Archive(
        path=path,
        kind="pmtiles",
        size_bytes=size,
        name=str(index.told.get("name") or "").strip() or path.stem,
        attribution=plain_text(str(index.told.get("attribution") or "")),
        coverage=tuple(_coverage(index)),
    )


def tile_ids(archive: Archive, box: Box, zoom: int) -> tuple[TileId, ...]:
    """Return the tiles of one level over a box; see `plotter.tiles.reading.tile_ids`."""
    squares = _index(archive.path).squares.get(zoom)
    found: set[TileId] = set()
    if squares is None:
        return ()
    for west, east, top, bottom in tile_ranges(box, zoom):
        x, y, side = squares.T
        near = (x <= east) & (x + side > west) & (y <= bottom) & (y + side > top)
        for left, upper, wide in squares[near].tolist():
            found.update(
                TileId(zoom, column, row)
                for row in range(max(upper, top), min(upper + wide - 1, bottom) + 1)
                for column in range(max(left, west), min(left + wide - 1, east) + 1)
            )
    return tuple(sorted(found, key=lambda tile: (tile.y, tile.x)))


def read_tiles(archive: Archive, wanted: Iterable[TileId]) -> Iterator[tuple[TileId, bytes]]:
    """Yield the tiles that the archive has; see `plotter.tiles.reading.read_tiles`."""
    index = _index(archive.path)
    with _mapped(archive.path) as data:
        for tile in wanted:
            number = zxy_to_tileid(tile.zoom, tile.x, tile.y)
            at = int(np.searchsorted(index.first, number, side="right")) - 1
            if at >= 0 and number < index.first[at] + index.run[at]:
                image = _tile(index, data, at)
                if image_type(image):
                    yield tile, image


@contextmanager
def _mapped(path: Path) -> Iterator[mmap.mmap]:
    if not path.is_file():
        raise TileError(f"there is no map archive at {str(path)!r}; check the path")
    try:
        with path.open("rb") as file:
            data = mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)
    except (OSError, ValueError) as error:  # ValueError: nothing in it
        raise TileError(f"{str(path)!r} cannot be opened ({error}); {ADVICE}") from error
    with data:
        yield data


def _index(path: Path) -> _Index:
    """Directories of an archive, read again only if the file has changed."""
    if not path.is_file():
        raise TileError(f"there is no map archive at {str(path)!r}; check the path")
    stat = path.stat()
    return _read_index(path, stat.st_size, stat.st_mtime_ns)


@lru_cache(maxsize=8)
def _read_index(path: Path, size: int, _: int) -> _Index:
    with _mapped(path) as data:
        try:
            header = deserialize_header(data[:_HEADER_BYTES])
            _check_sections(path, header, size)
            told = _metadata(data, header)
            entries = list(_entries(data, header, header["root_offset"], header["root_length"], 1))
            return _arranged(header, told, entries)
        except MagicNumberNotFound as error:
            raise TileError(f"{str(path)!r} is not a PMTiles archive; {ADVICE}") from error
        except SpecVersionUnsupported as error:
            raise TileError(
                f"{str(path)!r} is PMTiles of another version than 3; convert it to version 3"
            ) from error
        except _DAMAGE as error:
            raise TileError(
                f"{str(path)!r} is damaged ({error}); copy it again from its source"
            ) from error


def _check_sections(path: Path, header: HeaderDict, size: int) -> None:
    ends = (
        header["root_offset"] + header["root_length"],
        header["metadata_offset"] + header["metadata_length"],
        header["leaf_directory_offset"] + header["leaf_directory_length"],
        header["tile_data_offset"] + header["tile_data_length"],
    )
    if max(ends) > size:
        raise TileError(
            f"{str(path)!r} is cut short: {size} bytes of {max(ends)}; "
            "copy it again from its source"
        )


def _metadata(data: mmap.mmap, header: HeaderDict) -> dict[str, Any]:
    start, length = header["metadata_offset"], header["metadata_length"]
    if not length:
        return {}
    told = json.loads(_unpacked(data[start : start + length], header))
    return told if isinstance(told, dict) else {}


def _unpacked(packed: bytes, header: HeaderDict) -> bytes:
    if header["internal_compression"] is Compression.NONE:
        return packed
    if header["internal_compression"] is not Compression.GZIP:
        raise ValueError(f"directories packed as {header['internal_compression'].name.lower()}")
    opener = zlib.decompressobj(wbits=31)
    raw = opener.decompress(packed, _MOST_BYTES)
    if not opener.eof:  # its checksum comes last: without it, nothing was checked
        raise ValueError("a directory is cut short or far too large")
    return raw


def _entries(
    data: mmap.mmap, header: HeaderDict, start: int, length: int, depth: int
) -> Iterator[Entry]:
    """Yield the entries of a directory and of those below it."""
    if depth > _MOST_DEPTH:
        raise ValueError("its directories lie in each other too deeply")
    raw = _unpacked(data[start : start + length], header)
    # The package unpacks by itself; what it gets is packed anew, so that a small file cannot
    # unpack to more than memory holds, and unpacked directories are read as well.
    for entry in deserialize_directory(gzip.compress(raw, compresslevel=0)):
        if entry.run_length:
            yield entry
        else:
            leaf = header["leaf_directory_offset"] + entry.offset
            yield from _entries(data, header, leaf, entry.length, depth + 1)


def _arranged(header: HeaderDict, told: dict[str, Any], entries: Iterable[Entry]) -> _Index:
    rows: list[tuple[int, int, int, int]] = []
    for entry in entries:
        end = entry.offset + entry.length
        if entry.tile_id + entry.run_length > _FIRST_IDS[-1] or end > header["tile_data_length"]:
            raise ValueError(f"tile {entry.tile_id} lies outside the file or the grid")
        rows.append((entry.tile_id, entry.run_length, entry.offset, entry.length))
        if len(rows) > _MOST_ENTRIES:
            raise ValueError(f"more than {_MOST_ENTRIES} entries: cut the area out of it")
    rows.sort()
    table = np.array(rows, dtype=np.int64).reshape(-1, 4)
    first, run, offset, length = (np.ascontiguousarray(column) for column in table.T)
    return _Index(header, told, first, run, offset, length, _squares(first, run))


def _squares(first: IntArray, run: IntArray) -> dict[int, IntArray]:
    """By level, the squares of tiles that runs of ids fill.

    A run of 4ᵏ ids that begins at a multiple of 4ᵏ fills a square of side 2ᵏ; every run falls
    into few of them, however long it is.
    """
    pieces = [(start, 0) for start in first[run == 1].tolist()]
    for start, count in zip(first[run > 1].tolist(), run[run > 1].tolist(), strict=True):
        at = start
        while at < start + count:
            zoom = int(np.searchsorted(_FIRST_IDS, at, side="right")) - 1
            place = at - int(_FIRST_IDS[zoom])
            power = 0
            while (
                power < zoom
                and place % 4 ** (power + 1) == 0
                and at + 4 ** (power + 1) <= start + count
            ):
                power += 1
            pieces.append((at, power))
            at += 4**power
    if not pieces:
        return {}
    ids, powers = np.array(pieces, dtype=np.int64).T
    zooms = np.searchsorted(_FIRST_IDS, ids, side="right") - 1
    squares: dict[int, IntArray] = {}
    for zoom in np.unique(zooms).tolist():
        here = zooms == zoom
        side = np.left_shift(1, powers[here])
        x, y = hilbert_cells(ids[here] - _FIRST_IDS[zoom], zoom)
        squares[zoom] = np.column_stack((x // side * side, y // side * side, side))
    return squares


def hilbert_cells(place: IntArray, zoom: int) -> tuple[IntArray, IntArray]:
    """Column and row of places along the Hilbert curve.

    Parameters
    ----------
    place : ndarray of int, shape (n,)
        0 to 4ᶻ − 1.
    zoom : int
        The level z.

    Returns
    -------
    tuple of ndarray of int, shape (n,)
        Columns, rows from the north.

    Source
    ------
    PMTiles specification, version 3, section 4: tile ids.
    """
    x, y = np.zeros_like(place), np.zeros_like(place)
    for level in range(zoom):
        side = 1 << level
        right = (place >> (2 * level + 1)) & 1
        lower = ((place >> (2 * level)) & 1) ^ right
        turned = lower == 0
        mirrored = turned & (right == 1)
        x, y = np.where(mirrored, side - 1 - x, x), np.where(mirrored, side - 1 - y, y)
        x, y = np.where(turned, y, x), np.where(turned, x, y)
        x, y = x + side * right, y + side * lower
    return x, y


def _coverage(index: _Index) -> Iterator[ZoomCoverage]:
    for zoom, squares in index.squares.items():
        x, y, side = squares.T
        yield ZoomCoverage(
            zoom,
            int((side**2).sum()),
            int(x.min()),
            int((x + side).max()) - 1,
            int(y.min()),
            int((y + side).max()) - 1,
        )


def _tile(index: _Index, data: mmap.mmap, at: int) -> bytes:
    start = index.header["tile_data_offset"] + int(index.offset[at])
    return data[start : start + int(index.length[at])]
