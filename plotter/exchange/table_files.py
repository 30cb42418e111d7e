"""Table files of four kinds as streams of record batches, in and out."""

import json
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from plotter.errors import TableError
from plotter.exchange.csv_rows import CsvFile, csv_bytes

__all__ = ["KINDS", "Source", "kind_of", "open_table", "unlike", "write_table"]

KINDS: Final = {
    ".csv": "CSV",
    ".tsv": "CSV",
    ".geojson": "GeoJSON",
    ".json": "GeoJSON",
    ".gpkg": "GPKG",
    ".parquet": "Parquet",
}
_Batches = Iterator[Any]
_NOTHING_WRONG: Final[dict[int, str]] = {}


@dataclass(frozen=True, slots=True)
class Source:
    """A table that is being read.

    Parameters
    ----------
    schema : pyarrow.Schema
        Its columns.
    batches : iterator of (pyarrow.RecordBatch, dict of int to str)
        Its rows in their order, and what is wrong with the shape of which of them.
    done : callable
        ``done(rows)``: part of it that has been read, 0 to 1, after that many rows.
    delimiter : str
        What stands between the values of a CSV.
    """

    schema: Any
    batches: Iterator[tuple[Any, dict[int, str]]]
    done: Callable[[int], float]
    delimiter: str = ","


def kind_of(path: Path) -> str:
    """Kind of a table file by the end of its name.

    Raises
    ------
    TableError
        If it is none of the four kinds.
    """
    kind = KINDS.get(path.suffix.lower())
    if kind is None:
        raise TableError(
            f"cannot tell the kind of {str(path)!r}: expected a name that ends in one of "
            f"{', '.join(KINDS)}"
        )
    return kind


@contextmanager
def open_table(path: Path, column: str, chunk_rows: int) -> Iterator[Source]:
    """Open a table for reading a chunk at a time.

    Parameters
    ----------
    path : Path
        CSV, GeoJSON, GeoPackage or Parquet.
    column : str
        The column that will be asked for; it must be there once.
    chunk_rows : int
        Rows in a batch.

    Raises
    ------
    TableError
        If the file cannot be opened, or the column is not there.
    """
    kind = kind_of(path)
    opened = {"CSV": _open_csv, "Parquet": _open_parquet}.get(kind, _open_layer)
    try:
        with path.open("rb"):
            pass
    except OSError as error:
        raise TableError(f"cannot open {str(path)!r}: {error.strerror}") from error
    with contextmanager(opened)(path, column, chunk_rows) as source:
        yield source


def _check_column(names: Sequence[str], column: str, path: Path) -> None:
    if names.count(column) == 1:
        return
    many = f"{names.count(column)} columns" if column in names else "no column"
    raise TableError(
        f"{str(path)!r} has {many} named {column!r}: it has {', '.join(map(repr, names))}"
    )


def _open_csv(path: Path, column: str, chunk_rows: int) -> Iterator[Source]:
    import pyarrow as pa

    with closing(CsvFile(path, chunk_rows)) as file:
        _check_column(file.names, column, path)
        schema = pa.schema([(name, pa.string()) for name in file.names])
        batches = (
            (pa.RecordBatch.from_arrays(columns, schema=schema), wrong)
            for columns, wrong in file.chunks()
        )
        yield Source(schema, batches, lambda _: file.done, file.delimiter)


def _open_parquet(path: Path, column: str, chunk_rows: int) -> Iterator[Source]:
    import pyarrow as pa
    from pyarrow import parquet

    try:
        file = parquet.ParquetFile(path)
    except (pa.ArrowInvalid, OSError) as error:
        raise TableError(f"cannot read {str(path)!r} as Parquet: {error}") from error
    with file:
        schema = file.schema_arrow
        _check_column(schema.names, column, path)
        rows = max(file.metadata.num_rows, 1)
        batches = ((batch, _NOTHING_WRONG) for batch in file.iter_batches(chunk_rows))
        yield Source(schema, batches, lambda done: done / rows)


def _open_layer(path: Path, column: str, chunk_rows: int) -> Iterator[Source]:
    """Open the one layer of a GeoJSON or GeoPackage file; its geometry becomes a column of text."""
    import pyarrow as pa
    import pyogrio
    from pyogrio.errors import DataLayerError, DataSourceError

    # A text that looks like a date stays as it was written.
    options = {"DATE_AS_STRING": "YES"} if kind_of(path) == "GeoJSON" else {}
    try:
        layers = [str(name) for name in pyogrio.list_layers(path)[:, 0]]
        if len(layers) != 1:
            raise TableError(
                f"{str(path)!r} has {len(layers)} layers ({', '.join(map(repr, layers))}): "
                "expected one; save the one that is meant by itself"
            )
        info = pyogrio.read_info(path, force_feature_count=True, **options)
    except (DataLayerError, DataSourceError) as error:
        raise TableError(f"cannot read {str(path)!r} as a map layer: {error}") from error
    _check_column([str(name) for name in info["fields"]], column, path)
    rows = max(int(info["features"]), 1)
    with pyogrio.open_arrow(path, batch_size=chunk_rows, use_pyarrow=True, **options) as (
        meta,
        reader,
    ):
        schema = reader.schema
        place = schema.get_field_index(meta["geometry_name"] or "wkb_geometry")
        if place >= 0:
            name = unlike("geometry_wkt", schema.names)
            schema = schema.remove(place).append(pa.field(name, pa.string()))
        batches = ((_geometry_last(batch, place, schema), _NOTHING_WRONG) for batch in reader)
        yield Source(schema.remove_metadata(), batches, lambda done: done / rows)


def _geometry_last(batch: Any, place: int, schema: Any) -> Any:  # noqa: ANN401 - arrow batches
    """A batch with its geometry as well-known text, at the end where it is in nobody's way."""
    import pyarrow as pa
    import shapely

    columns = list(batch.columns)
    if place >= 0:
        shapes = shapely.from_wkb(columns.pop(place).to_numpy(zero_copy_only=False))
        columns.append(pa.array(shapely.to_wkt(shapes, rounding_precision=-1), pa.string()))
    return pa.RecordBatch.from_arrays(columns, schema=schema.remove_metadata())


def unlike(name: str, taken: Sequence[str]) -> str:
    """A name that no column has yet, small and capital letters alike.

    Examples
    --------
    >>> unlike("format", ["id", "Format"])
    'format_2'
    """
    folded = {each.casefold() for each in taken}
    number, found = 1, name
    while found.casefold() in folded:
        number += 1
        found = f"{name}_{number}"
    return found


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
        none; used where the file has a geometry.
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
            _write_parquet(part, schema, batches)
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


def _write_parquet(path: Path, schema: Any, batches: _Batches) -> None:  # noqa: ANN401
    from pyarrow import parquet

    names = _all_unlike(schema.names)
    with parquet.ParquetWriter(path, schema := _renamed(schema, names)) as writer:
        for batch in batches:
            writer.write_batch(batch.rename_columns(names).cast(schema))


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


def _renamed(schema: Any, names: Sequence[str]) -> Any:  # noqa: ANN401
    import pyarrow as pa

    fields = [field.with_name(name) for field, name in zip(schema, names, strict=True)]
    return pa.schema(fields, metadata=schema.metadata)


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
