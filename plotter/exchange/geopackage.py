"""GeoPackage out and in: our layer of reports with its fields, and the layers of others."""

import math
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, Final

from plotter.errors import LogError
from plotter.exchange.features import FIELDS, Feature, fields_of, own_entry
from plotter.exchange.geojson import feature_geometry
from plotter.exchange.geojson_things import things_of_feature
from plotter.exchange.guarded import cleaned
from plotter.exchange.others import Thing, entries_of_things
from plotter.exchange.tally import Tally
from plotter.log.events.event import Entry, Source

__all__ = ["LAYER", "read_geopackage", "write_geopackage"]

LAYER: Final = "reports"
_MOST_ROWS: Final = 100_000


def write_geopackage(features: Sequence[Feature], path: Path) -> None:
    """Write features as the layer ``reports`` of a new GeoPackage.

    Raises
    ------
    LogError
        If it cannot be written, or what writes it is not installed.
    """
    geopandas, _, shapely, errors = _libraries()
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
    except (*errors, OSError) as error:
        raise LogError(f"cannot write {str(path)!r}: {error}") from error


def read_geopackage(path: Path, *, sender: str = "", tally: Tally | None = None) -> list[Entry]:
    """Entries of a GeoPackage: reports of ours as they were, all layers of others.

    Parameters
    ----------
    path : Path
        The file.
    sender, tally
        As for `plotter.exchange.gpx.read_gpx`.

    Raises
    ------
    LogError
        If it cannot be read, holds more than 100 000 rows, or what reads it is not installed.

    Source
    ------
    OGC GeoPackage 1.3 (12-128r17): numbers in the order of easting or longitude first, whatever the
    system says.
    """
    tally = Tally() if tally is None else tally
    _, pyogrio, shapely, errors = _libraries()
    own: list[Entry] = []
    things: list[Thing] = []
    try:
        layers = [str(name) for name in pyogrio.list_layers(path)[:, 0]]
        rows = sum(max(0, pyogrio.read_info(path, layer=each)["features"]) for each in layers)
        if rows > _MOST_ROWS:
            raise LogError(
                f"{str(path)!r} holds {rows} rows, more than {_MOST_ROWS}: cut out what concerns "
                "the area and save that"
            )
        for layer in layers:
            frame = pyogrio.read_dataframe(path, layer=layer)
            for fields, geometry, crs in _rows(frame, layer, shapely):
                number = len(own) + len(things) + 1
                if "report" in fields and "kind" in fields and layer == LAYER:
                    drawn = geometry and geometry["type"] == "Point" and geometry["coordinates"]
                    entry = own_entry(fields, Source(path.name, number), tally, drawn)
                    own += [entry] if entry else []
                else:
                    feature = {"geometry": geometry}
                    made = things_of_feature(feature, fields, number, crs)
                    tally.leave("rows that say nothing", int(not made))
                    things += made
    except (*errors, OSError, ValueError, ArithmeticError, LookupError, TypeError) as error:
        raise LogError(
            f"{str(path)!r} cannot be read as a GeoPackage: {error}; save its layers as GeoJSON"
        ) from error
    return own + entries_of_things(things, path.name, sender or path.name, tally)


def _rows(
    frame: Any,  # noqa: ANN401 - a frame of pandas or geopandas
    layer: str,
    shapely: Any,  # noqa: ANN401
) -> Iterator[tuple[dict[str, Any], dict[str, Any] | None, object]]:
    """Fields, geometry with numbers as texts, and system of every row of a layer."""
    place = getattr(frame, "_geometry_column_name", None)
    place = place if place in frame.columns else None
    crs = _system_member(frame.crs) if place else None
    names = [name for name in frame.columns if name != place]
    for values in zip(*(frame[name] for name in frame.columns), strict=True):
        row = dict(zip(frame.columns, values, strict=True))
        fields = {str(name): said for name in names if (said := _field(row[name])) != ""}
        shape = row[place] if place else None
        geometry = None
        if shape is not None and not shape.is_empty:
            geometry = _texts(shapely.geometry.mapping(shapely.force_2d(shape)))
            if shape.has_z and shape.geom_type == "Point":
                fields["height as it stands there"] = repr(float(shape.z))
        if layer != LAYER or "report" not in fields:
            fields.setdefault("layer", layer)
        yield fields, geometry, crs


def _system_member(crs: Any) -> dict[str, Any]:  # noqa: ANN401 - a system of pyproj, or none
    """The system of a layer as a member ``crs`` has it."""
    code = crs.to_epsg() if crs is not None else None
    name = f"EPSG:{code}" if code else crs.name if crs is not None else "none: it is not stated"
    return {"type": "name", "properties": {"name": name}}


def _field(value: Any) -> str:  # noqa: ANN401 - whatever a column holds
    """A value as its text; empty where there is none."""
    if value is None or value != value or (isinstance(value, float) and math.isnan(value)):  # noqa: PLR0124 - not-a-time is not itself
        return ""
    if isinstance(value, bytes):
        return value.hex()
    if hasattr(value, "isoformat"):
        return str(value.isoformat())
    return cleaned(str(value))


def _texts(value: Any) -> Any:  # noqa: ANN401 - a geometry and its parts
    """The same with numbers as texts, their shortest exact figures."""
    if isinstance(value, dict):
        return {key: _texts(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [_texts(each) for each in value]
    return value if isinstance(value, str) else repr(float(value))


def _libraries() -> tuple[Any, Any, Any, Any]:
    try:
        import geopandas  # type: ignore[import-untyped]  # carries no types
        import pyogrio
        import shapely
    except ImportError as error:
        raise LogError("a GeoPackage needs the extra: pip install 'plotter[tables]'") from error
    theirs = pyogrio.errors
    errors = (
        theirs.DataSourceError, theirs.DataLayerError, theirs.FieldError, theirs.GeometryError,
        theirs.FeatureError, shapely.errors.ShapelyError,
    )  # fmt: skip
    return geopandas, pyogrio, shapely, errors
