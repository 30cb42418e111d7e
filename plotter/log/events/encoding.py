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
from typing import Final

from plotter.errors import LogError
from plotter.log.events.event import KINDS, Chosen, Event, Source

__all__ = ["FIRST_BYTES", "decoded", "encoded", "hash_of"]

_NAME: Final = "event1"
# What every event begins with: where a file is damaged, this is looked for.
FIRST_BYTES: Final = b"event1\t"
_ESCAPES: Final = {"\\": "\\\\", "\t": "\\t", "\n": "\\n", "\r": "\\r", "\0": "\\0", "\x1f": "\\u"}
_PLAIN: Final = {escape: character for character, escape in _ESCAPES.items()}
_TO_ESCAPE: Final = re.compile(r"[\\\t\n\r\0\x1f]")
_ESCAPED: Final = re.compile(r"\\[\\tnr0u]")
_LIST: Final = "\x1f"
_LIST_FIELD: Final = 22
_KNOWN: Final = frozenset(KINDS)
_new: Final = tuple.__new__
_read_time: Final = dt.datetime.fromisoformat


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
        [field if i == _LIST_FIELD else _escaped(field) for i, field in enumerate(fields)]
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
        (
            name, before, event_id, desk, number, kind, refers_to, said, received, entered, file,
            line, sender, subject, operator, channel, text, read_format, read_text, lat_deg,
            lon_deg, size_m, assumed, problem,
        ) = _plain_fields(fields) if b"\\" in body else fields  # fmt: skip
        if name != _NAME or kind not in _KNOWN:
            raise _not_an_event(f"it begins with {name[:20]!r} and its kind is {kind!r}")
        reading = None
        if read_format:
            place = (read_format, read_text, float(lat_deg), float(lon_deg), float(size_m))
            reading = _new(Chosen, place)
        # By position and past the named tuple's own constructor: a hundred thousand of them count.
        return _new(
            Event,
            (
                event_id, desk, int(number), before, digest, kind,
                _read_time(said) if said else None, _read_time(received), _read_time(entered),
                sender, subject, operator, channel, text,
                tuple(refers_to.split()) if refers_to else (),
                reading,
                _read_list(fields[_LIST_FIELD]) if assumed else (),
                problem,
                Source(file, int(line)) if line else None,
            ),
        )  # fmt: skip
    except ValueError as error:
        raise _not_an_event(str(error)) from error


def _plain_fields(fields: list[str]) -> list[str]:
    return [_unescaped(field) for field in fields]


def _read_list(field: str) -> tuple[str, ...]:
    return tuple(_unescaped(item) for item in field.split(_LIST))


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
