"""Bulk conversion: a table with positions in one column to the same table with what they mean."""

import importlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from plotter.errors import TableError
from plotter.exchange.table_files import Source, kind_of, open_table, unlike
from plotter.exchange.table_writers import write_table
from plotter.geodesy.geodesic import inverse_arrays
from plotter.geodesy.position import Area
from plotter.reports.lengths import length_in_words
from plotter.voice.columns import Columns, converted, known_formats

__all__ = ["Counts", "convert_table"]

_CHUNK_ROWS: Final = 32_768
_NUMBERS: Final = ("lat_deg", "lon_deg", "size_m")


@dataclass(frozen=True, slots=True)
class Counts:
    """What became of the rows of a table.

    Parameters
    ----------
    rows : int
        All of them.
    unread : int
        Those without one answer; their reasons stand in the column ``problem``.
    several : int
        Those among them that have more than one meaning.
    assumed : int
        Those that were read with an assumption.
    outside : int or None
        Those that lie outside the area of operations, as the column ``doubt`` says; None where no
        area was given.
    """

    rows: int = 0
    unread: int = 0
    several: int = 0
    assumed: int = 0
    outside: int | None = None


def convert_table(
    source: Path,
    column: str,
    target: Path,
    to: Sequence[str] = ("latlon", "mgrs"),
    area: Area | None = None,
    *,
    layer: str | None = None,
    chunk_rows: int = _CHUNK_ROWS,
    progress: Callable[[float], None] | None = None,
) -> Counts:
    """Read the positions of a table, and write the table with the columns of `converted` after it.

    Every row and column is kept, in order and unchanged; a name that is taken gets a number. The
    geometry of a map layer is kept as text, and that of the new file is the centre of each square
    (WGS 84). With an area one more column, ``doubt``, says which rows lie outside it and how far:
    farther than their square is large. Rows are read, converted and written a chunk at a time.

    Parameters
    ----------
    source, target : Path
        CSV, GeoJSON, GeoPackage or Parquet, by the end of the name.
    column : str
        Where the positions stand.
    to : sequence of str
        Formats to write.
    area : Area or None
        The area of operations: completes what a text leaves out, and doubts what is outside.
    layer : str or None
        The layer of the source that is the table; needed where it has several.
    chunk_rows : int
        Rows held at a time.
    progress : callable or None
        Told the part that is done, 0 to 1, after each chunk.

    Returns
    -------
    Counts
        How many rows were read.

    Raises
    ------
    TableError
        If a file cannot be read or written, its layer or column is not there, or a library is
        missing.
    FormatError
        If `to` names a format that is not known.
    """
    names = known_formats(to)
    _check_libraries()
    kind_of(target)
    if target.exists() and source.exists() and target.samefile(source):
        raise TableError(f"{str(target)!r} is the table itself: choose another name for the result")
    if not target.parent.is_dir():
        raise TableError(f"cannot write {str(target)!r}: there is no folder {str(target.parent)!r}")
    work = _Work(column, names, area, progress)
    with open_table(source, column, chunk_rows, layer) as table:
        schema, batches = work.start(table)
        write_table(target, schema, batches, work.points, table.delimiter)
    return work.counts


def _check_libraries() -> None:
    for name in ("pyarrow", "pyogrio"):
        try:
            importlib.import_module(name)
        except ImportError as error:
            raise TableError(
                f"tables need {name}, which is not installed: install plotter[tables]"
            ) from error


class _Work:
    """The conversion of one table while its chunks go by."""

    def __init__(
        self,
        column: str,
        names: tuple[str, ...],
        area: Area | None,
        progress: Callable[[float], None] | None,
    ) -> None:
        self.counts = Counts(outside=None if area is None else 0)
        self._column, self._names, self._area = column, names, area
        self._progress = progress
        self._place: tuple[int, int] = (0, 0)

    def start(self, table: Source) -> tuple[Any, Iterator[Any]]:
        """Schema of the result, and its batches as they are asked for."""
        import pyarrow as pa

        schema = table.schema
        self._place = (len(schema), len(schema) + 1)
        doubt = [] if self._area is None else ["doubt"]
        for name in [*converted([], self._names), *doubt]:
            kind = pa.float64() if name in _NUMBERS else pa.string()
            schema = schema.append(pa.field(unlike(name, schema.names), kind))
        return schema, self._batches(table, schema)

    def _batches(self, table: Source, schema: Any) -> Iterator[Any]:  # noqa: ANN401
        import pyarrow as pa

        at = table.schema.get_field_index(self._column)
        for batch, wrong in table.batches:
            found = self._converted(_texts(batch.column(at)), wrong)
            ours = [
                pa.array(
                    values, pa.float64() if name in _NUMBERS else pa.string(), from_pandas=True
                )
                for name, values in found.items()
            ]
            yield pa.RecordBatch.from_arrays([*batch.columns, *ours], schema=schema)
            if self._progress is not None:
                self._progress(table.done(self.counts.rows))

    def _converted(self, texts: list[str], wrong: dict[int, str]) -> Columns:
        """Columns of some texts; those in rows of a wrong shape are not read."""
        for row in wrong:
            texts[row] = ""
        found = converted(texts, self._names, self._area)
        for row, why in wrong.items():
            found["problem"][row] = why
        unread = int(np.isnan(found["lat_deg"]).sum())
        several = sum(" meanings fit" in why for why in found["problem"] if why)
        before = self.counts
        outside = before.outside
        if self._area is not None:
            found["doubt"] = _doubts(found, self._area)
            outside = (outside or 0) + int((found["doubt"] != "").sum())
        self.counts = Counts(
            before.rows + len(texts),
            before.unread + unread,
            before.several + several,
            before.assumed + int((found["assumed"] != "").sum()),
            outside,
        )
        return found

    def points(self, batch: Any) -> Any:  # noqa: ANN401 - arrow batches
        """Centres as well-known bytes, longitude first."""
        import pyarrow as pa
        import shapely

        lat, lon = (batch.column(i).to_numpy(zero_copy_only=False) for i in self._place)
        known = np.isfinite(lat)
        shapes = np.full(lat.size, None, dtype=object)
        shapes[known] = shapely.to_wkb(shapely.points(lon[known], lat[known]))
        return pa.array(shapes, pa.binary())


def _doubts(found: Columns, area: Area) -> NDArray[Any]:
    """What to say of each row that lies outside the area; empty for the others."""
    doubts = np.full(found["lat_deg"].size, "", dtype=object)
    centre = area.centre
    distance_m, _, _ = inverse_arrays(
        centre.lat_deg, centre.lon_deg, found["lat_deg"], found["lon_deg"]
    )
    beyond_m = distance_m - area.radius_m
    # A square that may reach into the area is not doubted, as in the log.
    outside = beyond_m > found["size_m"]
    beyond_m = np.maximum(beyond_m[outside], 1.0)
    # Lengths are said to a metre or a kilometre: few words for many rows.
    step_m = np.where(beyond_m < 1_000.0, 1.0, 1_000.0)
    lengths_m, which = np.unique(np.rint(beyond_m / step_m) * step_m, return_inverse=True)
    words = [
        f"outside the area of operations by {length_in_words(each)}: read it back"
        for each in lengths_m.tolist()
    ]
    doubts[outside] = np.array(words, dtype=object)[which]
    return doubts


def _texts(column: Any) -> list[str]:  # noqa: ANN401 - an arrow column
    """Values as texts, empty where there is none."""
    import pyarrow as pa

    try:
        texts = column.cast(pa.string()).fill_null("").to_numpy(zero_copy_only=False)
    except (pa.ArrowInvalid, pa.ArrowNotImplementedError) as error:
        raise TableError(f"the column of positions holds {column.type}: expected texts") from error
    return list(texts)
