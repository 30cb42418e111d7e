"""GeoPackage out and in: one layer of reports, with their fields; GDAL reads and writes it."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

from plotter.errors import LogError
from plotter.exchange.features import FIELDS, Feature, entry_of_fields, fields_of
from plotter.exchange.geojson import feature_geometry
from plotter.log.events.event import Entry, Source

__all__ = ["LAYER", "read_geopackage", "write_geopackage"]

LAYER: Final = "reports"


def write_geopackage(features: Sequence[Feature], path: Path) -> None:
    """Write features as the layer ``reports`` of a new GeoPackage.

    Raises
    ------
    LogError
        If it cannot be written, or what writes it is not installed.
    """
    geopandas, shapely, errors = _libraries()
    rows = [fields_of(feature) for feature in features]
    columns = {key: [row[key] for row in rows] for key in FIELDS}
    geometries = [
        shapely.geometry.shape(geometry) if geometry else None
        for geometry in map(feature_geometry, features)
    ]
    path.unlink(missing_ok=True)
    try:
        geopandas.GeoDataFrame(columns, geometry=geometries, crs=4326).to_file(
            path, layer=LAYER, driver="GPKG"
        )
    except (errors, OSError) as error:
        raise LogError(f"cannot write {str(path)!r}: {error}") from error


def read_geopackage(path: Path) -> list[Entry]:
    """Entries of a GeoPackage that `write_geopackage` wrote.

    Raises
    ------
    LogError
        If it cannot be read, or has no layer of reports.
    """
    geopandas, _, errors = _libraries()
    try:
        frame = geopandas.read_file(path, layer=LAYER)
    except (errors, OSError, ValueError) as error:
        raise LogError(
            f"{str(path)!r} cannot be read as a GeoPackage with a layer {LAYER!r}: {error}; other "
            "tables of positions go through `plotter convert --file`"
        ) from error
    entries = []
    for number, row in enumerate(frame.to_dict("records"), start=1):
        fields = {key: value for key, value in row.items() if value is not None and value == value}  # noqa: PLR0124 - NaN is not itself
        entry = entry_of_fields(fields, Source(path.name, number))
        entries += [entry] if entry else []
    return entries


def _libraries() -> tuple[Any, Any, Any]:
    try:
        import geopandas  # type: ignore[import-untyped]  # carries no types
        import pyogrio
        import shapely
    except ImportError as error:
        raise LogError("a GeoPackage needs the extra: pip install 'plotter[tables]'") from error
    return geopandas, shapely, (pyogrio.errors.DataSourceError, pyogrio.errors.DataLayerError)
