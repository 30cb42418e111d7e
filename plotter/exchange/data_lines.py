"""Lines of receivers, packets, messages and plain words as entries, from files and streams."""

import datetime as dt
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final

from plotter.exchange.messages import Parts, Whole, message_entry
from plotter.exchange.packets import packet_entries
from plotter.exchange.receiver import Receiver
from plotter.exchange.tally import Tally
from plotter.exchange.times import time_said
from plotter.formats.nmea import looks_like_a_sentence
from plotter.formats.packet import looks_like_a_packet
from plotter.log.events.event import Entry, Kind, Source

__all__ = ["LineReader", "entries_of_lines"]

_MOST_KEPT: Final = 2_000
_RECEIVED: Final = re.compile(
    r"\d{4}-\d{2}-\d{2}[T ]\d{2}:\d{2}(?::\d{2}(?:\.\d+)?)?(?:Z|[+-]\d{2}:?\d{2})", re.ASCII
)


@dataclass(slots=True)
class LineReader:
    """Takes lines one after the other, and gives the entries that they make.

    No line stops it: what cannot be read is an entry with its reason.

    Parameters
    ----------
    name : str
        Of the file or stream.
    sender : str
        Who is taken to have said what does not say so; the name unless given.
    operator, channel : str
        For entries that do not say.
    near_utc : datetime or None
        When the lines come in: completes the day of packets and messages.
    every_s : float
        Least time between two positions of a receiver that are kept; 0 keeps one a second.
    stream : bool
        Whether lines come as they are said: then a part of a long message is written down at once,
        and again as a whole when all are there.
    """

    name: str
    sender: str = ""
    operator: str = ""
    channel: str = ""
    near_utc: dt.datetime | None = None
    every_s: float = 0.0
    stream: bool = False
    tally: Tally = field(default_factory=Tally)
    _receiver: Receiver = field(init=False)
    _parts: Parts = field(init=False)

    def __post_init__(self) -> None:
        """Make what takes sentences, and what puts parts together."""
        self._parts = Parts(self.tally)
        self._receiver = Receiver(self._made, self.tally, self.every_s)

    def take(self, number: int, line: str, *, cut: bool = False) -> list[Entry]:
        """Entries of one line; an empty list where it adds nothing.

        Parameters
        ----------
        number : int
            Of the line, from 1.
        line : str
            Without its end.
        cut : bool
            Whether it was longer than anything that is a report.
        """
        text = line.strip()
        if not text:
            return []
        if cut or len(text) > _MOST_KEPT:
            why = f"the line is longer than {_MOST_KEPT} characters: its beginning is kept"
            return [*self._second_done(), self._kept(text[:_MOST_KEPT], number, why)]
        try:
            return self._taken(text, number)
        except (ValueError, ArithmeticError, LookupError, RecursionError) as error:
            # One bad line stops nothing, a stream least of all.
            return [*self._second_done(), self._kept(text, number, str(error))]

    def finish(self) -> list[Entry]:
        """What still waits: the last second of a receiver, in a file parts of messages too."""
        entries = self._second_done()
        if not self.stream:
            for whole in self._parts.finish():
                entries += self._message(whole)
        return entries

    def end(self) -> list[Entry]:
        """What still waits when a stream is followed no longer; a missing part is counted."""
        entries = self.finish()
        if self.stream:
            missing = "messages of which a part did not come in: see its other parts"
            self.tally.leave(missing, self._parts.unfinished)
        return entries

    def look_through(self, lines: Iterable[tuple[int, str]]) -> None:
        """Look through all lines of a file for long messages that cannot be told apart."""
        self._parts.look_through(lines)

    def _second_done(self) -> list[Entry]:
        return self._receiver.finish()

    def _taken(self, text: str, number: int) -> list[Entry]:
        received = _RECEIVED.match(text)
        rest = text[received.end() :].lstrip(" ,;:\t") if received else text
        near = self.near_utc
        if looks_like_a_sentence(rest) or looks_like_a_packet(rest):
            stamp, problem, _ = time_said(received[0]) if received else (None, "", "")
            if problem:
                return [*self._second_done(), self._kept(text, number, problem)]
            near = stamp or near
            if looks_like_a_sentence(rest):
                self._receiver.near_utc = near
                return self._receiver.take(rest, number)
            made = packet_entries(rest, number, near, stamp, self._made, self.tally)
            return [*self._second_done(), *made]
        found = self._second_done()
        for whole in self._parts.take(number, text, at_once=self.stream):
            found += self._message(whole)
        return found

    def _message(self, whole: Whole) -> list[Entry]:
        """A message, or plain words."""
        source = Source(self.name, whole.number)
        assumed = (whole.assumed,) if whole.assumed else ()
        self.tally.take("messages put together from parts", int(whole.parts > 1))
        self.tally.take("parts of messages that are not whole, as notes", int(whole.lone))
        message = message_entry(
            whole.text, self.near_utc, source, operator=self.operator, channel=self.channel,
            assumed=assumed,
        )  # fmt: skip
        if message is not None:
            self.tally.take("messages", int(not whole.lone))
            return [message]
        self.tally.take("lines of plain words")
        return [self._made(whole.text, whole.number, assumed=assumed)]

    def _made(
        self,
        text: str,
        number: int,
        *,
        kind: Kind = "report",
        sender: str = "",
        subject: str = "",
        said_utc: dt.datetime | None = None,
        channel: str = "",
        problem: str = "",
        assumed: tuple[str, ...] = (),
    ) -> Entry:
        self.tally.take("lines kept unread, with the reason", int(bool(problem)))
        return Entry(
            kind,
            text,
            sender=sender or self.sender or self.name,
            subject=subject,
            operator=self.operator,
            channel=self.channel or channel,
            said_utc=said_utc,
            assumed=assumed,
            problem=problem,
            source=Source(self.name, number),
        )

    def _kept(self, text: str, number: int, why: str) -> Entry:
        return self._made(text, number, problem=why or "it cannot be read")


def entries_of_lines(lines: Iterable[tuple[int, str, bool]], reader: LineReader) -> list[Entry]:
    """All entries of the lines of a file."""
    entries: list[Entry] = []
    for number, line, cut in lines:
        entries += reader.take(number, line, cut=cut)
    return entries + reader.finish()
