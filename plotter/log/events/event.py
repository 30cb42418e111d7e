"""One event of the log: what was said or done, by whom, when, and what was made of it."""

import datetime as dt
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple, get_args

from plotter.errors import LogError
from plotter.log.events.fields import field, fields, items

__all__ = ["FOLLOWING", "KINDS", "Chosen", "Entry", "Event", "Kind", "Source", "checked_desk"]

Kind = Literal[
    "report", "correction", "confirmation", "withdrawal",
    "place", "area", "searched", "note", "shift",
]  # fmt: skip
KINDS: Final[tuple[Kind, ...]] = get_args(Kind)
# Those that say something about an earlier event.
FOLLOWING: Final[frozenset[Kind]] = frozenset({"correction", "confirmation", "withdrawal"})
_LONGEST_DESK: Final = 40


class Chosen(NamedTuple):
    """The reading that was chosen, as data.

    Parameters
    ----------
    format : str
        Name of the format, or "bearing", "place", "offset" ...
    text : str
        The same in a canonical form.
    lat_deg, lon_deg : float
        Centre of its square; of a bearing or a distance, where it was taken.
    size_m : float
        Longer side of that square.
    """

    format: str
    text: str
    lat_deg: float
    lon_deg: float
    size_m: float


class Source(NamedTuple):
    """Where an imported event comes from: a file, and the line in it from 1."""

    file: str
    line: int


@dataclass(frozen=True, slots=True)
class Entry:
    """What is to be written down, before it has its place in a desk's chain.

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    text : str
        As heard, unchanged; of a correction the whole report as it should have been. Halves of
        surrogate pairs, as a broken message may hold, are written out, here and in every text.
    sender, subject, operator, channel : str
        Who said it, about whom or what, who wrote it down, and how it came in.
    said_utc : datetime or None
        When it was said; None where nobody stated it.
    received_utc : datetime or None
        When it came in; None for the time of entry.
    reading : Chosen or None
        What it was taken to mean; None where nothing is to be plotted or it cannot be read.
    assumed : tuple of str
        What the reading rests on beyond the words.
    problem : str
        Why it is kept but cannot be used: such an event is never read.
    refers_to : tuple of str
        Ids of the events that it corrects, confirms or withdraws.
    source : Source or None
        Where an import took it from.

    Raises
    ------
    LogError
        If the kind is unknown, a time is not aware, or an event that follows another names none.
    """

    kind: Kind
    text: str
    sender: str = ""
    subject: str = ""
    operator: str = ""
    channel: str = ""
    said_utc: dt.datetime | None = None
    received_utc: dt.datetime | None = None
    reading: Chosen | None = None
    assumed: tuple[str, ...] = ()
    problem: str = ""
    refers_to: tuple[str, ...] = ()
    source: Source | None = None

    def __post_init__(self) -> None:
        """Reject what the log could not tell again."""
        if self.kind not in KINDS:
            raise LogError(f"no kind of event is called {self.kind!r}: use one of {KINDS}")
        for name in ("said_utc", "received_utc"):
            time = getattr(self, name)
            if time is not None and time.utcoffset() is None:
                raise LogError(f"{name} {time!r} has no zone: expected an aware time, best UTC")
        for name in ("text", "sender", "subject", "operator", "channel", "problem"):
            object.__setattr__(self, name, _writable(getattr(self, name)))
        object.__setattr__(self, "assumed", tuple(map(_writable, self.assumed)))
        if self.source is not None:
            source = self.source._replace(file=_writable(self.source.file))
            object.__setattr__(self, "source", source)
        if self.reading is not None:
            words = _writable(self.reading.format), _writable(self.reading.text)
            reading = self.reading._replace(format=words[0], text=words[1])
            object.__setattr__(self, "reading", reading)
        ids_are_whole = all([each] == each.split() for each in self.refers_to)
        if (self.kind in FOLLOWING) != bool(self.refers_to) or not ids_are_whole:
            raise LogError(
                f"a {self.kind} that refers to {self.refers_to!r}: corrections, confirmations and "
                "withdrawals name the events they are about, others name none"
            )


class Event(NamedTuple):
    """One event with its place in its desk's chain; fields as of `Entry`, times UTC and aware.

    A named tuple that keeps what is seldom asked for as it is stored: a log of 100 000 is opened in
    half the time of dataclasses with every field. Events come from `plotter.log.events.chained` or
    out of a log, never from a caller's own hands.

    Parameters
    ----------
    id : str
        Unique, sorts by number within a desk: desk, number and a random part.
    desk : str
        Which desk's chain.
    number : int
        Place in that chain, from 1.
    before : str
        Hash of the event before it in the chain; empty for the first.
    hash : str
        SHA-256 of its encoding, as 64 hexadecimal figures; see `plotter.log.events.encoding`.
    entered_utc : datetime
        When it was written down, by the desk's clock.
    received_utc : datetime
        When it came in.
    rest : str
        Everything else, as `plotter.log.events.fields` writes it.
    """

    id: str
    desk: str
    number: int
    before: str
    hash: str
    kind: Kind
    refers_to: tuple[str, ...]
    entered_utc: dt.datetime
    said_utc: dt.datetime | None
    received_utc: dt.datetime
    rest: str

    @property
    def when_utc(self) -> dt.datetime:
        """When it was said, or came in where nobody stated that."""
        return self.said_utc or self.received_utc

    @property
    def sender(self) -> str:
        """Who said it."""
        return field(self.rest, 0)

    @property
    def subject(self) -> str:
        """About whom or what."""
        return field(self.rest, 1)

    @property
    def operator(self) -> str:
        """Who wrote it down."""
        return field(self.rest, 2)

    @property
    def channel(self) -> str:
        """How it came in."""
        return field(self.rest, 3)

    @property
    def text(self) -> str:
        """As heard, unchanged."""
        return field(self.rest, 4)

    @property
    def reading(self) -> Chosen | None:
        """The reading that was chosen; None as well where its numbers are none."""
        read_as, text, *numbers = fields(self.rest)[5:10]
        try:
            lat_deg, lon_deg, size_m = map(float, numbers)
        except ValueError:
            return None
        return Chosen(read_as, text, lat_deg, lon_deg, size_m)

    @property
    def assumed(self) -> tuple[str, ...]:
        """What the reading rests on beyond the words."""
        return items(self.rest, 10)

    @property
    def problem(self) -> str:
        """Why it is kept but cannot be used."""
        return field(self.rest, 11)

    @property
    def source(self) -> Source | None:
        """Where an import took it from."""
        file, line = fields(self.rest)[12:14]
        return Source(file, int(line)) if line.isdecimal() else None


def _writable(text: str) -> str:
    """Text whose halves of surrogate pairs, which no file could hold, are written out."""
    if text.isascii():
        return text
    return text.encode("utf-8", "backslashreplace").decode()


def checked_desk(desk: str) -> str:
    """A desk's name without blanks around it.

    Raises
    ------
    LogError
        If it is empty, too long, or holds what could not be typed again.
    """
    name = desk.strip()
    if not name or len(name) > _LONGEST_DESK or not name.isprintable():
        raise LogError(
            f"{desk!r} cannot be the name of a desk: expected 1 to {_LONGEST_DESK} letters or "
            "figures, such as 'Base'"
        )
    return name
