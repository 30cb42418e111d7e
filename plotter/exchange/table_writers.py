"""Record batches written to table files of four kinds, with a geometry where the kind has one."""

import json
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

from plotter.errors import TableError
from plotter.exchange.csv_rows import csv_bytes
from plotter.exchange.geoparquet import geo_metadata
from plotter.exchange.table_files import kind_of, unlike

__all__ = ["write_table"]

_Batches = Iterator[Any]


def write_table(
    path: Path,
    schema: Any,  # noqa: ANN401 - an arrow schema
    batches: _Batches,
    points: Callable[[Any], Any],
    delimiter: str = ",",
) -> None:
    """Write batches to a file, which appears under its name only when it is complete.

    Parameters
    ----------
    path : Path
        CSV, GeoJSON, GeoPackage or Parquet; replaced if it is there.
    schema : pyarrow.Schema
        The columns.
    batches : iterator of pyarrow.RecordBatch
        The rows.
    points : callable
        ``points(batch)``: the points of a batch's rows as well-known bytes, null where there is
        none; not used in a CSV.
    delimiter : str
        What stands between the values of a CSV.

    Raises
    ------
    TableError
        If it cannot be written.
    """
    kind = kind_of(path)
    part = path.with_name(f".{path.stem}.part{path.suffix}")
    try:
        part.unlink(missing_ok=True)
        if kind == "CSV":
            _write_csv(part, schema, batches, delimiter)
        elif kind == "Parquet":
            _write_parquet(part, schema, batches, points)
        else:
            _write_layer(part, kind, schema, batches, points, path.stem)
        part.replace(path)
    except OSError as error:
        raise TableError(
            f"cannot write {str(path)!r}: {error.strerror or error}: choose another place"
        ) from error
    finally:
        part.unlink(missing_ok=True)


def _write_csv(path: Path, schema: Any, batches: _Batches, delimiter: str) -> None:  # noqa: ANN401
    import pyarrow as pa

    with path.open("wb") as file:
        header = [pa.array([name], pa.string()) for name in schema.names]
        file.write(csv_bytes(header, delimiter))
        for batch in _one_ahead(batches):
            if batch.num_rows:
                file.write(csv_bytes([_flat(column) for column in batch.columns], delimiter))


def _one_ahead(batches: _Batches) -> _Batches:
    """The same batches, the next one being made while one is written."""
    from concurrent.futures import ThreadPoolExecutor

    with ThreadPoolExecutor(1) as pool:
        coming = pool.submit(next, batches, None)
        while (batch := coming.result()) is not None:
            coming = pool.submit(next, batches, None)
            yield batch


def _write_parquet(
    path: Path,
    schema: Any,  # noqa: ANN401 - an arrow schema
    batches: _Batches,
    points: Callable[[Any], Any],
) -> None:
    import pyarrow as pa
    from pyarrow import parquet

    names = _all_unlike(schema.names)
    geometry = unlike("geometry", names)
    fields = [field.with_name(name) for field, name in zip(schema, names, strict=True)]
    full = pa.schema([*fields, pa.field(geometry, pa.binary())])
    described = geo_metadata(schema.metadata or {}, full.names, geometry)
    full = full.with_metadata({**(schema.metadata or {}), **described})
    with parquet.ParquetWriter(path, full) as writer:
        for batch in batches:
            columns = [*batch.columns, points(batch)]
            writer.write_batch(pa.RecordBatch.from_arrays(columns, schema=full))


def _write_layer(
    path: Path,
    kind: str,
    schema: Any,  # noqa: ANN401
    batches: _Batches,
    points: Callable[[Any], Any],
    layer: str,
) -> None:
    import pyarrow as pa
    import pyogrio
    from pyogrio.errors import DataLayerError, DataSourceError

    names = _all_unlike(schema.names)
    kept = pa.schema(
        [
            pa.field(name, field.type if _is_simple(field.type) else pa.string())
            for name, field in zip(names, schema, strict=True)
        ]
    )
    geometry = unlike("geometry", names)
    full = kept.append(pa.field(geometry, pa.binary()))
    rows = (
        pa.RecordBatch.from_arrays(
            [
                *(
                    column if _is_simple(column.type) else _flat(column).cast(pa.string())
                    for column in batch.columns
                ),
                points(batch),
            ],
            schema=full,
        )
        for batch in batches
    )
    # A column of the table may have the name that the file's own row number would have.
    options = (
        {"FID": unlike("fid", names), "GEOMETRY_NAME": geometry}
        if kind == "GPKG"
        else {"RFC7946": "NO", "COORDINATE_PRECISION": "9"}
    )
    try:
        pyogrio.write_arrow(
            pa.RecordBatchReader.from_batches(full, rows),
            path,
            layer=layer,
            driver=kind,
            geometry_name=geometry,
            geometry_type="Point",
            crs="EPSG:4326",
            layer_options=options,
        )
    except (DataLayerError, DataSourceError) as error:
        raise TableError(f"cannot write {str(path)!r}: {error}") from error


def _all_unlike(names: Sequence[str]) -> list[str]:
    """Names of columns for a file that cannot have one name twice."""
    found: list[str] = []
    for name in names:
        found.append(unlike(name, found))
    return found


def _is_simple(type_: Any) -> bool:  # noqa: ANN401
    """Whether a map layer has fields of a type."""
    from pyarrow import types

    return bool(
        types.is_integer(type_)
        or types.is_floating(type_)
        or types.is_boolean(type_)
        or types.is_string(type_)
        or types.is_large_string(type_)
        or types.is_timestamp(type_)
        or types.is_date32(type_)
    )


def _flat(column: Any) -> Any:  # noqa: ANN401
    """A column of values that have a text; lists and records as JSON, bytes in hexadecimal."""
    import pyarrow as pa
    from pyarrow import types

    if types.is_dictionary(column.type):
        column = column.dictionary_decode()
    if not (types.is_nested(column.type) or types.is_binary(column.type)):
        return column
    texts = [
        None
        if value is None
        else value.hex()
        if isinstance(value, bytes)
        else json.dumps(value, ensure_ascii=False, default=str)
        for value in column.to_pylist()
    ]
    return pa.array(texts, pa.string())
