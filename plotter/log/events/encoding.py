r"""Events as bytes, and the hash over them: what the log stores and what others can check.

An event is one line of UTF-8 without its line end: 24 fields with a tab between them, in this
order::

    0 event1        this encoding's name        12 operator
    1 before        hash of the event before    13 channel
    2 id                                        14 text, as heard
    3 desk                                      15 reading: format
    4 number        in the desk's chain         16 reading: canonical text
    5 kind                                      17 reading: latitude, degrees
    6 refers to     ids, U+001F between         18 reading: longitude, degrees
    7 entered       UTC, 2026-03-14T09:05:00Z   19 reading: size of the square, metres
    8 said                                      20 assumed, U+001F between
    9 received                                  21 problem
   10 sender                                    22 source: file
   11 subject                                   23 source: line

What is not known is an empty field. Inside a field a backslash is written ``\\``, a tab ``\t``, a
line feed ``\n``, a carriage return ``\r``, NUL ``\0`` and the character U+001F ``\u``. Numbers are
written so that they are read back as the same number (the shortest such decimals).

The hash is SHA-256 over exactly these bytes, written as 64 small hexadecimal figures; as the bytes
hold the hash of the event before, a change after the fact shows in every later event of the desk.
Stored bytes are never encoded again: to check a log, hash them as they are.
"""

import datetime as dt
import hashlib
from typing import Final

from plotter.errors import LogError
from plotter.log.events.event import KINDS, Entry, Event
from plotter.log.events.fields import BETWEEN_ITEMS, escaped, is_plain, items, unescaped

__all__ = [
    "FIRST_BYTES",
    "body_of",
    "decoded",
    "encoded",
    "hash_of",
    "rest_of",
    "time_text",
]

_NAME: Final = "event1"
# What every event begins with: where a file is damaged, this is looked for.
FIRST_BYTES: Final = b"event1\t"
# Fields up to the time of receiving are taken apart at once, what follows where it is asked for.
_HEAD: Final = 10
_TABS_IN_REST: Final = 13
_ASSUMED: Final = 10  # its place in the rest, as `Event` reads it
_NO_READING: Final = ("", "", "", "", "")
_KNOWN: Final = frozenset(KINDS)
_new: Final = tuple.__new__
_read_time: Final = dt.datetime.fromisoformat


def hash_of(body: bytes) -> str:
    """SHA-256 of an event's bytes, as 64 hexadecimal figures."""
    return hashlib.sha256(body).hexdigest()


def encoded(event: Event) -> bytes:
    """An event's bytes; its `hash` is not among them."""
    times = (event.entered_utc, event.said_utc, event.received_utc)
    return body_of(
        event.before, event.id, event.desk, event.number, event.kind, event.refers_to,
        "\t".join(map(time_text, times)), event.rest,
    )  # fmt: skip


def body_of(
    before: str,
    event_id: str,
    desk: str,
    number: int,
    kind: str,
    refers_to: tuple[str, ...],
    times: str,
    rest: str,
) -> bytes:
    """The bytes of an event from its parts; times entered, said and received as three fields."""
    refers = BETWEEN_ITEMS.join(map(escaped, refers_to))
    head = f"{_NAME}\t{before}\t{escaped(event_id)}\t{escaped(desk)}\t{number}\t{kind}\t{refers}"
    return f"{head}\t{times}\t{rest}".encode()


def rest_of(entry: Entry) -> str:
    """What an event keeps as it is stored: fields 10 to 23."""
    chosen = _NO_READING
    if entry.reading:
        read_as, text, lat_deg, lon_deg, size_m = entry.reading
        chosen = (read_as, text, repr(lat_deg), repr(lon_deg), repr(size_m))
    file, line = (entry.source.file, str(entry.source.line)) if entry.source else ("", "")
    assumed = [each for each in entry.assumed if each]
    parts = [
        entry.sender, entry.subject, entry.operator, entry.channel, entry.text, *chosen,
        "", entry.problem, file, line,
    ]  # fmt: skip
    if not is_plain("".join((*parts, *assumed))):
        parts, assumed = [escaped(each) for each in parts], [escaped(each) for each in assumed]
    parts[_ASSUMED] = BETWEEN_ITEMS.join(assumed)
    return "\t".join(parts)


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
        line = body.decode()
        name, before, event_id, desk, number, kind, refers, entered, said, received, rest = (
            line.split("\t", _HEAD)
        )
        if name != _NAME or kind not in _KNOWN or rest.count("\t") != _TABS_IN_REST:
            raise _not_an_event(f"it begins with {name[:20]!r} and its kind is {kind[:20]!r}")
        if "\\" in event_id or "\\" in desk:
            event_id, desk = unescaped(event_id), unescaped(desk)
        now = _read_time(entered)
        # By position and past the named tuple's own constructor: a hundred thousand of them count.
        return _new(
            Event,
            (
                event_id,
                desk,
                int(number),
                before,
                digest,
                kind,
                items(refers, 0) if refers else (),
                now,
                _read_time(said) if said else None,
                now if received == entered else _read_time(received),
                rest,
            ),
        )
    except ValueError as error:
        raise _not_an_event(str(error)) from error


def _not_an_event(why: str) -> LogError:
    return LogError(
        f"a record of the log cannot be taken apart ({why}): it is damaged, or of a newer version "
        "of the plotter; it is kept as it is"
    )


def time_text(time: dt.datetime | None) -> str:
    """A time as it is stored; empty where there is none."""
    if time is None:
        return ""
    text = (time if time.tzinfo is dt.UTC else time.astimezone(dt.UTC)).isoformat()
    return f"{text[:-6]}Z"  # for its +00:00
