"""What a log holds once it has been read: events whose hash is right, and what is damaged."""

from collections.abc import Iterable
from hashlib import sha256
from typing import NamedTuple

from plotter.errors import LogError
from plotter.log.events.bulk import many_values
from plotter.log.events.encoding import decoded
from plotter.log.events.event import Event
from plotter.log.events.merge import Record

__all__ = ["Contents", "Damage", "record_of", "understood"]


class Damage(NamedTuple):
    """One damaged record or part of a file.

    Parameters
    ----------
    words : str
        What is damaged, and whether the event was had from elsewhere.
    lost : Record or None
        The record as it was found, where its event is not to be had.
    """

    words: str
    lost: Record | None = None


class Contents(NamedTuple):
    """A log as it was read.

    Parameters
    ----------
    events : tuple of Event
        Every event whose bytes agree with their hash.
    damage : tuple of Damage
        What does not, named; empty for a sound log.
    newer : tuple of Record
        Sound records that this version cannot take apart; they are kept and merged.
    """

    events: tuple[Event, ...]
    damage: tuple[Damage, ...] = ()
    newer: tuple[Record, ...] = ()


def record_of(digest: bytes, body: bytes) -> Record:
    """A sound record whose place in the tables is not known: its event says it."""
    try:
        event = decoded(body, digest.hex())
    except LogError:  # of a newer version: kept, though this one cannot say where it stands
        return Record("", 0, digest, body)
    return Record(event.desk, event.number, digest, body)


def understood(
    records: Iterable[Record], elsewhere: Iterable[tuple[bytes, bytes]] = ()
) -> Contents:
    """Records as events, each held against its hash.

    A record that does not agree with its stored hash is looked for elsewhere, and in the chain:
    where the next event holds the hash of its bytes, only the stored hash was damaged.

    Parameters
    ----------
    records : iterable of Record
        As stored.
    elsewhere : iterable of (digest, body)
        Sound records of a second copy, asked only where something is damaged.
    """
    events: list[Event] = []
    wrong: list[Record] = []
    newer: list[Record] = []
    misplaced: list[Damage] = []
    with many_values():
        for desk, number, digest, body in records:
            if sha256(body).digest() != digest:
                wrong.append(Record(desk, number, digest, body))
                continue
            try:
                event = decoded(body, digest.hex())
            except LogError:
                newer.append(Record(desk, number, digest, body))
                continue
            events.append(event)
            if event.number != number or event.desk != desk:
                misplaced.append(Damage(f"{event.desk}-{event.number}: filed as {desk}-{number}"))
    damage: list[Damage] = []
    if wrong:
        befores = {event.before for event in events}
        spare = {digest.hex(): body for digest, body in elsewhere}
        held = {event.hash for event in events}
        for record in wrong:
            saved, words = _saved(record, befores, spare)
            if saved is not None and saved.hash not in held:
                events.append(saved)
                held.add(saved.hash)
            damage.append(Damage(words, None if saved else record))
    return Contents(tuple(events), (*damage, *misplaced), tuple(newer))


def _saved(record: Record, befores: set[str], spare: dict[str, bytes]) -> tuple[Event | None, str]:
    """The event of a damaged record, if it is to be had, and what to say about it."""
    name = f"{record.desk}-{record.number}"
    digest, stored = sha256(record.body).hexdigest(), record.digest.hex()
    try:
        if digest in befores or digest in spare:
            words = f"{name}: its stored hash is damaged; the event is whole"
            return decoded(record.body, digest), words
        if stored in spare:
            words = (
                f"{name}: its bytes do not agree with its hash; the event is taken from the copy"
            )
            return decoded(spare[stored], stored), words
    except LogError as error:
        return None, f"{name}: {error}"
    return None, (
        f"{name}: its bytes do not agree with its hash: {_legible(record.body)!r} is what is left "
        "of it; ask again, or take it from another desk's log"
    )


def _legible(body: bytes) -> str:
    fields = body.decode("utf-8", "replace").split("\t")
    return fields[14] if len(fields) == 24 else body[-200:].decode("utf-8", "replace")
