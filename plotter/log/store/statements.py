"""A statement of SQLAlchemy, compiled once and run by the driver's own cursor."""

from collections.abc import Mapping, Sequence
from typing import Any

import sqlalchemy as sa

__all__ = ["Statement"]


class Statement:
    """A compiled statement: Core writes it for each database, the driver runs it.

    Core's own way of running one costs some 100 µs, as much as a quick disk takes to make an event
    durable (`tests/benchmarks/test_log_speed.py`).

    Parameters
    ----------
    statement : executable
        An insert, or a select with named parameters.
    dialect : Dialect
        Of the database.
    columns : sequence of str or None
        Columns of an insert.
    """

    def __init__(
        self,
        statement: sa.Insert | sa.Select[Any],
        dialect: sa.Dialect,
        columns: Sequence[str] | None = None,
    ) -> None:
        compiled = statement.compile(dialect=dialect, column_keys=columns)
        self._text = str(compiled)
        self._order = getattr(compiled, "positiontup", None)
        # Values that stand in the statement itself, such as a limit.
        self._fixed = {k: value for k, value in compiled.params.items() if value is not None}

    def run(self, cursor: Any, values: Mapping[str, Any]) -> Any:  # noqa: ANN401 - a driver's own
        """Run it, and give the cursor back."""
        cursor.execute(self._text, self._values(values))
        return cursor

    def run_many(
        self,
        cursor: Any,  # noqa: ANN401 - a driver's own
        names: Sequence[str],
        rows: Sequence[tuple[Any, ...]],
    ) -> None:
        """Run it once for each row of values, which stand in the order of some names."""
        if self._order is None:
            cursor.executemany(self._text, [dict(zip(names, row, strict=True)) for row in rows])
        elif list(self._order) == list(names):
            cursor.executemany(self._text, rows)
        else:
            columns = [names.index(key) for key in self._order]
            cursor.executemany(self._text, [tuple([row[i] for i in columns]) for row in rows])

    def _values(self, values: Mapping[str, Any]) -> Any:  # noqa: ANN401 - as the driver wants them
        every = {**self._fixed, **values} if self._fixed else values
        return tuple([every[key] for key in self._order]) if self._order else every
