"""The two databases under the log: how each is opened, and how it makes writers wait."""

import sqlite3
from pathlib import Path
from urllib.parse import quote

import sqlalchemy as sa

from plotter.errors import LogError

__all__ = ["PAGE_SIZE", "postgres", "sqlite_file"]

# An event of some thousand characters lies whole in one page.
PAGE_SIZE = 8_192
_WAIT_S = 30.0
_NOT_TO_BE_WRITTEN = {sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM}


def sqlite_file(path: Path, *, make: bool = False) -> sa.Engine:
    """Engine for one file: write-ahead log, every commit on the disk before it returns."""

    def connect() -> sqlite3.Connection:
        file = quote(str(path.absolute()))
        mode = "rwc" if make else "rw"
        try:
            return _tuned(file, f"mode={mode}")
        except sqlite3.OperationalError as error:
            if getattr(error, "sqlite_errorcode", 0) & 0xFF not in _NOT_TO_BE_WRITTEN:
                raise
            # A folder that cannot be written, such as a locked stick: only looked at. With a
            # write-ahead log beside it, SQLite itself must say what it can do.
            waiting = path.with_name(path.name + "-wal")
            still = waiting.exists() and waiting.stat().st_size
            return _tuned(file, "mode=ro" if still else "mode=ro&immutable=1")

    engine = sa.create_engine("sqlite://", creator=connect, poolclass=sa.pool.StaticPool)

    @sa.event.listens_for(engine, "begin")
    def begin(connection: sa.Connection) -> None:
        # The driver would begin only before some statements, and then without the write lock.
        write = connection.get_execution_options().get("writes", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")

    return engine


def _tuned(file: str, options: str) -> sqlite3.Connection:
    connection = sqlite3.connect(
        f"file:{file}?{options}",
        uri=True,
        timeout=_WAIT_S,
        isolation_level=None,
        check_same_thread=False,
    )
    try:
        connection.execute(f"PRAGMA page_size = {PAGE_SIZE}")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA fullfsync = ON")  # where the system's own flush does not flush
        if not options.startswith("mode=ro"):
            connection.execute("PRAGMA journal_mode = WAL").fetchone()
        connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    except sqlite3.Error:
        connection.close()
        raise
    return connection


def postgres(url: str) -> sa.Engine:
    """Engine for a server; without its driver, say what to install.

    Raises
    ------
    LogError
        If the driver is not installed.
    """
    address = sa.engine.make_url(url).set(drivername="postgresql+psycopg")
    try:
        return sa.create_engine(address, poolclass=sa.pool.StaticPool)
    except ImportError as error:
        raise LogError(
            f"{address.render_as_string()} needs the driver for PostgreSQL: "
            "pip install 'plotter[postgres]'"
        ) from error
