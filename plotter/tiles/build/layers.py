"""Features of an area from map layers: OpenStreetMap extracts, GeoPackage, GeoJSON, Shapefile."""

import warnings
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray

from plotter.errors import TileError
from plotter.geodesy.arrays import FloatArray, as_float
from plotter.tiles.build.kinds import kind_of, told
from plotter.tiles.build.sea import sea_beside
from plotter.tiles.grid import WEB_MERCATOR_MAX_LAT_DEG, Box

if TYPE_CHECKING:
    import geopandas  # type: ignore[import-untyped]  # carries no types

__all__ = [
    "NO_FEATURES",
    "Drawable",
    "MapFeatures",
    "drawables",
    "map_features",
    "read_layers",
    "to_world",
]

Drawable: TypeAlias = tuple[shapely.Geometry, str, str]
"""Shape in longitude and latitude, kind, name."""


_OSM_LAYERS: Final = ("points", "lines", "multilinestrings", "multipolygons")
_OSM_CREDIT: Final = "© OpenStreetMap contributors, ODbL"


@dataclass(frozen=True, slots=True, eq=False)
class MapFeatures:
    """What there is to draw.

    Parameters
    ----------
    geometries : ndarray of shapely geometry, shape (n,)
        In units of the world's side, x from 180 degrees west, y from the north edge, 0 to 1.
    kinds, names : tuple of str, length n
        What each is drawn as, and what it is called.
    credit : str
        Whom to credit by what the files say of themselves; empty where they say nothing.
    """

    geometries: NDArray[np.object_]
    kinds: tuple[str, ...]
    names: tuple[str, ...]
    credit: str


NO_FEATURES: Final = MapFeatures(np.array([], dtype=object), (), (), "")
"""Nothing to draw but what lies under the features."""


def to_world(lon_lat: FloatArray) -> FloatArray:
    """Longitude and latitude, (n, 2), to units of the web-mercator world's side."""
    lat = np.clip(lon_lat[:, 1], -WEB_MERCATOR_MAX_LAT_DEG, WEB_MERCATOR_MAX_LAT_DEG)
    y = 0.5 - np.arcsinh(np.tan(np.radians(lat))) / (2.0 * np.pi)
    return np.column_stack((lon_lat[:, 0] / 360.0 + 0.5, y))


def read_layers(paths: Sequence[Path], box: Box) -> MapFeatures:
    """Read every feature of some files that touches a box and has a look.

    Parameters
    ----------
    paths : sequence of Path
        ``.osm.pbf`` or ``.osm`` extracts, or any vector layer that GDAL reads, in any system of
        coordinates that it states.
    box : Box
        The ground; not across 180 degrees.

    Returns
    -------
    MapFeatures
        In the order of the files.

    Raises
    ------
    TileError
        If a file is missing or cannot be read, or nothing in it can be drawn.
    """
    found: list[Drawable] = []
    credits_said: list[str] = []
    for path in paths:
        if not path.is_file():
            raise TileError(f"there is no map layer at {str(path)!r}; check the path")
        osm = path.name.lower().endswith((".osm.pbf", ".osm", ".pbf"))
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # rings that a real extract leaves open, by the dozen
            frames = _frames(path, box, osm=osm)
        for frame in frames:
            found += drawables(frame, kind_of)
        if osm:
            credits_said.append(_OSM_CREDIT)
    if not found:
        raise TileError(
            "nothing to draw in the layers for this area: expected OpenStreetMap tags, or a column "
            "'kind' with values such as road, path, water, wood, village"
        )
    coasts = [shape for shape, kind, _ in found if kind == "coast"]
    if coasts and not any(kind == "land" for _, kind, _ in found):
        found += [(shape, "sea", "") for shape in sea_beside(coasts, box)]
    return map_features(found, "; ".join(dict.fromkeys(credits_said)))


def drawables(
    frame: "geopandas.GeoDataFrame", kind: Callable[[Mapping[str, object]], str | None]
) -> list[Drawable]:
    """Shape (longitude and latitude), kind and name of the features of a layer that have a look."""
    found = []
    tags = frame.drop(columns=frame.geometry.name)
    for shape, row in zip(frame.geometry, tags.to_dict("records"), strict=True):
        what = kind(row)
        if what is None or shape is None or shape.is_empty:
            continue
        if what == "coast" and shapely.get_dimensions(shape) == 2:
            what = "land"
        found.append((shape, what, str(row["name"]).strip() if told(row.get("name")) else ""))
    return found


def map_features(found: Sequence[Drawable], credit: str) -> MapFeatures:
    """Put features in their places of the web-mercator world."""
    if not found:
        return replace(NO_FEATURES, credit=credit)
    shapes, kinds, names = zip(*found, strict=True)
    placed = shapely.transform(np.array(shapes, dtype=object), lambda xy: to_world(as_float(xy)))
    return MapFeatures(placed, kinds, names, credit)


def _frames(path: Path, box: Box, *, osm: bool) -> list["geopandas.GeoDataFrame"]:
    try:
        import geopandas  # loaded late: only building a map needs it
        import pyogrio
    except ImportError as error:
        raise TileError("building a map needs the extra: pip install 'plotter[maps]'") from error
    bounds = (box.west_deg, box.south_deg, box.east_deg, box.north_deg)
    try:
        layers = _OSM_LAYERS if osm else tuple(name for name, _ in pyogrio.list_layers(path))
        frames = []
        for layer in layers:
            if osm:
                frame = _extract_layer(path, layer, bounds)
            else:
                frame = geopandas.read_file(path, layer=layer)
                frame = frame if frame.crs is None else frame.to_crs(4326)
                frame = frame.cx[bounds[0] : bounds[2], bounds[1] : bounds[3]]
            frames.append(frame)
    except _unreadable() as error:
        raise TileError(f"{str(path)!r} cannot be read as map layers: {error}") from error
    return frames


def _unreadable() -> tuple[type[BaseException], ...]:
    import pyogrio

    kinds = pyogrio.errors
    return (kinds.DataSourceError, kinds.DataLayerError, kinds.FeatureError, ValueError)


def _extract_layer(
    path: Path, layer: str, bounds: tuple[float, float, float, float]
) -> "geopandas.GeoDataFrame":
    """One layer of an extract; it has no index, so the box is a filter on what is streamed."""
    import pyogrio

    try:
        return pyogrio.read_dataframe(path, layer=layer, bbox=bounds, on_invalid="fix")
    except pyogrio.errors.FeatureError:
        # Small hand-made extracts are not sorted: the driver's slower index takes them too.
        pyogrio.set_gdal_config_options({"OSM_USE_CUSTOM_INDEXING": "NO"})
        try:
            return pyogrio.read_dataframe(path, layer=layer, bbox=bounds, on_invalid="fix")
        finally:
            pyogrio.set_gdal_config_options({"OSM_USE_CUSTOM_INDEXING": None})
