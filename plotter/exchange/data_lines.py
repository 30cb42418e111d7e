"""Lines of receivers, packets, messages and plain words as entries, from files and streams."""

import datetime as dt
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final

from plotter.errors import FormatError
from plotter.exchange.messages import message_entry
from plotter.formats.nmea import Sentence, looks_like_a_sentence, read_sentence
from plotter.formats.packet import Packet, looks_like_a_packet, read_packet
from plotter.log.events.event import Entry, Source

__all__ = ["LineReader", "entries_of_lines"]

_MOST_KEPT: Final = 2_000
_CHANNEL_GPS, _CHANNEL_PACKET = "receiver", "packet"
_RECEIVED: Final = re.compile(
    r"\d{4}-\d{2}-\d{2}[T ]\d{2}:\d{2}(?::\d{2}(?:\.\d+)?)?(?:Z|[+-]\d{2}:?\d{2})"
)


@dataclass(slots=True)
class LineReader:
    """Takes lines one after the other, and gives the entries that they make.

    A receiver tells its place several times a second, in several sentences: of those of one second
    that say the same place one is kept, and the rest are counted.

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
    """

    name: str
    sender: str = ""
    operator: str = ""
    channel: str = ""
    near_utc: dt.datetime | None = None
    every_s: float = 0.0
    repeats: int = 0
    without_place: int = 0
    _day: dt.date | None = None
    _last: tuple[dt.time | None, float, float] | None = None
    _kept_at: dt.datetime | None = None
    _waiting: list[tuple[Sentence, str, int]] = field(default_factory=list)

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
            return [*self.finish(), self._kept(text[:_MOST_KEPT], number, why)]
        received = _RECEIVED.match(text)
        rest = text[received.end() :].lstrip(" ,;:\t") if received else text
        if looks_like_a_sentence(rest):
            return self._sentence(rest, number)
        found = self.finish()
        if looks_like_a_packet(rest):
            return [*found, *self._packet(rest, number, received[0] if received else "")]
        source = Source(self.name, number)
        message = message_entry(
            text, self.near_utc, source, operator=self.operator, channel=self.channel
        )
        if message is not None:
            return [*found, message]
        return [*found, self._entry(text, number)]

    def finish(self) -> list[Entry]:
        """What still waits: the last second of a receiver."""
        if not self._waiting:
            return []
        # The sentence that also says the day is the best witness of its second.
        best = max(self._waiting, key=lambda each: (each[0].day is not None, each[0].checked))
        self.repeats += len(self._waiting) - 1
        sentence, text, number = best
        self._waiting = []
        time = None
        if sentence.clock is not None and self._day is not None:
            time = dt.datetime.combine(self._day, sentence.clock)
        if time and self._kept_at and self.every_s:
            since = (time - self._kept_at).total_seconds()
            if 0.0 <= since < self.every_s:
                self.repeats += 1
                return []
        self._kept_at = time or self._kept_at
        return [self._entry(text, number, said_utc=time, channel=_CHANNEL_GPS)]

    def _sentence(self, text: str, number: int) -> list[Entry]:
        try:
            sentence = read_sentence(text)
        except FormatError as error:
            if "had no position" in str(error):
                self.without_place += 1
                return []
            return [*self.finish(), self._kept(text, number, str(error))]
        if sentence is None:
            self.without_place += 1
            return []
        if sentence.name:
            entry = self._entry(text, number, subject=sentence.name, channel=_CHANNEL_GPS)
            return [*self.finish(), Entry("place", entry.text, sender=entry.sender,
                    subject=entry.subject, operator=entry.operator, channel=entry.channel,
                    source=entry.source)]  # fmt: skip
        self._day = sentence.day or self._day
        centre = sentence.square.centre
        key = (sentence.clock, round(centre.lat_deg, 5), round(centre.lon_deg, 5))
        # The same second and place within a metre: figures differ from sentence to sentence.
        found = [] if self._last == key or not self._waiting else self.finish()
        self._last = key
        self._waiting.append((sentence, text, number))
        return found

    def _packet(self, text: str, number: int, received: str) -> list[Entry]:
        near = dt.datetime.fromisoformat(received) if received else self.near_utc
        try:
            packet = read_packet(text)
        except FormatError as error:
            return [self._kept(text, number, str(error), channel=_CHANNEL_PACKET)]
        time = _packet_time(packet.time, near) or (near if received else None)
        if packet.kind == "message":
            return [
                self._entry(
                    packet.words, number, sender=packet.sender, channel=_CHANNEL_PACKET,
                    said_utc=time,
                )
            ]  # fmt: skip
        if packet.square is None:
            return [
                Entry("note", text, sender=packet.sender, operator=self.operator, said_utc=time,
                      channel=self.channel or _CHANNEL_PACKET, source=Source(self.name, number))
            ]  # fmt: skip
        return [self._placed(packet, text, number, time)]

    def _placed(self, packet: Packet, text: str, number: int, time: dt.datetime | None) -> Entry:
        if packet.gone:
            return Entry("note", f"no longer there: {text}", sender=packet.sender,
                         subject=packet.name, operator=self.operator, said_utc=time,
                         channel=self.channel or _CHANNEL_PACKET,
                         source=Source(self.name, number))  # fmt: skip
        return self._entry(
            text, number, sender=packet.sender, subject=packet.name, said_utc=time,
            channel=_CHANNEL_PACKET,
        )  # fmt: skip

    def _entry(
        self,
        text: str,
        number: int,
        *,
        sender: str = "",
        subject: str = "",
        said_utc: dt.datetime | None = None,
        channel: str = "",
        problem: str = "",
    ) -> Entry:
        return Entry(
            "report",
            text,
            sender=sender or self.sender or self.name,
            subject=subject,
            operator=self.operator,
            channel=self.channel or channel,
            said_utc=said_utc,
            problem=problem,
            source=Source(self.name, number),
        )

    def _kept(self, text: str, number: int, why: str, channel: str = "") -> Entry:
        return self._entry(text, number, problem=why, channel=channel)


def entries_of_lines(lines: Iterable[tuple[int, str, bool]], reader: LineReader) -> list[Entry]:
    """All entries of the lines of a file."""
    entries: list[Entry] = []
    for number, line, cut in lines:
        entries += reader.take(number, line, cut=cut)
    return entries + reader.finish()


def _packet_time(text: str, near: dt.datetime | None) -> dt.datetime | None:
    """Time of a packet beside when it came in; the local ones are of an unknown zone."""
    if near is None or not re.fullmatch(r"\d{6}[zh]", text):
        return None
    first, second, third = (int(text[i : i + 2]) for i in (0, 2, 4))
    found = []
    for days in range(-31, 32) if text[6] == "z" else (-1, 0, 1):
        day = (near + dt.timedelta(days=days)).date()
        try:
            if text[6] == "z":
                clock, right = dt.time(second, third, tzinfo=dt.UTC), day.day == first
            else:
                clock, right = dt.time(first, second, third, tzinfo=dt.UTC), True
        except ValueError:
            return None
        if right:
            found.append(dt.datetime.combine(day, clock))
    return min(found, key=lambda time: abs(time - near), default=None)
