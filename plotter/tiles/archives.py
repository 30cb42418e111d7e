"""The map archives in a folder: which can be used, which not and why, which cover an area."""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from plotter.errors import TileError
from plotter.tiles.archive import Archive
from plotter.tiles.grid import Box
from plotter.tiles.reading import archive_kind, open_archive

__all__ = ["ArchivesFound", "RefusedArchive", "archives_in", "covering"]


@dataclass(frozen=True, slots=True)
class RefusedArchive:
    """Something that looks like an archive and cannot be used.

    Parameters
    ----------
    path : Path
        The file or folder.
    reason : str
        Why, and what to do.
    """

    path: Path
    reason: str


@dataclass(frozen=True, slots=True)
class ArchivesFound:
    """What a folder holds.

    Parameters
    ----------
    archives : tuple of Archive
        Usable, in the order of their file names.
    refused : tuple of RefusedArchive
        The others, each with its reason.
    """

    archives: tuple[Archive, ...]
    refused: tuple[RefusedArchive, ...]


def archives_in(folder: Path) -> ArchivesFound:
    """Open every map archive of a folder; a bad one never stops the rest.

    Parameters
    ----------
    folder : Path
        Where the archives are: .mbtiles, .pmtiles and GeoTIFF files, and subfolders of z/x/y
        images. Other subfolders are not searched.

    Returns
    -------
    ArchivesFound
        Usable and refused, each sorted by file name.

    Raises
    ------
    TileError
        If there is no such folder.
    """
    if not folder.is_dir():
        raise TileError(f"there is no folder at {str(folder)!r}; give the folder of map archives")
    good: list[Archive] = []
    refused: list[RefusedArchive] = []
    for path in sorted(folder.iterdir(), key=lambda entry: entry.name):
        if archive_kind(path) is None:
            continue
        try:
            good.append(open_archive(path))
        except TileError as error:
            refused.append(RefusedArchive(path, str(error)))
    return ArchivesFound(tuple(good), tuple(refused))


def covering(archives: Iterable[Archive], box: Box) -> tuple[Archive, ...]:
    """Return those archives that have ground in common with a box, in the order given."""
    return tuple(archive for archive in archives if archive.covers(box))
