"""Short text messages: a report a line, short enough for one message each, read back as they went.

::

    140904Z Ridge team>weak station: bearing 321 magnetic ± 5
    140905Z Clinic>: 38.4497 S 22.2725 W
"""

import datetime as dt
import re
from collections.abc import Iterable, Sequence
from typing import Final

from plotter.exchange.features import Feature
from plotter.log.events.event import Entry, Source

__all__ = ["joined", "message_entry", "read_message", "write_messages"]

_SHAPE: Final = re.compile(
    r"(?:(\d{2})(\d{2})(\d{2})Z\s+)?([^>\n]{1,60})>([^:\n]{0,60}):\s?(.*)", re.DOTALL
)
_PART: Final = re.compile(r"(.*) \((\d+)/(\d+)\)", re.DOTALL)
_PLAIN_ROOM: Final = 160  # characters of a message in the network's own alphabet
_WIDE_ROOM: Final = 70  # and where one is outside of it


def write_messages(features: Sequence[Feature]) -> list[str]:
    """Reports as messages, in order; a long one in numbered parts.

    Parameters
    ----------
    features : sequence of Feature
        From `plotter.exchange.features.features_of`; regions are left out, a fix is its best point.

    Returns
    -------
    list of str
        Each of at most 160 characters, 70 where letters need it. Times are to the minute, their
        month is left out.
    """
    out: list[str] = []
    for feature in features:
        if feature.kind == "region":
            continue
        text = _one_line(feature.report)
        if feature.kind == "fix":
            place = feature.places[0][0]
            text = f"note best point of the fix {place.lat_deg:.4f}, {place.lon_deg:.4f}"
        time = f"{feature.said_utc:%d%H%M}Z " if feature.said_utc else ""
        sender = _one_line(feature.sender).replace(">", " ") or "log"
        head = f"{time}{sender}>{_one_line(feature.subject).replace(':', ' ')}: "
        out += _parts(head, text)
    return out


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _parts(head: str, text: str) -> list[str]:
    room = _PLAIN_ROOM if (head + text).isascii() else _WIDE_ROOM
    if len(head) + len(text) <= room and not _PART.fullmatch(text):
        return [head + text]
    step = max(room - len(head) - 10, 10)
    pieces = [text[i : i + step] for i in range(0, len(text), step)] or [""]
    return [f"{head}{piece} ({k}/{len(pieces)})" for k, piece in enumerate(pieces, start=1)]


def read_message(
    line: str, near_utc: dt.datetime | None
) -> tuple[dt.datetime | None, str, str, str] | None:
    """Take a message apart: time, sender, subject, words.

    Parameters
    ----------
    line : str
        One message.
    near_utc : datetime or None
        When it came in: the month is the one that brings its day nearest; without it there is no
        time.

    Returns
    -------
    tuple or None
        None where the line has another shape.
    """
    match = _SHAPE.fullmatch(line.strip())
    if match is None:
        return None
    day, hour, minute, sender, subject, words = match.groups()
    time = None
    if day and near_utc:
        time = _nearest(int(day), int(hour), int(minute), near_utc)
        if time is None:
            return None
    return time, sender.strip(), subject.strip(), words


def _nearest(day: int, hour: int, minute: int, near: dt.datetime) -> dt.datetime | None:
    found = []
    for months in (-1, 0, 1):
        number = near.year * 12 + near.month - 1 + months
        try:
            found.append(
                dt.datetime(number // 12, number % 12 + 1, day, hour, minute, tzinfo=dt.UTC)
            )
        except ValueError:
            continue
    return min(found, key=lambda time: abs(time - near), default=None)


def joined(lines: Iterable[tuple[int, str]]) -> list[tuple[int, str]]:
    """Lines with the parts of long messages put together, at the number of the first part.

    A part that is missing is said in the text.
    """
    out: list[tuple[int, str]] = []
    waiting: dict[tuple[str, str], tuple[int, dict[int, str]]] = {}
    for number, line in lines:
        part = _PART.fullmatch(line)
        shape = _SHAPE.fullmatch(part[1]) if part else None
        if part is None or shape is None:
            out.append((number, line))
            continue
        head, total = part[1][: shape.start(6)], part[3]
        first, pieces = waiting.setdefault((head, total), (number, {}))
        pieces[int(part[2])] = part[1][shape.start(6) :]
        if len(pieces) == int(total):
            del waiting[head, total]
            out.append((first, head + "".join(pieces[k] for k in sorted(pieces))))
    for (head, total), (first, pieces) in waiting.items():
        have = ", ".join(map(str, sorted(pieces)))
        words = " … ".join(pieces[k] for k in sorted(pieces))
        out.append((first, f"{head}note parts {have} of {total} came in: {words}"))
    out.sort(key=lambda pair: pair[0])
    return out


def message_entry(
    line: str,
    near_utc: dt.datetime | None,
    source: Source,
    *,
    operator: str = "",
    channel: str = "",
) -> Entry | None:
    """A message as an entry; None where the line has another shape."""
    found = read_message(line, near_utc)
    if found is None:
        return None
    time, sender, subject, words = found
    return Entry("report", words, sender=sender, subject=subject, operator=operator,
                 channel=channel or "message", said_utc=time, source=source)  # fmt: skip
