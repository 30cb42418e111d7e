"""Table files of four kinds, read as streams of record batches."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, Final

from plotter.errors import TableError
from plotter.exchange.csv_rows import CsvFile

__all__ = ["KINDS", "Source", "kind_of", "open_table", "unlike"]

KINDS: Final = {
    ".csv": "CSV",
    ".tsv": "CSV",
    ".geojson": "GeoJSON",
    ".json": "GeoJSON",
    ".gpkg": "GPKG",
    ".parquet": "Parquet",
}
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
def open_table(
    path: Path, column: str, chunk_rows: int, layer: str | None = None
) -> Iterator[Source]:
    """Open a table for reading a chunk at a time.

    Parameters
    ----------
    path : Path
        CSV, GeoJSON, GeoPackage or Parquet.
    column : str
        The column that will be asked for; it must be there once.
    chunk_rows : int
        Rows in a batch.
    layer : str or None
        The layer that is the table; needed where the file has several.

    Raises
    ------
    TableError
        If the file cannot be opened, or the layer or the column is not there.
    """
    kind = kind_of(path)
    if kind in ("CSV", "Parquet"):
        if layer is not None:
            raise TableError(
                f"{str(path)!r} is {kind}, which has no layers: leave out the layer {layer!r}"
            )
        opened = _open_csv if kind == "CSV" else _open_parquet
    else:
        opened = partial(_open_layer, layer=layer)
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


def _open_layer(path: Path, column: str, chunk_rows: int, layer: str | None) -> Iterator[Source]:
    """Open a layer of a GeoJSON or GeoPackage file; its geometry becomes a column of text."""
    import pyarrow as pa
    import pyogrio
    from pyogrio.errors import DataLayerError, DataSourceError

    # A text that looks like a date stays as it was written.
    options = {"DATE_AS_STRING": "YES"} if kind_of(path) == "GeoJSON" else {}
    try:
        layer = _one_layer([str(name) for name in pyogrio.list_layers(path)[:, 0]], layer, path)
        info = pyogrio.read_info(path, layer=layer, force_feature_count=True, **options)
    except (DataLayerError, DataSourceError) as error:
        raise TableError(f"cannot read {str(path)!r} as a map layer: {error}") from error
    _check_column([str(name) for name in info["fields"]], column, path)
    rows = max(int(info["features"]), 1)
    with pyogrio.open_arrow(
        path, layer=layer, batch_size=chunk_rows, use_pyarrow=True, **options
    ) as (meta, reader):
        schema = reader.schema
        place = schema.get_field_index(meta["geometry_name"] or "wkb_geometry")
        if place >= 0:
            name = unlike("geometry_wkt", schema.names)
            schema = schema.remove(place).append(pa.field(name, pa.string()))
        batches = ((_geometry_last(batch, place, schema), _NOTHING_WRONG) for batch in reader)
        yield Source(schema.remove_metadata(), batches, lambda done: done / rows)


def _one_layer(layers: Sequence[str], asked: str | None, path: Path) -> str:
    """The layer that is meant: the one asked for, or the only one."""
    if asked is None and len(layers) == 1:
        return layers[0]
    if asked in layers:
        return str(asked)
    wanted = "" if asked is None else f", none named {asked!r}"
    raise TableError(
        f"{str(path)!r} has {len(layers)} {'layer' if len(layers) == 1 else 'layers'}{wanted}: "
        f"say which is meant (--layer): {', '.join(map(repr, layers)) or 'it is empty'}"
    )


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
