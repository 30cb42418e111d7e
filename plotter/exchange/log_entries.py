"""Files and lines as entries of the log: nothing is dropped, each with its file and line."""

import datetime as dt
import json
from typing import Any, Final

from plotter.errors import LogError
from plotter.exchange.guarded import cleaned, decoded
from plotter.exchange.reports_csv import ReportFile, split_reports
from plotter.exchange.tally import Tally
from plotter.exchange.times import time_said
from plotter.log.events.event import Entry, Source

__all__ = ["entries_of_text"]

_STDIN: Final = "stdin"
_KNOWN: Final = ("sender", "subject", "operator", "channel")


def entries_of_text(data: bytes, *, name: str = _STDIN, tally: Tally | None = None) -> list[Entry]:
    """Lines that came in as one text: those of a report file, or JSON objects.

    Parameters
    ----------
    data : bytes
        UTF-8; other bytes are taken as Windows-1252. JSON where the first line is an object.
    name : str
        Of the file it came from.
    tally : Tally or None
        Counts what is taken and left.

    Raises
    ------
    LogError
        If it is neither, or empty.
    """
    tally = Tally() if tally is None else tally
    text = cleaned(decoded(data))
    if not text.strip():
        raise LogError("nothing came in: expected the lines of a report file, or JSON objects")
    if not text.lstrip().startswith("{"):
        given = "what came in" if name == _STDIN else repr(name)
        file = split_reports(text, given)
        for column, values in file.ignored:
            tally.leave(f"values in the column {column!r}", values)
        return _counted(_entries(file, name), tally)
    return _counted(
        [
            _entry_of_json(line, number, tally)
            for number, line in enumerate(text.split("\n"), start=1)
            if line.strip()
        ],
        tally,
    )


def _counted(entries: list[Entry], tally: Tally) -> list[Entry]:
    unread = sum(bool(each.problem) for each in entries)
    tally.take("reports", len(entries) - unread)
    tally.take("kept unread, with the reason", unread)
    return entries


def _entries(file: ReportFile, name: str) -> list[Entry]:
    numbered = [(said, "") for said in file.said]
    numbered += [(unread.said, unread.reason) for unread in file.unread]
    numbered.sort(key=lambda pair: pair[0].line)
    return [
        Entry(
            "report",
            said.text,
            sender=said.sender,
            subject=said.subject,
            said_utc=said.time_utc,
            problem=problem,
            source=Source(name, said.line),
        )
        for said, problem in numbered
    ]


def _entry_of_json(line: str, number: int, tally: Tally) -> Entry:
    """One object; where it is not one of ours, the line itself is kept, with the reason."""
    source = Source(_STDIN, number)

    def kept(why: str) -> Entry:
        return Entry("report", line, problem=why, source=source)

    try:
        found: Any = json.loads(line)
        text = found["text"]
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        return kept(f'no JSON object with a "text" ({type(error).__name__}: {error})')
    parts = {key: found[key] for key in _KNOWN if found.get(key)}
    if not all(isinstance(value, str) for value in (text, *parts.values())):
        return kept('"text", "sender" and the like must be texts')
    said: dt.datetime | None = None
    if found.get("said_utc"):
        told = str(found["said_utc"])
        said, problem, unsaid = time_said(told, utc=False)
        if problem:
            return kept(problem)
        if unsaid:
            return kept(f"the time {told!r} does not say its zone: put Z after it")
    for key in found.keys() - {*_KNOWN, "text", "said_utc"}:
        tally.leave(f"members {key[:40]!r} of lines of JSON")
    problem = "" if parts.get("sender") else 'no sender: expected who reported it in "sender"'
    return Entry("report", text, said_utc=said, problem=problem, source=source, **parts)
