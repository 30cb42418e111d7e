"""Areas and lines of a map layer as places: GeoJSON, or GeoPackage with geopandas installed."""

import json
from collections.abc import Iterator
from itertools import chain
from pathlib import Path
from typing import Any

from plotter.errors import FormatError, TableError
from plotter.fix.result import Polygon
from plotter.geodesy.position import Position

__all__ = ["read_areas", "read_lines"]

# Names by which a GeoJSON of the time before RFC 7946 says what RFC 7946 takes for granted.
_PLAIN = ("CRS84", "EPSG:4326", "EPSG::4326")


def read_areas(path: Path) -> tuple[Polygon, ...]:
    """All polygons of a layer file.

    Parameters
    ----------
    path : Path
        ``.geojson``, ``.json`` or ``.gpkg``, all its layers.

    Raises
    ------
    TableError
        If the file cannot be read, or has no polygon.
    """
    areas = tuple(
        Polygon(_corners(shape.exterior, path)[:-1], tuple(
            _corners(hole, path)[:-1] for hole in shape.interiors
        ))
        for shape in _shapes(path)
        if shape.geom_type == "Polygon"
    )  # fmt: skip
    if not areas:
        raise TableError(f"{str(path)!r} has no polygon: draw the area as one and save it again")
    return areas


def read_lines(path: Path) -> tuple[tuple[Position, ...], ...]:
    """All lines of a layer file, such as roads.

    Parameters
    ----------
    path : Path
        ``.geojson``, ``.json`` or ``.gpkg``, all its layers.

    Raises
    ------
    TableError
        If the file cannot be read, or has no line.
    """
    lines = tuple(
        _corners(shape, path)
        for shape in _shapes(path)
        if shape.geom_type in ("LineString", "LinearRing")
    )
    if not lines:
        raise TableError(f"{str(path)!r} has no line: give the layer that holds the roads")
    return lines


def _corners(line: Any, path: Path) -> tuple[Position, ...]:  # noqa: ANN401 - shapely is untyped
    try:
        return tuple(Position(lat, lon) for lon, lat, *_ in line.coords)
    except FormatError as error:
        raise TableError(
            f"{str(path)!r} is not in degrees of longitude and latitude: {error}"
        ) from error


def _shapes(path: Path) -> Iterator[Any]:
    """Every single shape of the file, collections taken apart."""
    kind = path.suffix.lower()
    if kind in (".geojson", ".json"):
        found = _geojson(path)
    elif kind == ".gpkg":
        found = _geopackage(path)
    else:
        raise TableError(
            f"cannot tell the kind of {str(path)!r}: expected a name that ends in .geojson, .json "
            "or .gpkg"
        )
    return chain.from_iterable(map(_singles, found))


def _singles(shape: Any) -> Iterator[Any]:  # noqa: ANN401 - shapely is untyped
    if hasattr(shape, "geoms"):
        for part in shape.geoms:
            yield from _singles(part)
    elif not shape.is_empty:
        yield shape


def _geojson(path: Path) -> list[Any]:
    import shapely
    from shapely.geometry import shape

    try:
        data = json.loads(path.read_text(encoding="utf-8-sig"))
        features = data["features"] if data["type"] == "FeatureCollection" else [data]
        shapes = [each["geometry"] if each["type"] == "Feature" else each for each in features]
        found = [shape(each) for each in shapes if each is not None]
    except OSError as error:
        raise TableError(f"cannot open {str(path)!r}: {error.strerror}") from error
    except (ValueError, TypeError, KeyError, shapely.errors.ShapelyError) as error:
        raise TableError(f"cannot read {str(path)!r} as GeoJSON: {error}") from error
    crs = json.dumps(data.get("crs"))
    if crs != "null" and not crs.rstrip('"} ').endswith(_PLAIN):
        raise TableError(
            f"{str(path)!r} is in another system of coordinates ({crs}): save it in longitude and "
            "latitude on WGS 84"
        )
    return found


def _geopackage(path: Path) -> list[Any]:
    try:
        import pyogrio
        from pyogrio.errors import DataLayerError, DataSourceError
    except ImportError as error:
        raise TableError(
            f"a GeoPackage needs {error.name}, which is not installed: install plotter[tables], or "
            "save the layer as GeoJSON"
        ) from error
    found: list[Any] = []
    try:
        for layer in pyogrio.list_layers(path)[:, 0]:
            if pyogrio.read_info(path, layer=layer)["geometry_type"] is None:
                continue  # a table without places
            frame = pyogrio.read_dataframe(path, layer=layer, columns=[])
            if frame.crs is None:
                raise TableError(
                    f"layer {str(layer)!r} of {str(path)!r} does not say its system of "
                    "coordinates: save it in longitude and latitude on WGS 84"
                )
            found += frame.geometry.dropna().to_crs(4326).tolist()
    except (DataLayerError, DataSourceError) as error:
        raise TableError(f"cannot read {str(path)!r} as a map layer: {error}") from error
    return found
