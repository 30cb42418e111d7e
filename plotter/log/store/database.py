"""The tables of one incident, read and written in transactions; no meaning, only rows."""

import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from typing import Any, Final, NamedTuple, cast

import sqlalchemy as sa

from plotter.errors import DamagedLog, LogError
from plotter.log.events.chain import Tip
from plotter.log.events.merge import Record
from plotter.log.store.schema import (
    DAMAGED,
    EVENTS,
    INCIDENTS,
    SCHEMA_VERSION,
    make_tables,
    migrate,
    refused,
    version_of,
)
from plotter.log.store.statements import Statement

__all__ = ["Database", "Incident"]

_BUSY: Final = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}
_CLOSED: Final = {
    sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_AUTH,
}  # fmt: skip


class Incident(NamedTuple):
    """What a log is of: its key among others on a server, its name, who made it where and when."""

    key: str
    title: str
    desk: str
    machine: str
    made_utc: str


class _Writer(NamedTuple):
    """What appends: past Core and its pool, for the reason given at `Statement`.

    Parameters
    ----------
    driver, cursor : Any
        The driver's own connection, and a cursor of it.
    begin : str
        Begins a transaction that no other writer of this incident can be in at the same time.
    tip, insert : Statement
        Find the end of a chain; add an event.
    """

    driver: Any
    cursor: Any
    begin: str
    tip: Statement
    insert: Statement


class Database:
    """One incident's tables.

    Raises
    ------
    LogError
        If there is no such database or incident, or it is of a newer version.
    DamagedLog
        If the database cannot be read, here and in every method.
    """

    def __init__(self, engine: sa.Engine, where: str) -> None:
        self.where = where
        self._engine = engine
        self._number = 1
        self._writer: _Writer | None = None
        # sqlalchemy.exc.DBAPIError is what Core raises, the other what a driver's cursor does.
        driver: Any = engine.dialect.dbapi
        self._errors: tuple[type[Exception], ...] = (sa.exc.SQLAlchemyError, driver.Error)
        try:
            self._connection = engine.connect()
        except self._errors as error:
            engine.dispose()
            raise self._failed(error, "cannot be opened") from error

    def close(self) -> None:
        """Close the connection."""
        self._connection.close()
        self._engine.dispose()

    def make(self, incident: Incident) -> None:
        """Make the tables, where there are none yet, and an incident in them."""
        with self._transaction("no log was made", writes=True) as connection:
            version = version_of(connection)
            if version == 0:
                make_tables(connection)
            elif version > SCHEMA_VERSION:
                raise refused(self.where, version)
            else:
                migrate(connection, version)
            known = sa.select(INCIDENTS.c.key).where(INCIDENTS.c.key == incident.key)
            if connection.execute(known).first():
                raise LogError(f"{self.where} holds a log called {incident.key!r} already")
            made = connection.execute(INCIDENTS.insert().values(**incident._asdict()))
            self._number = int(made.inserted_primary_key[0])  # type: ignore[index]

    def open(self, key: str) -> Incident:
        """Find an incident; without a key, the only one."""
        with self._transaction("cannot be read") as connection:
            version = version_of(connection)
            if version == 0:
                raise LogError(
                    f"{self.where} is a database, but no log: make one with 'plotter log new'"
                )
            if version > SCHEMA_VERSION:
                raise refused(self.where, version)
            query = sa.select(INCIDENTS).order_by(INCIDENTS.c.incident)
            rows = [row for row in connection.execute(query) if key in ("", row.key)]
            if len(rows) != 1:
                names = ", ".join(row.key for row in connection.execute(query)) or "none"
                raise LogError(
                    f"{self.where} holds these logs: {names}; say which one, by "
                    "?incident= and its name at the end of the URL"
                )
        (row,) = rows
        self._number = row.incident
        return Incident(row.key, row.title, row.desk, row.machine, row.made_utc)

    def records(self) -> list[Record]:
        """Every event as it is stored; to be taken apart by position."""
        columns = (EVENTS.c.desk, EVENTS.c.number, EVENTS.c.hash, EVENTS.c.body)
        query = sa.select(*columns).where(EVENTS.c.incident == self._number)
        with self._transaction("cannot be read") as connection:
            # The driver's own rows, in a third of the time of SQLAlchemy's.
            cursor: Any = connection.execute(query).cursor
            # Rows as the driver makes them: tuples with the parts of a record, in their order.
            return cast("list[Record]", cursor.fetchall())

    def damaged(self) -> list[tuple[bytes, bytes, str]]:
        """Damaged records that are kept apart, as hash, body and reason."""
        columns = (DAMAGED.c.hash, DAMAGED.c.body, DAMAGED.c.why)
        query = sa.select(*columns).where(DAMAGED.c.incident == self._number)
        with self._transaction("cannot be read") as connection:
            if version_of(connection) < 2:
                return []
            return [(row.hash, row.body, row.why) for row in connection.execute(query)]

    def append(
        self, desk: str, rows_after: Callable[[Tip], Sequence[tuple[int, bytes, bytes]]]
    ) -> None:
        """Add events after the end of a desk's chain, durably, while other writers wait.

        Parameters
        ----------
        desk : str
            Whose chain.
        rows_after : callable
            Gives number, hash and body of the new events after that end.
        """
        if self._writer is None:
            with self._transaction("nothing was stored", writes=True) as connection:
                migrate(connection, version_of(connection))
            self._writer = self._made_writer()
        driver, cursor, begin, tip, insert = self._writer
        try:
            cursor.execute(begin)
            tip.run(cursor, (self._number, desk))
            found = cursor.fetchone()
            last = Tip(found[0], bytes(found[1]).hex()) if found else Tip()
            rows = [(self._number, desk, *row) for row in rows_after(last)]
            if rows:
                insert.run_many(cursor, rows)
            driver.commit()
        except BaseException as error:
            self._writer = None  # the connection may be gone: the next append looks
            with suppress(*self._errors):
                driver.rollback()
            if isinstance(error, self._errors):
                raise self._failed(error, "nothing was stored") from error
            raise

    def add(
        self,
        events: Sequence[Record],
        damaged: Sequence[tuple[bytes, bytes, str]],
    ) -> list[Record]:
        """Add what is not there yet, all or none; the events that were new."""
        with self._transaction("nothing was stored", writes=True) as connection:
            migrate(connection, version_of(connection))
            keys = sa.select(EVENTS.c.desk, EVENTS.c.number, EVENTS.c.hash).where(
                EVENTS.c.incident == self._number
            )
            found: Any = connection.execute(keys).cursor
            held = set(found.fetchall())
            new = [row for row in events if row[:3] not in held] if held else list(events)
            if new:
                insert = Statement(EVENTS.insert(), connection.dialect, EVENTS.c.keys())
                driver: Any = connection.connection
                cursor = driver.cursor()  # in the transaction of Core, for the same reason
                rows = [(self._number, *row) for row in new]
                insert.run_many(cursor, rows)
                cursor.close()
            query = sa.select(DAMAGED.c.hash, DAMAGED.c.body).where(
                DAMAGED.c.incident == self._number
            )
            known = {tuple(row) for row in connection.execute(query)}
            for digest, body, why in damaged:
                if (digest, body) not in known:
                    connection.execute(
                        DAMAGED.insert().values(
                            incident=self._number, hash=digest, body=body, why=why
                        )
                    )
        return new

    def integrity(self) -> tuple[str, ...]:
        """What SQLite finds wrong with its file; a server looks after its own."""
        if self._connection.dialect.name != "sqlite":
            return ()
        try:
            with self._connection.begin():
                found = self._connection.exec_driver_sql("PRAGMA integrity_check(20)").all()
        except self._errors as error:
            return (_plain(error),)
        return tuple(str(row[0]) for row in found if row[0] != "ok")

    @contextmanager
    def _transaction(self, failed: str, *, writes: bool = False) -> Iterator[sa.Connection]:
        """A transaction of Core; a writing one waits for other writers first."""
        connection = self._connection
        connection.execution_options(writes=writes)
        try:
            with connection.begin():
                yield connection
        except self._errors as error:
            raise self._failed(error, failed) from error

    def _made_writer(self) -> _Writer:
        dialect = self._connection.dialect
        begin = "BEGIN IMMEDIATE"
        if dialect.name != "sqlite":
            mine = sa.select(INCIDENTS.c.incident).where(INCIDENTS.c.incident == self._number)
            literal = {"literal_binds": True}
            begin = str(mine.with_for_update().compile(dialect=dialect, compile_kwargs=literal))
        tip = sa.select(EVENTS.c.number, EVENTS.c.hash).where(
            EVENTS.c.incident == sa.bindparam("incident"), EVENTS.c.desk == sa.bindparam("desk")
        )
        tip = tip.order_by(EVENTS.c.number.desc(), EVENTS.c.hash.desc())
        tip = tip.suffix_with("LIMIT 1")  # Core's own would be one more value to give
        driver: Any = self._connection.connection.driver_connection
        return _Writer(
            driver,
            driver.cursor(),
            begin,
            Statement(tip, dialect, ("incident", "desk")),
            Statement(EVENTS.insert(), dialect, EVENTS.c.keys()),
        )

    def _failed(self, error: Exception, what: str) -> LogError:
        """A driver's error as ours: damage, or what to do."""
        cause = getattr(error, "orig", None) or error
        words = f"{self.where}: {what}: {_plain(error)}"
        if not isinstance(cause, sqlite3.Error):
            return LogError(f"{words}; look whether the server can be reached, and try again")
        code = getattr(cause, "sqlite_errorcode", 0) & 0xFF
        if code in _BUSY:
            return LogError(f"{words}; another program is writing: try again")
        if code in _CLOSED:
            return LogError(f"{words}; look at the rights of the file and of its folder")
        if code == sqlite3.SQLITE_FULL:
            return LogError(f"{words}; make room on the disk, and try again")
        return DamagedLog(
            f"{words}; see what is wrong with 'plotter log check', and go on with the file that "
            "'plotter log rescue' makes; a full disk can be the cause"
        )


def _plain(error: Exception) -> str:
    """A driver's own words on one line."""
    return " ".join(str(getattr(error, "orig", None) or error).split())
