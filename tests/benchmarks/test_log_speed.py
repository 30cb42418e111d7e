"""The log's speed: a durable append, opening 100 000 events, and a merge, beside bare SQLite.

Seconds are printed, ratios to a peer in the same run are asserted. Peers: an insert of the same row
by `sqlite3` with the same settings and nothing else; reading the same number of rows of the same
size with their values as JSON, by `sqlite3` and `json`; copying both logs' rows into a third file
by `INSERT ... SELECT`.
"""

import datetime as dt
import json
import os
import sqlite3
import time

import pytest
from log_examples import NINE, Ids

from plotter.log.events import Chosen, Entry, encoded, merged, state_at
from plotter.log.store import new_log, open_log

pytestmark = pytest.mark.slow

COUNT = 100_000
ROUNDS = 41
SETTINGS = ("journal_mode = WAL", "synchronous = FULL", "page_size = 8192")


def entry(i):
    """A position as it comes in by voice, with what was made of it."""
    return Entry(
        "report",
        f"27H UT {81_000 + i % 1000:05d} {48_000 + i % 997:05d}",
        sender=f"Team {i % 23}",
        operator="Anna",
        channel="channel 3",
        said_utc=NINE + dt.timedelta(seconds=i),
        reading=Chosen(
            "mgrs", f"27HUT{i:010d}", round(-38.4 - i * 1e-7, 9), round(-22.3 + i * 1e-7, 9), 1.0
        ),
        assumed=("zone 27H, from the area of operations",) if i % 3 == 0 else (),
    )


def fill(log, desk, start, stop, ids):
    for at in range(start, stop, 5_000):
        log.append(
            [entry(i) for i in range(at, min(at + 5_000, stop))],
            desk=desk,
            entered_utc=NINE + dt.timedelta(seconds=at),
            random_part=ids,
        )


def bare(path):
    path.unlink(missing_ok=True)
    database = sqlite3.connect(path, isolation_level=None)
    for setting in reversed(SETTINGS):
        database.execute(f"PRAGMA {setting}").fetchone()
    return database


@pytest.fixture(scope="module")
def logs(tmp_path_factory):
    """Logs of 25 000, 50 000 and 100 000 events, and another desk's that shares half of it."""
    folder = tmp_path_factory.mktemp("logs")
    found = {}
    for count in (COUNT // 4, COUNT // 2, COUNT):
        with new_log(folder / f"{count}.log", title="x", made_utc=NINE, desk="Base") as log:
            fill(log, "Base", 0, count, Ids())
        found[count] = folder / f"{count}.log"
    found["other"] = folder / "other.log"
    with open_log(found[COUNT // 2]) as half:
        shared = half.records()
    with new_log(found["other"], title="x", made_utc=NINE, desk="Harbour") as log:
        log.add_records(shared)
        fill(log, "Harbour", 0, COUNT // 2, Ids(1 << 40))
    return found


def test_a_durable_append_beside_a_bare_insert(tmp_path):
    """Both on the same disk, in turns; a round is 150 events, each its own transaction.

    Each is handed what it is to store, made before: the insert a row, the log an entry. All rounds
    together are compared, with the checkpoints that fall into them.
    """
    database = bare(tmp_path / "bare.db")
    database.execute("CREATE TABLE events (place INTEGER PRIMARY KEY, hash BLOB, body BLOB)")
    ids, ours, theirs = Ids(), [], []
    entries = [entry(i) for i in range(150)]
    with new_log(tmp_path / "storm.log", title="x", made_utc=NINE, desk="Base") as log:
        (event,) = log.append([entry(0)], desk="Base", entered_utc=NINE, random_part=ids)
        row = (bytes.fromhex(event.hash), encoded(event))
        for _ in range(ROUNDS):
            start = time.perf_counter()
            for _ in range(150):
                database.execute("BEGIN IMMEDIATE")
                database.execute("INSERT INTO events (hash, body) VALUES (?, ?)", row)
                database.execute("COMMIT")
            theirs.append(time.perf_counter() - start)
            start = time.perf_counter()
            for each in entries:
                log.append([each], desk="Base", entered_utc=NINE, random_part=ids)
            ours.append(time.perf_counter() - start)
    database.close()
    ratio = sum(ours) / sum(theirs)
    middle = sorted(a / b for a, b in zip(ours, theirs, strict=True))[ROUNDS // 2]
    print(
        f"\nappend: {sum(ours) / ROUNDS / 150 * 1e6:.0f} µs, bare insert "
        f"{sum(theirs) / ROUNDS / 150 * 1e6:.0f} µs: {ratio:.2f} times (median of rounds "
        f"{middle:.2f}, least times of both {min(ours) / min(theirs):.2f})"
    )
    assert ratio <= 1.5


def seconds(works, rounds=6):
    """Least wall-clock and processor time of some pieces of work, done in turns."""
    best = {name: (float("inf"), float("inf")) for name in works}
    for _ in range(rounds):
        for name, work in works.items():
            start, cpu = time.perf_counter(), time.process_time()
            work()
            took = (time.perf_counter() - start, time.process_time() - cpu)
            best[name] = (min(best[name][0], took[0]), min(best[name][1], took[1]))
    return best


def test_opening_and_replaying(logs, tmp_path):
    """Every hash is checked, every event decoded, and the state folded."""

    def open_and_replay(path):
        with open_log(path) as log:
            contents = log.read()
        assert not contents.damage
        return state_at(contents.events)

    with open_log(logs[COUNT]) as log:
        events = log.read().events
    database = bare(tmp_path / "json.db")
    database.execute("CREATE TABLE events (place INTEGER PRIMARY KEY, body TEXT)")
    database.execute("BEGIN")
    database.executemany(
        "INSERT INTO events (body) VALUES (?)",
        [(json.dumps(event, default=str),) for event in events],
    )
    database.execute("COMMIT")
    del events

    def fetch_json():
        rows = database.execute("SELECT body FROM events ORDER BY place").fetchall()
        return [json.loads(body) for (body,) in rows]

    counts = (COUNT // 4, COUNT // 2, COUNT)
    works = {count: lambda path=logs[count]: open_and_replay(path) for count in counts}
    took = seconds({**works, "peer": fetch_json})
    database.close()
    for count in counts:
        print(f"\nopen and replay {count}: {took[count][0]:.2f} s ({took[count][1]:.2f} s CPU)")
    growth = took[COUNT][1] / took[COUNT // 4][1]
    ratio = took[COUNT][1] / took["peer"][1]
    print(
        f"rows and JSON by sqlite3 and json: {took['peer'][0]:.2f} s ({took['peer'][1]:.2f} s "
        f"CPU): ours {ratio:.2f} times; four times the events take {growth:.2f} times as long"
    )
    assert ratio <= 2
    assert growth <= 6


def test_merging_two_logs(logs, tmp_path):
    """100 000 events and 100 000 of which half are the same, into a third log."""

    def merge():
        out = tmp_path / "merged.log"
        for name in ("merged.log", "merged.log.copy"):
            (tmp_path / name).unlink(missing_ok=True)
        with open_log(logs[COUNT]) as a, open_log(logs["other"]) as b:
            records = merged(a.records(), b.records())
        with new_log(out, title="x", made_utc=NINE, desk="Base") as log:
            assert log.add_records(records) == COUNT + COUNT // 2

    def copy():
        database = bare(tmp_path / "bare.db")
        database.execute(
            "CREATE TABLE events (incident, desk, number, hash, body, "
            "PRIMARY KEY (incident, desk, number, hash)) WITHOUT ROWID"
        )
        for name in (COUNT, "other"):
            database.execute("ATTACH ? AS other", (str(logs[name]),))
            database.execute("BEGIN")
            database.execute("INSERT OR IGNORE INTO events SELECT * FROM other.plotter_events")
            database.execute("COMMIT")
            database.execute("DETACH other")
        database.close()
        os.sync()

    took = seconds({"ours": merge, "peer": copy}, rounds=4)
    ours, peer = took["ours"], took["peer"]
    print(
        f"\nmerge of two logs of {COUNT}: {ours[0]:.2f} s ({ours[1]:.2f} s CPU); INSERT ... SELECT "
        f"of the same rows {peer[0]:.2f} s ({peer[1]:.2f} s CPU)"
    )
    assert ours[1] <= 8 * peer[1]
