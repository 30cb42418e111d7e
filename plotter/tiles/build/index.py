"""An extract's index: a GeoPackage made once, from which the features of any box come at once."""

import hashlib
import json
import os
import sqlite3
import tempfile
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
import shapely

from plotter.errors import TileError
from plotter.tiles.build.extent import STEP_DEG, Occupied
from plotter.tiles.build.extract import Chunk, Gleaned, features_of, header_box
from plotter.tiles.build.repair import repaired
from plotter.tiles.build.sea import shores
from plotter.tiles.build.style import from_zoom

__all__ = ["Index", "hash_of", "indexed"]

_VERSION: Final = 1  # of what an index holds: another makes it anew
_LAYER: Final = "features"
_FIELDS: Final = ("kind", "name", "number", "level", "size")
_WORLD_PIXELS: Final = 256.0
_LEAST_PIXELS: Final = 0.7  # what is smaller at a level is not read for it
_MARK_SIZE: Final = 1.0
_CELL_DEG: Final = 0.25  # the sea is kept in pieces, so that a block takes up no more than its own


@dataclass(frozen=True, slots=True, eq=False)
class Index:
    """What is known of an extract, beside its features.

    Parameters
    ----------
    path : Path
        The GeoPackage, layer ``features``.
    source : str
        Hash of the extract.
    known, unsure : shapely geometry
        In longitude and latitude: where the extract has data; the part of it where what is land
        and what is sea is not known.
    areas_cut, lines_cut, mended : int
        Areas left out because they are not whole; lines of which only parts are known; areas that
        were invalid and were mended.
    """

    path: Path
    source: str
    known: shapely.Geometry
    unsure: shapely.Geometry
    areas_cut: int
    lines_cut: int
    mended: int

    def read(self, edges: tuple[float, float, float, float], zoom: int) -> Chunk:
        """Features that touch a box (west, south, east, north, degrees) and show at a level."""
        least = 360.0 * _LEAST_PIXELS / (_WORLD_PIXELS * 2**zoom)
        where = f"level <= {zoom} AND size >= {least:.12f}"
        wkb, said = self._rows(bbox=edges, where=where)
        kinds, names, numbers = (tuple(v or "" for v in said[key]) for key in _FIELDS[:3])
        return Chunk(shapely.from_wkb(wkb), said["size"], kinds, names, numbers)

    def has(self, edges: tuple[float, float, float, float]) -> bool:
        """Whether any feature touches a box."""
        return len(self._rows(bbox=edges, columns=["level"], max_features=1)[0]) > 0

    def _rows(self, **which: Any) -> tuple[Any, dict[str, Any]]:  # noqa: ANN401 - the library's own
        import pyogrio

        try:
            meta, _, wkb, columns = pyogrio.raw.read(self.path, layer=_LAYER, **which)
        except (pyogrio.errors.DataSourceError, pyogrio.errors.DataLayerError) as error:
            raise TileError(
                f"{str(self.path)!r} cannot be read: delete it, it is made anew ({error})"
            ) from error
        return wkb, dict(zip(meta["fields"], columns, strict=True))


def indexed(extract: Path, said: Callable[[str], object] = lambda _: None) -> Index:
    """Open an extract's index; where there is none, or it is of another file, make it.

    Parameters
    ----------
    extract : Path
        An ``.osm.pbf`` or ``.osm`` file. Its index stands beside it, or where that cannot be
        written in the folder for temporary files.
    said : callable
        Told, in words, that an index is being made.

    Returns
    -------
    Index
        Open.

    Raises
    ------
    TileError
        If the extract cannot be read, or its index be written.
    """
    state = extract.stat()
    source = ""
    for path in _places(extract):
        told = _told(path)
        if told is None or told["version"] != _VERSION:
            continue
        if (told["bytes"], told["changed"]) != (state.st_size, state.st_mtime_ns):
            source = source or hash_of(extract)
            if told["source"] != source:
                continue
        return _opened(path, told)
    said(f"reading {extract.name} once; its index is kept")
    place = next((p for p in _places(extract) if _writable(p.parent)), None)
    if place is None:
        raise TileError(f"no folder can be written for the index of {str(extract)!r}")
    path = place
    told = {
        "version": _VERSION,
        "source": source or hash_of(extract),
        "bytes": state.st_size,
        "changed": state.st_mtime_ns,
    }
    part = path.with_name(path.name.removesuffix(".gpkg") + ".part.gpkg")
    part.unlink(missing_ok=True)
    try:
        told |= _write(extract, part)
        with closing(sqlite3.connect(part)) as base, base:
            base.execute("CREATE TABLE told (value TEXT)")
            base.execute("INSERT INTO told VALUES (?)", (json.dumps(told),))
        part.replace(path)
    except (OSError, sqlite3.Error) as error:
        raise TileError(f"{str(path)!r} cannot be written: {error}") from error
    finally:
        part.unlink(missing_ok=True)
    return _opened(path, told)


def hash_of(path: Path) -> str:
    """Hash of a file's bytes: BLAKE2b of 128 bits, in hexadecimal."""
    found = hashlib.blake2b(digest_size=16)
    with path.open("rb") as file:
        while piece := file.read(1 << 20):
            found.update(piece)
    return found.hexdigest()


def _places(extract: Path) -> tuple[Path, Path]:
    """Where an index may stand: beside the extract, or in the folder for temporary files."""
    name = f"{extract.name}.index.gpkg"
    whole = hashlib.blake2b(str(extract.resolve()).encode(), digest_size=8).hexdigest()
    return extract.with_name(name), Path(tempfile.gettempdir()) / f"plotter-{whole}-{name}"


def _writable(folder: Path) -> bool:
    return os.access(folder, os.W_OK)


def _told(path: Path) -> dict[str, Any] | None:
    if not path.is_file():
        return None
    try:
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as base:
            (value,) = base.execute("SELECT value FROM told").fetchone()
            told = json.loads(value)
    except (sqlite3.Error, TypeError, ValueError):
        return None
    return told if isinstance(told, dict) and "version" in told else None


def _opened(path: Path, told: dict[str, Any]) -> Index:
    return Index(
        path,
        told["source"],
        shapely.from_wkt(told["known"]),
        shapely.from_wkt(told["unsure"]),
        told["areas_cut"],
        told["lines_cut"],
        told["mended"],
    )


def _write(extract: Path, path: Path) -> dict[str, Any]:
    gleaned = Gleaned()
    occupied = Occupied(header_box(extract))
    mended = 0
    for chunk in features_of(extract, gleaned):
        shapes, bad = repaired(chunk.shapes)
        mended += int(bad.sum())
        long = chunk.sizes > STEP_DEG  # of what runs on through cells without a node in them
        occupied.add(shapely.get_coordinates(shapes[~long]))
        occupied.add(shapely.get_coordinates(shapely.segmentize(shapes[long], STEP_DEG)))
        _append(path, shapes, chunk)
    houses = np.concatenate(gleaned.houses) if gleaned.houses else np.empty((0, 2))
    box = occupied.believed()
    coast = shores(gleaned.coast, box, houses)
    known = occupied.known(shapely.union_all(coast.sea))
    if not known.equals(box):
        coast = shores(gleaned.coast, known, houses)
    sea = _in_cells(coast.sea)
    none = ("",) * len(sea)
    _append(path, sea, Chunk(sea, np.full(len(sea), 360.0), ("sea",) * len(sea), none, none))
    return {
        "known": shapely.to_wkt(known, rounding_precision=7),
        "unsure": shapely.to_wkt(shapely.union_all(coast.unknown), rounding_precision=7),
        "areas_cut": gleaned.areas_cut + gleaned.relations_cut,
        "lines_cut": gleaned.lines_cut,
        "mended": mended,
    }


def _append(path: Path, shapes: Any, chunk: Chunk) -> None:  # noqa: ANN401 - an array of shapes
    import pyogrio

    marks = shapely.get_dimensions(shapes) == 0
    levels = np.array([from_zoom(kind) for kind in chunk.kinds], dtype=np.int16)
    columns = [
        np.array(chunk.kinds, dtype=object),
        np.array(chunk.names, dtype=object),
        np.array(chunk.numbers, dtype=object),
        levels,
        np.where(marks, _MARK_SIZE, chunk.sizes),
    ]
    pyogrio.raw.write(
        path,
        shapely.to_wkb(shapes),
        columns,
        list(_FIELDS),
        layer=_LAYER,
        driver="GPKG",
        geometry_type="Unknown",
        crs="EPSG:4326",
        append=path.exists(),
    )


def _in_cells(areas: list[shapely.Geometry]) -> Any:  # noqa: ANN401 - an array of shapes
    """Areas in pieces of a quarter of a degree."""
    pieces = []
    for area in areas:
        shapely.prepare(area)
        west, south, east, north = np.floor(np.array(area.bounds) / _CELL_DEG).astype(int)
        for x in range(west, east + 1):
            for y in range(south, north + 1):
                edges = np.array([x, y, x + 1, y + 1]) * _CELL_DEG
                part = shapely.clip_by_rect(area, *edges)
                if part.area > 0.0:
                    pieces.append(part)
    return np.array(pieces, dtype=object)
