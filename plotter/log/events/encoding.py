r"""Events as bytes, and the hash over them: what the log stores and what others can check.

An event is one line of UTF-8 without its line end: 24 fields with a tab between them, in this
order::

    0 event1        this encoding's name        13 subject
    1 before        hash of the event before    14 operator
    2 id                                        15 channel
    3 desk                                      16 text, as heard
    4 number        in the desk's chain         17 reading: format
    5 kind                                      18 reading: canonical text
    6 refers to     ids, blank between          19 reading: latitude, degrees
    7 said          UTC, 2026-03-14T09:05:00Z   20 reading: longitude, degrees
    8 received                                  21 reading: size of the square, metres
    9 entered                                   22 assumed, \x1f between
   10 source: file                              23 problem
   11 source: line                              24 (empty)
   12 sender

What is not known is an empty field. Inside a field a backslash is written ``\\``, a tab ``\t``, a
line feed ``\n``, a carriage return ``\r``, NUL ``\0`` and the character U+001F ``\u``. Numbers are
written so that they are read back as the same number (the shortest such decimals).

The hash is SHA-256 over exactly these bytes, written as 64 small hexadecimal figures; as the bytes
hold the hash of the event before, a change after the fact shows in every later event of the desk.
Stored bytes are never encoded again: to check a log, hash them as they are.
"""

import datetime as dt
import hashlib
import re
from typing import Final, cast

from plotter.errors import LogError
from plotter.log.events.event import KINDS, Chosen, Event, Kind, Source

__all__ = ["FIRST_BYTES", "decoded", "encoded", "hash_of"]

_NAME: Final = "event1"
_FIELDS: Final = 24
# What every event begins with: where a file is damaged, this is looked for.
FIRST_BYTES: Final = b"event1\t"
_ESCAPES: Final = {"\\": "\\\\", "\t": "\\t", "\n": "\\n", "\r": "\\r", "\0": "\\0", "\x1f": "\\u"}
_PLAIN: Final = {escape: character for character, escape in _ESCAPES.items()}
_TO_ESCAPE: Final = re.compile(r"[\\\t\n\r\0\x1f]")
_ESCAPED: Final = re.compile(r"\\[\\tnr0u]")
_LIST: Final = "\x1f"


def hash_of(body: bytes) -> str:
    """SHA-256 of an event's bytes, as 64 hexadecimal figures."""
    return hashlib.sha256(body).hexdigest()


def encoded(event: Event) -> bytes:
    """An event's bytes; its `hash` is not among them."""
    reading, source = event.reading, event.source
    fields = (
        _NAME,
        event.before,
        event.id,
        event.desk,
        str(event.number),
        event.kind,
        " ".join(event.refers_to),
        _time(event.said_utc),
        _time(event.received_utc),
        _time(event.entered_utc),
        source.file if source else "",
        str(source.line) if source else "",
        event.sender,
        event.subject,
        event.operator,
        event.channel,
        event.text,
        reading.format if reading else "",
        reading.text if reading else "",
        repr(reading.lat_deg) if reading else "",
        repr(reading.lon_deg) if reading else "",
        repr(reading.size_m) if reading else "",
        _LIST.join(map(_escaped, event.assumed)),
        event.problem,
    )
    line = "\t".join(
        [field if i == 22 else _escaped(field) for i, field in enumerate(fields)]
    )  # the list is escaped item by item
    # Words typed in another encoding may hold lone surrogates: kept as they came.
    return line.encode("utf-8", "surrogatepass")


def decoded(body: bytes, digest: str) -> Event:
    """The event of some bytes.

    Parameters
    ----------
    body : bytes
        As stored.
    digest : str
        Their hash, see `hash_of`.

    Raises
    ------
    LogError
        If they are no event, or one of a newer version.
    """
    try:
        fields = body.decode("utf-8", "surrogatepass").split("\t")
        if fields[0] != _NAME or len(fields) != _FIELDS or fields[5] not in KINDS:
            raise _not_an_event(f"{len(fields)} fields that begin with {fields[0][:20]!r}")
        if b"\\" in body:
            assumed = tuple(_unescaped(each) for each in fields[22].split(_LIST))
            fields = [_unescaped(field) for field in fields]
        else:
            assumed = tuple(fields[22].split(_LIST))
        time = dt.datetime.fromisoformat
        return Event(
            fields[2],
            fields[3],
            int(fields[4]),
            fields[1],
            digest,
            cast("Kind", fields[5]),
            time(fields[7]) if fields[7] else None,
            time(fields[8]),
            time(fields[9]),
            fields[12],
            fields[13],
            fields[14],
            fields[15],
            fields[16],
            tuple(fields[6].split()) if fields[6] else (),
            Chosen(fields[17], fields[18], float(fields[19]), float(fields[20]), float(fields[21]))
            if fields[17]
            else None,
            assumed if fields[22] else (),
            fields[23],
            Source(fields[10], int(fields[11])) if fields[11] else None,
        )
    except ValueError as error:
        raise _not_an_event(str(error)) from error


def _not_an_event(why: str) -> LogError:
    return LogError(
        f"a record of the log cannot be taken apart ({why}): it is damaged, or of a newer version "
        "of the plotter; it is kept as it is"
    )


def _time(time: dt.datetime | None) -> str:
    if time is None:
        return ""
    return time.astimezone(dt.UTC).isoformat().replace("+00:00", "Z")


def _escaped(field: str) -> str:
    return _TO_ESCAPE.sub(lambda found: _ESCAPES[found[0]], field)


def _unescaped(field: str) -> str:
    return _ESCAPED.sub(lambda found: _PLAIN[found[0]], field) if "\\" in field else field
