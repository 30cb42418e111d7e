"""The chain of a desk: each event holds the hash of the one before, so a change after shows."""

import datetime as dt
from collections.abc import Callable, Iterable, Sequence
from itertools import groupby
from typing import Literal, NamedTuple

from plotter.log.events.encoding import body_of, hash_of, rest_of, time_text
from plotter.log.events.event import Entry, Event

__all__ = ["ChainFault", "Tip", "chain_faults", "chained", "chained_bodies"]

_CLOCK_SLACK = dt.timedelta(seconds=2)


class Tip(NamedTuple):
    """The end of a desk's chain: number and hash of its last event."""

    number: int = 0
    hash: str = ""


class ChainFault(NamedTuple):
    """Something wrong with a desk's chain.

    Parameters
    ----------
    kind : {"missing", "fork", "broken", "clock"}
        Events that are not there; several events in one place; an event that does not follow from
        the one before it; a clock that went back, which loses nothing but makes times doubtful.
    desk : str
        Whose chain.
    first, last : int
        Numbers of the events that it is about.
    words : str
        What it is, in words.
    """

    kind: Literal["missing", "fork", "broken", "clock"]
    desk: str
    first: int
    last: int
    words: str


def chained(
    entries: Sequence[Entry],
    tip: Tip,
    *,
    desk: str,
    entered_utc: dt.datetime,
    random_part: Callable[[], str],
) -> tuple[Event, ...]:
    """Entries as the next events of a desk's chain; see `chained_bodies`."""
    pairs = chained_bodies(
        entries, tip, desk=desk, entered_utc=entered_utc, random_part=random_part
    )
    return tuple(event for event, _ in pairs)


def chained_bodies(
    entries: Sequence[Entry],
    tip: Tip,
    *,
    desk: str,
    entered_utc: dt.datetime,
    random_part: Callable[[], str],
) -> list[tuple[Event, bytes]]:
    """Entries as the next events of a desk's chain, each with the bytes that its hash covers.

    Parameters
    ----------
    entries : sequence of Entry
        In the order in which they are to stand.
    tip : Tip
        The end of the chain so far.
    desk : str
        Whose chain.
    entered_utc : datetime
        The desk's clock, aware.
    random_part : callable
        Gives figures or letters that are never given twice, 12 or more, for the ids.
    """
    pairs: list[tuple[Event, bytes]] = []
    number, before = tip
    short = "-".join(desk.split())
    entered = entered_utc.astimezone(dt.UTC)
    entered_text = time_text(entered)
    for entry in entries:
        number += 1
        event_id = f"{short}-{number:06d}-{random_part()}"
        said = entry.said_utc.astimezone(dt.UTC) if entry.said_utc else None
        received = entry.received_utc.astimezone(dt.UTC) if entry.received_utc else entered
        received_text = entered_text if received is entered else time_text(received)
        times, rest = f"{entered_text}\t{time_text(said)}\t{received_text}", rest_of(entry)
        body = body_of(before, event_id, desk, number, entry.kind, entry.refers_to, times, rest)
        digest = hash_of(body)
        event = Event(
            event_id, desk, number, before, digest, entry.kind, entry.refers_to, entered, said,
            received, rest,
        )  # fmt: skip
        before = digest
        pairs.append((event, body))
    return pairs


def chain_faults(events: Iterable[Event]) -> tuple[ChainFault, ...]:
    """What is wrong with the chains of some events.

    A desk's events follow each other from 1 without a gap, one in each place, each with the hash of
    the one before. A fork means that a file was copied and both copies were written on, or that
    somebody changed an event: the log cannot tell which, and keeps both.
    """
    faults: list[ChainFault] = []
    ordered = sorted(events, key=lambda e: (e.desk, e.number))
    for desk, chain in groupby(ordered, key=lambda e: e.desk):
        known, last_number = {""}, 0
        last_time: dt.datetime | None = None
        for number, place in groupby(chain, key=lambda e: e.number):
            here = list(place)
            if number > last_number + 1:
                first, last = last_number + 1, number - 1
                words = f"{desk}: {_numbers(first, last)} not there"
                faults.append(ChainFault("missing", desk, first, last, words))
            elif any(event.before not in known for event in here):
                words = (
                    f"{desk}: {number} does not follow from {number - 1}: one of them was changed "
                    "after it was written"
                )
                faults.append(ChainFault("broken", desk, number - 1, number, words))
            if len(here) > 1:
                words = (
                    f"{desk}: {len(here)} different events have the number {number}: a copy of the "
                    "file was written on, or an event was changed; both are kept"
                )
                faults.append(ChainFault("fork", desk, number, number, words))
            if last_time is not None and here[0].entered_utc < last_time - _CLOCK_SLACK:
                back = last_time - here[0].entered_utc
                words = (
                    f"{desk}: the clock went back by {_span(back)} between {last_number} and "
                    f"{number}: the order is kept, the times are doubtful"
                )
                faults.append(ChainFault("clock", desk, last_number, number, words))
            known, last_number = {event.hash for event in here}, number
            last_time = here[0].entered_utc
    return tuple(faults)


def _numbers(first: int, last: int) -> str:
    return f"{first} is" if first == last else f"{first} to {last} are"


def _span(span: dt.timedelta) -> str:
    """A span of time to one unit.

    Examples
    --------
    >>> _span(dt.timedelta(seconds=100))
    '2 min'
    """
    seconds = span.total_seconds()
    if seconds < 90:
        return f"{seconds:.0f} s"
    return f"{seconds / 60:.0f} min" if seconds < 5_400 else f"{seconds / 3600:.0f} h"
