"""The description of geometry columns that makes a Parquet file a GeoParquet file."""

import json
from collections.abc import Collection, Mapping
from typing import Any, Final

__all__ = ["geo_metadata"]

_KEY: Final = b"geo"
_VERSION: Final = "1.0.0"


def geo_metadata(
    metadata: Mapping[bytes, bytes], names: Collection[str], geometry: str
) -> dict[bytes, bytes]:
    """File metadata that make a column of points the geometry of a Parquet file.

    Geometry columns that the metadata describe already stay described if they are still there.
    What a draft before 1.0.0 says of its columns is dropped, for its words had other meanings;
    such a column is kept as bytes.

    Parameters
    ----------
    metadata : mapping of bytes to bytes
        Of the file that the columns come from.
    names : collection of str
        Columns of the new file.
    geometry : str
        The column of points as well-known bytes, longitude first, degrees on WGS 84.

    Returns
    -------
    dict of bytes to bytes
        The one entry to put in.

    Source
    ------
    OGC GeoParquet 1.0.0, File metadata and Column metadata (https://geoparquet.org).
    """
    from pyproj import CRS  # imported late: only this kind of table needs it

    before = _described(metadata)
    kept = {name: each for name, each in before.get("columns", {}).items() if name in names}
    ours = {
        "encoding": "WKB",
        "geometry_types": ["Point"],
        # The axes of the bytes are longitude, latitude all the same: the specification says so.
        "crs": CRS.from_epsg(4326).to_json_dict(),
    }
    described = {
        "version": before.get("version", _VERSION),
        "primary_column": geometry,
        "columns": {**kept, geometry: ours},
    }
    return {_KEY: json.dumps(described).encode()}


def _described(metadata: Mapping[bytes, bytes]) -> dict[str, Any]:
    """What a file says of its geometry columns; empty where it says nothing that can be kept."""
    try:
        found = json.loads(metadata.get(_KEY, b"{}"))
    except ValueError:
        return {}
    if not (isinstance(found, dict) and isinstance(found.get("columns"), dict)):
        return {}
    return found if str(found.get("version", "")).startswith("1.") else {}
