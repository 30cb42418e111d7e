"""The tables of the log, their versions, and the way from each version to the next."""

from collections.abc import Callable
from typing import Final

import sqlalchemy as sa

from plotter.errors import LogError

__all__ = [
    "DAMAGED",
    "EVENTS",
    "INCIDENTS",
    "SCHEMA_VERSION",
    "make_tables",
    "migrate",
    "refused",
    "version_of",
]

SCHEMA_VERSION: Final = 2

_METADATA: Final = sa.MetaData()
_VERSION: Final = sa.Table("plotter_schema", _METADATA, sa.Column("version", sa.Integer))
INCIDENTS: Final = sa.Table(
    "plotter_incidents",
    _METADATA,
    sa.Column("incident", sa.Integer, primary_key=True),
    sa.Column("key", sa.Text, nullable=False, unique=True),
    sa.Column("title", sa.Text, nullable=False),
    sa.Column("desk", sa.Text, nullable=False),
    sa.Column("machine", sa.Text, nullable=False),
    sa.Column("made_utc", sa.Text, nullable=False),
)
# The body is the event; the other columns find and prove it. The key makes the table its own
# index: one page to write an event. The hash stands right before the body, for salvage.
EVENTS: Final = sa.Table(
    "plotter_events",
    _METADATA,
    sa.Column("incident", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("desk", sa.Text, primary_key=True),
    sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("hash", sa.LargeBinary, primary_key=True),
    sa.Column("body", sa.LargeBinary, nullable=False),
    sqlite_with_rowid=False,
)
# Records that do not agree with their hash, as they were found: since version 2.
DAMAGED: Final = sa.Table(
    "plotter_damaged",
    _METADATA,
    sa.Column("place", sa.Integer, primary_key=True),
    sa.Column("incident", sa.Integer, nullable=False),
    sa.Column("hash", sa.LargeBinary, nullable=False),
    sa.Column("body", sa.LargeBinary, nullable=False),
    sa.Column("why", sa.Text, nullable=False),
)


def _to_2(connection: sa.Connection) -> None:
    """Version 2 keeps damaged records apart, so that rescue and merge lose none."""
    DAMAGED.create(connection)


# How to come to each version from the one before it.
_STEPS: Final[dict[int, Callable[[sa.Connection], None]]] = {2: _to_2}


def make_tables(connection: sa.Connection) -> None:
    """All tables of the present version, in an empty database."""
    _METADATA.create_all(connection, checkfirst=False)
    connection.execute(_VERSION.insert().values(version=SCHEMA_VERSION))


def version_of(connection: sa.Connection) -> int:
    """Version of the tables; 0 where there are none."""
    if not sa.inspect(connection).has_table(_VERSION.name):
        return 0
    return int(connection.execute(sa.select(_VERSION.c.version)).scalar_one())


def migrate(connection: sa.Connection, version: int) -> None:
    """Bring older tables to the present version, inside the caller's transaction."""
    for step in range(version + 1, SCHEMA_VERSION + 1):
        _STEPS[step](connection)
    if version < SCHEMA_VERSION:
        connection.execute(_VERSION.update().values(version=SCHEMA_VERSION))


def refused(where: str, version: int) -> LogError:
    """What to say about a log of a newer version."""
    return LogError(
        f"{where} is a log of version {version}; this plotter knows versions up to "
        f"{SCHEMA_VERSION}: open it with the plotter that wrote it, or install that one here. "
        "Nothing was changed"
    )
