"""Older logs open and are brought up to date by a write; newer ones are refused, unchanged."""

import sqlite3

import psycopg
import pytest
from log_examples import NINE, Ids, chain, report
from postgres_server import new_database

from plotter.errors import LogError
from plotter.log.events import encoded
from plotter.log.store import check, open_log
from plotter.log.store.schema import SCHEMA_VERSION

# The tables as version 1 had them: no place for damaged records.
VERSION_1 = """
CREATE TABLE plotter_schema (version INTEGER);
INSERT INTO plotter_schema VALUES (1);
CREATE TABLE plotter_incidents (
    incident {serial} PRIMARY KEY, key TEXT NOT NULL UNIQUE, title TEXT NOT NULL,
    desk TEXT NOT NULL, machine TEXT NOT NULL, made_utc TEXT NOT NULL
);
INSERT INTO plotter_incidents (key, title, desk, machine, made_utc)
    VALUES ('Old', 'Old', 'Base', '', '2025-01-01T00:00:00+00:00');
CREATE TABLE plotter_events (
    incident INTEGER NOT NULL, desk TEXT NOT NULL, number INTEGER NOT NULL,
    hash {bytes} NOT NULL, body {bytes} NOT NULL, PRIMARY KEY (incident, desk, number, hash)
){without_rowid};
"""
EVENTS = chain("Base", report("one"), report("two"))
ROWS = [(1, e.desk, e.number, bytes.fromhex(e.hash), encoded(e)) for e in EVENTS]


@pytest.fixture
def old(request, tmp_path):
    """A log of version 1, and a way to ask its database: as SQLite and as PostgreSQL."""
    if request.param == "sqlite":
        path = tmp_path / "old.log"
        database = sqlite3.connect(path, isolation_level=None)
        words = {"serial": "INTEGER", "bytes": "BLOB", "without_rowid": " WITHOUT ROWID"}
        database.executescript(VERSION_1.format(**words))
        database.executemany("INSERT INTO plotter_events VALUES (?, ?, ?, ?, ?)", ROWS)
        where = str(path)
    else:
        server = request.getfixturevalue("postgres")
        name = f"old-{request.node.name.split('[')[0]}"
        where = new_database(server, name)
        database = psycopg.connect(f"host={server} user=plotter dbname={name}", autocommit=True)
        words = {"serial": "SERIAL", "bytes": "BYTEA", "without_rowid": ""}
        database.execute(VERSION_1.format(**words))
        with database.cursor() as cursor:
            cursor.executemany("INSERT INTO plotter_events VALUES (%s, %s, %s, %s, %s)", ROWS)
    yield where, database.execute
    database.close()


both = pytest.mark.parametrize("old", ["sqlite", "postgresql"], indirect=True)


def version(ask):
    return ask("SELECT version FROM plotter_schema").fetchone()[0]


@both
def test_an_old_log_opens_and_is_not_changed_by_looking(old):
    where, ask = old
    with open_log(where) as log:
        assert log.read().events == EVENTS
        assert log.incident.title == "Old"
        assert check(log).sound
    assert version(ask) == 1


@both
def test_a_write_brings_an_old_log_up_to_date(old):
    where, ask = old
    with open_log(where) as log:
        (event,) = log.append([report("x")], desk="Base", entered_utc=NINE, random_part=Ids(50))
        assert event.number == 3
        assert event.before == EVENTS[-1].hash
    assert version(ask) == SCHEMA_VERSION
    assert ask("SELECT count(*) FROM plotter_damaged").fetchone()[0] == 0
    with open_log(where) as log:
        assert log.read().events == (*EVENTS, event)


@both
def test_a_merge_into_an_old_log_brings_it_up_to_date(old):
    where, ask = old
    with open_log(where) as log:
        assert log.add_records(log.records()) == 0
        assert log.read().events == EVENTS
    assert version(ask) == SCHEMA_VERSION


@both
def test_a_newer_log_is_refused_and_not_changed(old):
    where, ask = old
    ask("UPDATE plotter_schema SET version = version + 2")
    with pytest.raises(LogError, match=r"a log of version 3; .* up to 2: open it with the plotter"):
        open_log(where)
    assert version(ask) == SCHEMA_VERSION + 1
