"""Entries of the log as lines of text and as JSON."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from plotter.log.events.event import Event
from plotter.log.events.state import Line, State
from plotter.log.incident import picture_of_state
from plotter.saying import on_one_line

__all__ = ["event_data", "line_data", "line_words", "unread_of"]


def unread_of(state: State) -> frozenset[str]:
    """Names of the entries that cannot be read."""
    return frozenset(each.said.name for each in picture_of_state(state).unread)


def line_data(
    line: Line, names: Mapping[str, str], unread: frozenset[str] = frozenset()
) -> dict[str, Any]:
    """A line of the log as JSON data: as it stands, and as it was first."""
    name = names[line.first.hash]
    current = line.standing[0] if line.standing else line.first
    reading = line.reading_of(current)
    return {
        **event_data(current, name),
        "kind": line.first.kind,
        "reading": reading._asdict() if reading else None,
        "first_text": line.first.text,
        "version": names[current.hash],
        "read": name not in unread,
        "confirmed": line.confirmed,
        "withdrawn": line.withdrawn,
        "corrected": current is not line.first,
        "conflict": [names[head.hash] for head in line.heads] if line.conflict else [],
        "stray": line.stray,
    }


def event_data(event: Event, name: str) -> dict[str, Any]:
    """An event as JSON data."""

    def time(value: dt.datetime | None) -> str | None:
        return value.isoformat().replace("+00:00", "Z") if value else None

    return {
        "name": name,
        "id": event.id,
        "desk": event.desk,
        "number": event.number,
        "kind": event.kind,
        "said_utc": time(event.said_utc),
        "received_utc": time(event.received_utc),
        "entered_utc": time(event.entered_utc),
        "sender": event.sender,
        "subject": event.subject,
        "operator": event.operator,
        "channel": event.channel,
        "text": event.text,
        "refers_to": list(event.refers_to),
        "reading": event.reading._asdict() if event.reading else None,
        "assumed": list(event.assumed),
        "problem": event.problem,
        "source": event.source._asdict() if event.source else None,
        "hash": event.hash,
        "before": event.before,
    }


def line_words(line: Line, names: Mapping[str, str], unread: frozenset[str] = frozenset()) -> str:
    """A line of the log in one line of text."""
    event = line.standing[0] if line.standing else line.first
    about = f" about {event.subject}" if event.subject else ""
    marks = []
    if line.withdrawn:
        marks.append("WITHDRAWN")
    if line.conflict:
        versions = ", ".join(names[head.hash] for head in line.heads)
        marks.append(f"CONFLICT: {versions}")
    elif line.versions and not line.withdrawn:
        marks.append("corrected")
    if line.confirmed:
        marks.append("confirmed")
    if line.stray:
        marks.append("what it follows is not in this log")
    if names[line.first.hash] in unread:
        marks.append("NOT READ")
    if event.kind not in ("report", "correction"):
        marks.append(event.kind)
    end = f"  [{'; '.join(marks)}]" if marks else ""
    time = f"{event.when_utc:%d %H:%M}"
    said = on_one_line(f"{event.sender}{about}: {event.text}")
    return f"{names[line.first.hash]:>4}  {time}  {said}{end}"
