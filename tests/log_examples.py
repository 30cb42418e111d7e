"""Entries, events and writers for the tests of the log: the clock and chance are passed in."""

import datetime as dt
import itertools
import sys
from pathlib import Path

from plotter.log.events import Chosen, Entry, Source, Tip, chained

NINE = dt.datetime(2026, 3, 14, 9, 0, tzinfo=dt.UTC)
ROOT = Path(__file__).resolve().parent.parent


def minutes(count):
    """So many minutes past nine."""
    return NINE + dt.timedelta(minutes=count)


class Ids:
    """Random parts that are never given twice, and are the same in every run."""

    def __init__(self, start=0):
        self._numbers = itertools.count(start)

    def __call__(self):
        return f"{next(self._numbers):012x}"


def report(text="47.0N 8.0E", sender="Team 1", **named):
    return Entry("report", text, sender=sender, **named)


def full_entry():
    """An entry with everything in it, and everything that could go wrong in a line of text."""
    return Entry(
        "report",
        "tab\there, line\nthere, \\n back\\slash, NUL \0, \x1f, \ud800 half, 日本 é",
        sender="Ridge\tteam",
        subject="weak station",
        operator="Anna",
        channel="channel 3",
        said_utc=dt.datetime(2026, 3, 14, 8, 59, 59, 123456, tzinfo=dt.UTC),
        received_utc=dt.datetime(2026, 3, 14, 10, 1, tzinfo=dt.timezone(dt.timedelta(hours=1))),
        reading=Chosen("mgrs", "32TMT0000000000", 47.123456789012345, -8.1e-7, 1.0),
        assumed=("zone 32T", "with \x1f and \\u in it"),
        source=Source("reports.csv", 7),
    )


def chain(desk, *entries, start=0, tip=Tip(), at=NINE):  # noqa: B008 - a value that cannot change
    """Events of a desk, a minute apart."""
    ids = Ids(start)
    events = []
    for i, entry in enumerate(entries):
        made = chained(
            [entry],
            tip,
            desk=desk,
            entered_utc=at + dt.timedelta(minutes=i),
            random_part=ids,
        )
        events += made
        tip = Tip(made[-1].number, made[-1].hash)
    return tuple(events)


# A process that appends events one by one, and says each id once it is acknowledged.
WRITER = f"""
import datetime as dt, secrets, sys
sys.path.insert(0, {str(ROOT)!r})
from plotter.log.events import Entry
from plotter.log.store import open_log
where, desk, count = sys.argv[1], sys.argv[2], int(sys.argv[3])
now = dt.datetime(2026, 3, 14, 9, 0, tzinfo=dt.UTC)
with open_log(where) as log:
    print("ready", flush=True)
    for i in range(count):
        (event,) = log.append(
            [Entry("report", f"word {{i}}", sender="Team")],
            desk=desk, entered_utc=now + dt.timedelta(seconds=i),
            random_part=lambda: secrets.token_hex(6),
        )
        sys.stdout.write(event.id + "\\n")
        sys.stdout.flush()
"""


def writer_command(where, desk, count):
    return [sys.executable, "-c", WRITER, str(where), desk, str(count)]
