"""Opening and reading a map archive of any kind: which module does it is decided here alone."""

from collections.abc import Iterable, Iterator
from pathlib import Path
from types import MappingProxyType
from typing import Final, Protocol

from plotter.errors import TileError
from plotter.tiles import geotiff, mbtiles, pmtiles_archive, tile_folder, vector_archive
from plotter.tiles.archive import ADVICE, Archive, ArchiveKind
from plotter.tiles.grid import Box, TileId

__all__ = ["archive_kind", "open_archive", "read_tiles", "tile_ids"]


class _Reader(Protocol):
    """What a module for one kind of archive offers."""

    def open_archive(self, path: Path) -> Archive: ...

    def tile_ids(self, archive: Archive, box: Box, zoom: int) -> tuple[TileId, ...]: ...

    def read_tiles(
        self, archive: Archive, wanted: Iterable[TileId]
    ) -> Iterator[tuple[TileId, bytes]]: ...


_READERS: Final = MappingProxyType[ArchiveKind, _Reader](
    {
        "mbtiles": mbtiles,
        "pmtiles": pmtiles_archive,
        "folder": tile_folder,
        "geotiff": geotiff,
        "vector": vector_archive,
    }
)


def archive_kind(path: Path) -> ArchiveKind | None:
    """Kind of archive that a path looks like; None for what is none.

    Parameters
    ----------
    path : Path
        A file, by its ending; or a folder, by numbered folders in it.
    """
    suffix = path.suffix.lower()
    if suffix in {".mbtiles", ".pmtiles"}:
        if vector_archive.holds_vectors(path):
            return "vector"
        return "mbtiles" if suffix == ".mbtiles" else "pmtiles"
    if suffix in {".tif", ".tiff"}:
        return "geotiff"
    return "folder" if tile_folder.is_tile_folder(path) else None


def open_archive(path: Path) -> Archive:
    """Read what an archive says about itself.

    Parameters
    ----------
    path : Path
        An .mbtiles, .pmtiles or GeoTIFF file, or a folder of z/x/y images. It is opened read-only
        and taken as unchanging.

    Returns
    -------
    Archive
        Its name, credit and coverage.

    Raises
    ------
    TileError
        If it is missing, damaged, of another kind, or holds no tiles.
    """
    kind = archive_kind(path)
    if kind is None and path.is_dir():
        raise TileError(f"{str(path)!r} holds no numbered folders of tiles; {ADVICE}")
    return _READERS[kind or "mbtiles"].open_archive(path)


def tile_ids(archive: Archive, box: Box, zoom: int) -> tuple[TileId, ...]:
    """Return the tiles of one level that the archive has over a box, row by row from the north.

    Parameters
    ----------
    archive : Archive
        From `open_archive`.
    box : Box
        The ground; it may cross 180 degrees.
    zoom : int
        The level.

    Returns
    -------
    tuple of TileId
        In order; empty where it has none.

    Raises
    ------
    TileError
        If the archive has gone or is damaged.
    """
    return _READERS[archive.kind].tile_ids(archive, box, zoom)


def read_tiles(archive: Archive, wanted: Iterable[TileId]) -> Iterator[tuple[TileId, bytes]]:
    """Yield the tiles that the archive has, in the order asked; those it lacks are passed over.

    Parameters
    ----------
    archive : Archive
        From `open_archive`.
    wanted : iterable of TileId
        Which tiles.

    Yields
    ------
    tuple of TileId and bytes
        The tile and its image; entries that are not images are passed over as well.

    Raises
    ------
    TileError
        If the archive has gone or is damaged.
    """
    yield from _READERS[archive.kind].read_tiles(archive, wanted)
