"""A receiver's sentences as entries: one a second and place, with the day and datum that they say.

A receiver tells its place several times a second, in several sentences. Those of one second are
held until the second is done: only then is it known whether one of them says the day.
"""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

from plotter.errors import FormatError
from plotter.exchange.tally import Tally
from plotter.formats.nmea import Sentence, read_datum, read_day, read_sentence
from plotter.geodesy.datum import WGS84_EPSG
from plotter.log.events.event import Entry

__all__ = ["Made", "Receiver"]

Made = Callable[..., Entry]
"""Makes an entry of a text and the number of its line."""

_CHANNEL: Final = "receiver"
# A day that was said is carried on to seconds that do not say theirs, no further than this.
_CARRIED: Final = dt.timedelta(hours=1)
_HALF_A_DAY: Final = dt.timedelta(hours=12)
# The receivers' count of weeks runs over after so many, and old ones fall back by as much.
_ROLLOVER: Final = dt.timedelta(weeks=1024)
_FAR_BACK: Final = dt.timedelta(weeks=512)


@dataclass(slots=True)
class _Held:
    """A sentence that waits for the end of its second."""

    sentence: Sentence
    text: str
    number: int
    epsg: int


@dataclass(slots=True)
class Receiver:
    """Takes sentences one after the other, and gives the entries that they make.

    Parameters
    ----------
    made : callable
        Makes an entry of a text, the number of its line, and fields of `Entry`.
    tally : Tally
        Counts what is not kept.
    every_s : float
        Least time between two positions that are kept; 0 keeps every second.
    near_utc : datetime or None
        When the sentences come in: tells a day of long ago from one whose weeks ran over.
    """

    made: Made
    tally: Tally
    every_s: float = 0.0
    near_utc: dt.datetime | None = None
    _epsg: int | FormatError = WGS84_EPSG
    _held: list[_Held] = field(default_factory=list)
    _clock: dt.time | None = None
    _day: dt.date | None = None
    _known: dt.datetime | None = None
    _kept_at: dt.datetime | None = None
    _done: set[tuple[float, float]] = field(default_factory=set)

    def take(self, text: str, number: int) -> list[Entry]:
        """Entries of one sentence; of the second before where a new one begins.

        Raises
        ------
        FormatError
            If it cannot be read.
        """
        kind = text[1:].partition(",")[0][-3:]
        if kind == "DTM":
            try:
                self._epsg = read_datum(text) or WGS84_EPSG
            except FormatError as error:
                self._epsg = error  # of no position after it is known where it is
                raise
            self.tally.take("sentences that say a datum")
            return []
        if kind == "ZDA":
            return self._zda(text)
        try:
            sentence = read_sentence(text)
        except FormatError as error:
            if "had no position" not in str(error):
                raise
            sentence = None
        if sentence is None:
            self.tally.leave("sentences without a position")
            return []
        if sentence.whose != "receiver":
            return [*self.finish(), self._other(sentence, text, number)]
        if isinstance(self._epsg, FormatError):
            return [*self.finish(), self.made(text, number, problem=str(self._epsg))]
        held = _Held(sentence, text, number, self._epsg)
        found = self._new_second(sentence.clock)
        # Without a time the second is over where the place is another.
        if sentence.clock is None and self._held and _place(self._held[-1]) != _place(held):
            found = self.finish()
            self._clock = self._day = None
        self._day = sentence.day or self._day
        self._held.append(held)
        return found

    def finish(self) -> list[Entry]:
        """What still waits: the last second, which may not be over."""
        time, assumed = self._time()
        entries = []
        by_place: dict[tuple[float, float], list[_Held]] = {}
        for each in self._held:
            by_place.setdefault(_place(each), []).append(each)
        self._held = []
        for place, same in by_place.items():
            if self._clock is not None and place in self._done:
                self.tally.leave(_REPEATS, len(same))
                continue
            self._done.add(place)
            self.tally.leave(_REPEATS, len(same) - 1)
            entries += self._kept(_best(same), time, assumed)
        return entries

    def _new_second(self, clock: dt.time | None) -> list[Entry]:
        """Entries of the second before, where another begins."""
        if clock is None or clock == self._clock:
            return []
        found = self.finish()
        self._clock, self._day, self._done = clock, None, set()
        return found

    def _zda(self, text: str) -> list[Entry]:
        said = read_day(text)
        if said is None:
            self.tally.leave("sentences without a position")
            return []
        found = self._new_second(said[0])
        self._day = said[1]
        self.tally.take("sentences that say the day")
        return found

    def _time(self) -> tuple[dt.datetime | None, tuple[str, ...]]:
        """When the held second was, by its own day or the last one that was said before it."""
        if self._clock is None:
            return None, ()
        if self._day is not None:
            time, assumed = self._turned(dt.datetime.combine(self._day, self._clock))
            self._known = time
            return time, assumed
        if self._known is None:
            return None, ()
        time = dt.datetime.combine(self._known.date(), self._clock)
        if self._known - time > _HALF_A_DAY:
            time += dt.timedelta(days=1)
        if not -_CARRIED < time - self._known < _CARRIED:
            return None, ()
        self._known = max(time, self._known)
        return time, ()

    def _turned(self, time: dt.datetime) -> tuple[dt.datetime, tuple[str, ...]]:
        """A time whose weeks ran over as it must have been, and what that rests on."""
        if self.near_utc is None or self.near_utc - time < _FAR_BACK:
            return time, ()
        weeks = round((self.near_utc - time) / _ROLLOVER) * 1024
        self.tally.take("places dated 1024 weeks or a multiple back: ask for the day")
        right = time + dt.timedelta(weeks=weeks)
        why = (
            f"the day is {right:%Y-%m-%d}, {weeks} weeks after the {time:%Y-%m-%d} that the "
            "receiver says: its count of weeks has run over"
        )
        return right, (why,)

    def _kept(self, held: _Held, time: dt.datetime | None, assumed: tuple[str, ...]) -> list[Entry]:
        if time and self._kept_at and self.every_s:
            since = (time - self._kept_at).total_seconds()
            if 0.0 <= since < self.every_s:
                self.tally.leave("places sooner after another than was asked for")
                return []
        self._kept_at = time or self._kept_at
        text = held.text
        if held.epsg != WGS84_EPSG:
            text = f"{_stated(held.sentence, held.epsg)} {text}"
        if time:
            self.tally.take("positions with a time")
        else:
            self.tally.take("positions without a time of their own")
        if held.sentence.doubts:
            self.tally.take("positions that are no plain fix: asked about")
        return [self.made(text, held.number, said_utc=time, channel=_CHANNEL, assumed=assumed)]

    def _other(self, sentence: Sentence, text: str, number: int) -> Entry:
        """A place that is not the receiver's own."""
        if isinstance(self._epsg, FormatError):
            return self.made(text, number, problem=str(self._epsg))
        where = text
        if self._epsg != WGS84_EPSG:
            where = f"{_stated(sentence, self._epsg)} {text}"
        if sentence.whose == "unknown":
            self.tally.take("places in sentences of unknown kinds, as notes")
            return self.made(f"note {where}", number, kind="note", channel=_CHANNEL)
        self.tally.take("named places")
        name = sentence.name or f"waypoint {number}"
        return self.made(f"place {where}", number, kind="place", subject=name, channel=_CHANNEL)


_REPEATS: Final = "sentences that repeat a place and time"


def _place(held: _Held) -> tuple[float, float]:
    """The place within a metre: figures differ from sentence to sentence."""
    centre = held.sentence.square.centre
    return round(centre.lat_deg, 5), round(centre.lon_deg, 5)


def _best(same: list[_Held]) -> _Held:
    """The best witness of a second: one that says a doubt, then the day, then has a checksum."""
    return max(
        same,
        key=lambda each: (
            bool(each.sentence.doubts), each.sentence.day is not None, each.sentence.checked,
        ),
    )  # fmt: skip


def _stated(sentence: Sentence, epsg: int) -> str:
    """The place of a sentence in a form that says its datum: the same figures."""
    lat, north, lon, east = sentence.place
    signs = ("-" if north == "S" else "+", "-" if east == "W" else "+")
    return f"{signs[0]}{lat.rstrip('.')}{signs[1]}{lon.rstrip('.')}CRSEPSG:{epsg}/"
