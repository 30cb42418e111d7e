"""Folders of map images z/x/y.png: described by what lies in them, and read tile by tile."""

import json
import os
import re
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Final

from plotter.errors import TileError
from plotter.tiles.archive import (
    ADVICE,
    Archive,
    ZoomCoverage,
    image_type,
    plain_text,
    tile_ranges,
)
from plotter.tiles.grid import MAX_ZOOM, Box, TileId

__all__ = ["is_tile_folder", "open_archive", "read_tiles", "tile_ids"]

# ASCII figures without leading zeros: "07", "+7" or figures of other scripts name no tile.
_NUMBER: Final = re.compile(r"0|[1-9][0-9]{0,9}", re.ASCII)
_IMAGES: Final = (".png", ".jpg", ".jpeg", ".webp")
_VECTOR: Final = frozenset({".pbf", ".mvt"})
_DESCRIPTIONS: Final = ("metadata.json", "tiles.json")
_MOST_BYTES: Final = 1 << 24  # no tile, nor description, is as large as this


def is_tile_folder(path: Path) -> bool:
    """Whether a folder holds numbered folders, as a pyramid of tiles does."""
    try:
        return path.is_dir() and any(_numbered(path))
    except OSError:
        return False


def open_archive(path: Path) -> Archive:
    """Look through a folder of tiles.

    Parameters
    ----------
    path : Path
        It holds z/x/y.png, .jpg, .jpeg or .webp, rows counted from the north. A metadata.json or
        tiles.json beside the numbered folders may give "name" and "attribution".

    Returns
    -------
    Archive
        Its name, credit and coverage.

    Raises
    ------
    TileError
        If it cannot be read, holds no image tiles, or counts its rows from the south.

    Source
    ------
    TileJSON 3.0.0, keys `name`, `attribution` and `scheme`; OSGeo Tile Map Service 1.0.0, whose
    tilemapresource.xml stands for rows counted from the south.
    """
    try:
        told = _description(path)
        if told.get("scheme", "xyz") != "xyz" or (path / "tilemapresource.xml").exists():
            raise TileError(
                f"the tiles in {str(path)!r} are counted from the south (TMS), which would "
                "put them in the wrong place; write them again counted from the north (XYZ)"
            )
        coverage, size, sample, vector = _look_through(path)
    except OSError as error:
        raise _unreadable(path, error) from error
    if not coverage and vector:
        raise TileError(f"{str(path)!r} holds vector tiles, which are not drawn here; {ADVICE}")
    if not coverage:
        raise TileError(f"{str(path)!r} holds no tiles z/x/y.png, .jpg or .webp; {ADVICE}")
    if image_type(sample) is None:
        raise TileError(f"the tiles in {str(path)!r} are not PNG, JPEG or WebP images; {ADVICE}")
    return Archive(
        path=path,
        kind="folder",
        size_bytes=size,
        name=told.get("name", "").strip() or path.name,
        attribution=plain_text(told.get("attribution", "")),
        coverage=coverage,
    )


def tile_ids(archive: Archive, box: Box, zoom: int) -> tuple[TileId, ...]:
    """Return the tiles of one level over a box; see `plotter.tiles.reading.tile_ids`."""
    ranges = tile_ranges(box, zoom)
    found: set[TileId] = set()
    try:
        level = archive.path / str(zoom)
        for x, column in _numbered(level) if _real(level) else ():
            rows = [(top, bottom) for west, east, top, bottom in ranges if west <= x <= east]
            for y in _column(column) if rows else ():
                if any(top <= y <= bottom for top, bottom in rows):
                    found.add(TileId(zoom, x, y))
        if not archive.path.is_dir():
            raise _gone(archive.path)
    except OSError as error:
        raise _unreadable(archive.path, error) from error
    return tuple(sorted(found, key=lambda tile: (tile.y, tile.x)))


def read_tiles(archive: Archive, wanted: Iterable[TileId]) -> Iterator[tuple[TileId, bytes]]:
    """Yield the tiles that the folder has; see `plotter.tiles.reading.read_tiles`."""
    if not archive.path.is_dir():
        raise _gone(archive.path)
    columns: dict[tuple[int, int], dict[int, Path]] = {}
    for tile in wanted:
        where = (tile.zoom, tile.x)
        try:
            if where not in columns:
                level = archive.path / str(tile.zoom)
                column = level / str(tile.x)
                columns[where] = _column(column) if _real(level) and _real(column) else {}
            file = columns[where].get(tile.y)
            image = b"" if file is None else _bytes(file)
        except OSError as error:
            raise _unreadable(archive.path, error) from error
        if image_type(image):
            yield tile, image


def _numbered(folder: Path) -> Iterator[tuple[int, Path]]:
    """Yield number and path of each folder that is named by one."""
    with os.scandir(folder) as entries:
        for entry in entries:
            if _NUMBER.fullmatch(entry.name) and entry.is_dir(follow_symlinks=False):
                yield int(entry.name), Path(entry.path)


def _real(folder: Path) -> bool:
    return folder.is_dir() and not folder.is_symlink()


def _column(folder: Path) -> dict[int, Path]:
    """Map rows to files; only plain files, since a link or a pipe may lead anywhere or wait."""
    found: dict[int, tuple[int, Path]] = {}
    with os.scandir(folder) as entries:
        for entry in entries:
            stem, suffix = os.path.splitext(entry.name)  # noqa: PTH122 - a name, not a path
            if suffix.lower() in _IMAGES and _NUMBER.fullmatch(stem):
                rank = _IMAGES.index(suffix.lower())
                row = int(stem)
                if entry.is_file(follow_symlinks=False) and (
                    row not in found or rank < found[row][0]
                ):
                    found[row] = (rank, Path(entry.path))
    return {row: file for row, (_, file) in found.items()}


def _look_through(path: Path) -> tuple[tuple[ZoomCoverage, ...], int, bytes, bool]:
    """Coverage, size in bytes, one tile, and whether there are vector tiles."""
    levels: list[ZoomCoverage] = []
    size = 0
    sample: Path | None = None
    vector = False
    for zoom, folder in sorted(_numbered(path)):
        if zoom > MAX_ZOOM:
            continue  # a level outside the grid cannot be placed on the ground
        last = (1 << zoom) - 1
        tiles: list[tuple[int, int]] = []
        for x, column in _numbered(folder):
            files = _column(column)
            vector = vector or (not files and _holds_vector(column))
            inside = {y: file for y, file in files.items() if y <= last} if x <= last else {}
            tiles.extend((x, y) for y in inside)
            for file in inside.values():
                size += file.stat().st_size
                sample = sample or file
        if tiles:
            columns, rows = zip(*tiles, strict=True)
            levels.append(
                ZoomCoverage(zoom, len(tiles), min(columns), max(columns), min(rows), max(rows))
            )
    return tuple(levels), size, b"" if sample is None else _bytes(sample), vector


def _holds_vector(folder: Path) -> bool:
    return any(file.suffix.lower() in _VECTOR for file in folder.iterdir())


def _bytes(file: Path) -> bytes:
    with file.open("rb") as stream:
        data = stream.read(_MOST_BYTES)
    return data if len(data) < _MOST_BYTES else b""


def _description(path: Path) -> dict[str, str]:
    for name in _DESCRIPTIONS:
        if (path / name).is_file():
            try:
                told = json.loads(_bytes(path / name))
            except (ValueError, RecursionError):
                continue  # the tiles speak for themselves
            if isinstance(told, dict):
                return {str(key): str(value) for key, value in told.items() if value is not None}
    return {}


def _gone(path: Path) -> TileError:
    return TileError(f"there is no folder of tiles at {str(path)!r}; check the path")


def _unreadable(path: Path, error: OSError) -> TileError:
    return TileError(f"{str(path)!r} cannot be read ({error}); check the medium and its rights")
