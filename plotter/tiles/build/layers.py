"""Map layers opened for an area: OpenStreetMap extracts, GeoPackage, GeoJSON, Shapefile."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np
import shapely

from plotter.errors import TileError
from plotter.geodesy.arrays import as_float
from plotter.tiles.build.features import NO_FEATURES, MapFeatures, MapSource, Reading
from plotter.tiles.build.index import Index, hash_of, indexed
from plotter.tiles.build.kinds import MARK_KINDS, kinds_of_row, number_of, tags_of
from plotter.tiles.build.places import placed, to_world
from plotter.tiles.build.repair import repaired
from plotter.tiles.build.sea import runs_of, shores
from plotter.tiles.grid import Box

if TYPE_CHECKING:
    import geopandas  # type: ignore[import-untyped]  # carries no types

__all__ = [
    "Drawable", "KindsOf", "drawables", "is_extract", "map_features", "open_layers",
    "read_layers", "turned",
]  # fmt: skip

OSM_CREDIT: Final = "© OpenStreetMap contributors, ODbL"
_FINEST: Final = 30
_HALF_TURN: Final = 180.0
_EVERYWHERE: Final = shapely.box(-540.0, -90.0, 540.0, 90.0)


@dataclass(frozen=True, slots=True, eq=False)
class Drawable:
    """A feature to draw.

    Parameters
    ----------
    shape : shapely geometry
        In longitude and latitude.
    kind, name, number : str
        What it is drawn as, what it is called, a road's number or a summit's height.
    """

    shape: shapely.Geometry
    kind: str
    name: str
    number: str = ""


KindsOf: TypeAlias = Callable[[Mapping[str, object], int], tuple[str, ...]]
"""From a feature's columns and dimension to the kinds it is drawn as."""


def read_layers(paths: Sequence[Path], box: Box) -> MapFeatures:
    """Read every feature of some files that touches a box and has a look; see `open_layers`."""
    corners = as_float([[box.west_deg, box.north_deg], [box.east_deg, box.south_deg]])
    return open_layers(paths, box).within(to_world(corners).ravel().tolist(), _FINEST)


def open_layers(
    paths: Sequence[Path], box: Box, said: Callable[[str], object] = lambda _: None
) -> MapSource:
    """Open some files for drawing a box: extracts by their index, other layers read whole.

    Parameters
    ----------
    paths : sequence of Path
        ``.osm.pbf`` or ``.osm`` extracts, or any vector layer that GDAL reads, in any system of
        coordinates that it states.
    box : Box
        The ground; it may cross 180 degrees.
    said : callable
        Told, in words, what takes long.

    Returns
    -------
    MapSource
        Its known ground is that of the extracts, or, without any, the boxes of the layers' areas
        and lines.

    Raises
    ------
    TileError
        If a file is missing or cannot be read, or nothing in it can be drawn.
    """
    found: list[Drawable] = []
    boxes: list[shapely.Geometry] = []
    indexes: list[Index] = []
    notes: list[str] = []
    hashes: list[str] = []
    for path in paths:
        if not path.is_file():
            raise TileError(f"there is no map layer at {str(path)!r}; check the path")
        if is_extract(path):
            index = indexed(path, said)
            indexes.append(index)
            hashes.append(index.source)
            notes += _notes_of(path, index)
            continue
        hashes.append(hash_of(path))
        mended = 0
        for frame, ground in _frames(path, box):
            sound, bad = repaired(np.asarray(frame.geometry.array, dtype=object))
            mended += int(bad.sum())
            more = list(drawables(frame.set_geometry(sound, crs=4326), kinds_of_row))
            found += more
            if any(each.kind not in MARK_KINDS for each in more):
                boxes.append(ground)
        if mended:
            notes.append(f"{mended} shapes of {path.name} were not valid and were mended")
    edges = list(turned(box))
    if not found and not any(index.has(each) for index in indexes for each in edges):
        raise TileError(
            "nothing to draw in the layers for this area: expected OpenStreetMap tags, or a column "
            "'kind' with values such as road, path, water, wood, village"
        )
    return _source(found, boxes, indexes, edges, Reading(tuple(notes), tuple(hashes)))


def is_extract(path: Path) -> bool:
    """Whether a file's ending is that of an OpenStreetMap extract."""
    return path.name.lower().endswith((".osm.pbf", ".osm", ".pbf"))


def drawables(frame: "geopandas.GeoDataFrame", kinds: KindsOf) -> Iterator[Drawable]:
    """Yield the features of a layer in longitude and latitude that have a look."""
    tags = frame.drop(columns=frame.geometry.name).to_dict("records")
    for shape, row in zip(frame.geometry, tags, strict=True):
        if shape is None or shape.is_empty:
            continue
        dimension = int(shapely.get_dimensions(shape))
        for kind in kinds(row, dimension):
            what = "land" if kind == "coast" and dimension == 2 else kind
            mark = what in MARK_KINDS and dimension > 0
            said = tags_of(row)
            yield Drawable(
                shape.representative_point() if mark else shape,
                what,
                said.get("name", ""),
                number_of(said, what),
            )


def map_features(found: Sequence[Drawable], credit: str) -> MapFeatures:
    """Put features in their places of the web-mercator world."""
    if not found:
        return replace(NO_FEATURES, credit=credit)
    return MapFeatures(
        placed(np.array([each.shape for each in found], dtype=object)),
        tuple(each.kind for each in found),
        tuple(each.name for each in found),
        credit,
        tuple(each.number for each in found),
        sea_around=any(each.kind == "land" for each in found),
    )


def _source(
    found: list[Drawable],
    boxes: list[shapely.Geometry],
    indexes: list[Index],
    edges: list[tuple[float, float, float, float]],
    reading: Reading,
) -> MapSource:
    ground = shapely.union_all([index.known for index in indexes] if indexes else boxes)
    unsure = [index.unsure for index in indexes]
    coasts = [each.shape for each in found if each.kind == "coast"]
    if not indexes and not any(each.kind == "land" for each in found):
        asked = shapely.union_all([shapely.box(*each) for each in edges])
        houses = [each.shape for each in found if each.kind == "building"]
        spots = as_float(shapely.get_coordinates(shapely.point_on_surface(houses)))
        if coasts:
            there = shores(runs_of(coasts), ground.intersection(asked), spots)
            found = found + [Drawable(shape, "sea", "") for shape in there.sea]
            unsure += there.unknown
    held = map_features(found, OSM_CREDIT if indexes else "")
    known, open_ground = placed(
        np.array([ground, shapely.union_all(unsure)], dtype=object)
    ).tolist()
    return MapSource(
        replace(held, known=known, unsure=None if open_ground.is_empty else open_ground),
        tuple(indexes),
        reading,
    )


def _notes_of(path: Path, index: Index) -> Iterator[str]:
    if index.areas_cut:
        yield (
            f"{index.areas_cut} areas are cut off at the edge of {path.name} and are not filled: "
            "an extract made with complete ways has them whole"
        )
    if index.lines_cut:
        yield f"{index.lines_cut} lines of it are drawn as far as their nodes are there"
    if index.mended:
        yield f"{index.mended} areas of {path.name} were not valid and were mended"
    if not index.unsure.is_empty:
        yield f"what is land and what is sea in {path.name} is not known everywhere"


def turned(box: Box) -> Iterator[tuple[float, float, float, float]]:
    """West, south, east and north edge of a box's parts between 180 degrees west and east."""
    for turn in (-360.0, 0.0, 360.0):
        west, east = max(box.west_deg + turn, -180.0), min(box.east_deg + turn, 180.0)
        if west < east or (west == east and not turn):
            yield west, box.south_deg, east, box.north_deg


def _frames(path: Path, box: Box) -> Iterator[tuple["geopandas.GeoDataFrame", shapely.Geometry]]:
    """Layers of a file over a box, longitude and latitude; and the box of all their data."""
    try:
        import geopandas
        import pyogrio
    except ImportError as error:
        raise TileError("building a map needs the extra: pip install 'plotter[maps]'") from error
    kinds = pyogrio.errors
    unreadable = (kinds.DataSourceError, kinds.DataLayerError, kinds.FeatureError, ValueError)
    try:
        for layer, _ in pyogrio.list_layers(path):
            for edges in turned(box):
                frame = geopandas.read_file(path, layer=layer, bbox=_asked(path, layer, edges))
                if frame.active_geometry_name is None or not len(frame):
                    continue
                frame = frame if frame.crs is None else frame.to_crs(4326)
                ground = _extent(path, layer)
                if ground.bounds[2] - ground.bounds[0] > _HALF_TURN:
                    # On both sides of 180 degrees: the box about all of it goes round the world.
                    ground = shapely.box(*frame.total_bounds)
                yield frame, ground
    except unreadable as error:
        raise TileError(f"{str(path)!r} cannot be read as map layers: {error}") from error


def _asked(
    path: Path, layer: str, edges: tuple[float, float, float, float]
) -> tuple[float, ...] | None:
    """Edges in the layer's own system; None, for everything, where that cannot be told."""
    import pyogrio
    from pyproj import Transformer
    from pyproj.exceptions import ProjError

    crs = pyogrio.read_info(path, layer=layer)["crs"]
    if crs is None:
        return edges
    try:
        told = Transformer.from_crs(4326, crs, always_xy=True).transform_bounds(*edges)
    except ProjError:
        return None
    return tuple(told) if np.isfinite(told).all() and told[0] <= told[2] else None


def _extent(path: Path, layer: str) -> shapely.Geometry:
    import pyogrio
    from pyproj import Transformer

    told = pyogrio.read_info(path, layer=layer, force_total_bounds=True)
    edges, crs = told["total_bounds"], told["crs"]
    if edges is None or not np.isfinite(edges).all():
        return _EVERYWHERE
    if crs is not None:
        edges = Transformer.from_crs(crs, 4326, always_xy=True).transform_bounds(*edges)
    return shapely.box(*edges) if np.isfinite(edges).all() else _EVERYWHERE
