"""The ways of an extract as lines: for walking on, and as a layer of their own."""

from pathlib import Path
from typing import Any, Final

import shapely

from plotter.errors import TileError
from plotter.geodesy.position import Area, Position
from plotter.tiles.area_box import box_of_area
from plotter.tiles.build.index import Index, indexed
from plotter.tiles.build.kinds import ROADS
from plotter.tiles.build.layers import turned

__all__ = ["road_lines", "write_roads"]

_CHUNK: Final = 100_000
_FINEST: Final = 30
_FIELDS: Final = ("kind", "name", "number")


def road_lines(extract: Path, area: Area) -> tuple[tuple[Position, ...], ...]:
    """Lines of every road, track and path of an extract that touches an area.

    Raises
    ------
    TileError
        If the extract cannot be read, or has no way there.
    """
    index, box = indexed(extract), box_of_area(area)
    lines = []
    for edges in turned(box):
        found = index.read(edges, _FINEST)
        for shape, kind in zip(found.shapes, found.kinds, strict=True):
            if kind in ROADS:
                lines += [
                    tuple(Position(lat, lon) for lon, lat in shapely.get_coordinates(part))
                    for part in shapely.get_parts(shape).tolist()
                ]
    if not lines:
        raise TileError(f"{str(extract)!r} has no road, track or path in this area")
    return tuple(lines)


def write_roads(extract: Path, output: Path) -> int:
    """Write the ways of an extract as a GeoPackage, whatever its size; how many they are.

    Raises
    ------
    TileError
        If the extract cannot be read, or the file not be written.
    """
    import pyogrio

    index = indexed(extract)
    output.unlink(missing_ok=True)
    count = 0
    kinds = ", ".join(f"'{kind}'" for kind in ROADS)
    try:
        while True:
            wkb, said = _rows(index, f"kind IN ({kinds})", count)
            if not len(wkb):
                break
            pyogrio.raw.write(
                output, wkb, [said[field] for field in _FIELDS], list(_FIELDS), layer="roads",
                driver="GPKG", geometry_type="LineString", crs="EPSG:4326", append=count > 0,
            )  # fmt: skip
            count += len(wkb)
    except (pyogrio.errors.DataSourceError, OSError) as error:
        raise TileError(f"{str(output)!r} cannot be written: {error}") from error
    if not count:
        raise TileError(f"{str(extract)!r} has no road, track or path")
    return count


def _rows(index: Index, where: str, skip: int) -> tuple[Any, dict[str, Any]]:
    import pyogrio

    meta, _, wkb, columns = pyogrio.raw.read(
        index.path, layer="features", where=where, skip_features=skip, max_features=_CHUNK
    )
    return wkb, dict(zip(meta["fields"], columns, strict=True))
