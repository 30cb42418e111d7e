"""A statement of SQLAlchemy, compiled once and run by the driver's own cursor."""

from collections.abc import Sequence
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
    names : sequence of str
        Columns of the insert, or parameters of the select; values are given in their order.
    """

    def __init__(
        self, statement: sa.Insert | sa.Select[Any], dialect: sa.Dialect, names: Sequence[str]
    ) -> None:
        compiled = statement.compile(dialect=dialect, column_keys=names)
        self._text = str(compiled)
        self._names = names
        # Where the driver wants values by position, in which order; by name where that is None.
        self._order = getattr(compiled, "positiontup", None)
        self._as_given = self._order is not None and list(self._order) == list(names)

    def run(self, cursor: Any, values: tuple[Any, ...]) -> None:  # noqa: ANN401 - a driver's own
        """Run it."""
        cursor.execute(self._text, values if self._as_given else self._arranged(values))

    def run_many(self, cursor: Any, rows: Sequence[tuple[Any, ...]]) -> None:  # noqa: ANN401
        """Run it once for each row of values."""
        if len(rows) == 1:
            self.run(cursor, rows[0])
            return
        if not self._as_given:
            rows = [self._arranged(row) for row in rows]
        cursor.executemany(self._text, rows)

    def _arranged(self, values: tuple[Any, ...]) -> Any:  # noqa: ANN401 - as the driver wants them
        named = dict(zip(self._names, values, strict=True))
        return tuple([named[name] for name in self._order]) if self._order else named
