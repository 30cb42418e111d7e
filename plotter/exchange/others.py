"""Things in files of others as entries: their places as they are stated, with all their words.

A point with a time is somebody's position then; without one it is a named place. Lines and areas
are kept as notes with their whole geometry as well-known text; an area whose file says that it was
searched, ruled out or likely is ground. Nothing here reads a number as anything but what it is.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

from plotter.errors import FormatError
from plotter.exchange.tally import Tally
from plotter.exchange.times import time_said
from plotter.formats.stated import MOST_DECIMALS, decimal_of, stated_text
from plotter.geodesy.datum import WGS84_EPSG
from plotter.log.events.event import Entry, Source

__all__ = ["Pair", "Thing", "entries_of_things", "words_of_fields"]

Pair = tuple[str, str]
"""Latitude and longitude, degrees, the figures as they stand in the file."""

_MOST_WORDS: Final = 20_000
_MOST_OUTLINE: Final = 400_000
_MOST_CORNERS_OF_GROUND: Final = 300
_GROUND: Final = re.compile(
    r"\s*(?P<what>ruled\s+out|searched|likely)"
    r"(?:[\s:,]+(?P<figure>\d+(?:\.\d+)?\s*(?:%|per\s*cent|times)))?\s*",
    re.IGNORECASE | re.ASCII,
)


@dataclass(frozen=True, slots=True)
class Thing:
    """One geometry of a file with what the file says about it.

    Parameters
    ----------
    number : int
        Its place in the file, from 1.
    shape : {"point", "line", "area", "none"}
        What it is.
    rings : tuple of tuple of Pair
        One place of a point, the corners of a line, the rings of an area, the outer one first.
    name, sender, time : str
        As they stand there; may be empty.
    words : str
        Everything else that is said of it.
    says : tuple of str
        Texts of the file that may say that an area was searched.
    epsg : int
        Of the geographic system of its places.
    height : str
        Above the ellipsoid, metres; empty where there is none.
    good_to_m : float or None
        How far its places may be off.
    times_are_utc : bool
        Whether the file's format says that a time without a zone is UTC.
    problem : str
        Why its place cannot be used.
    assumed : tuple of str
        What its place rests on beyond the file.
    """

    number: int
    shape: Literal["point", "line", "area", "none"]
    rings: tuple[tuple[Pair, ...], ...] = ()
    name: str = ""
    sender: str = ""
    time: str = ""
    words: str = ""
    says: tuple[str, ...] = ()
    epsg: int = WGS84_EPSG
    height: str = ""
    good_to_m: float | None = None
    times_are_utc: bool = True
    problem: str = ""
    assumed: tuple[str, ...] = ()


def words_of_fields(fields: Sequence[tuple[str, str]]) -> str:
    """Fields of a file as words: the text alone where the field only holds a text."""
    said = ((key.strip(), value.strip()) for key, value in fields)
    plain = {"", "cmt", "desc", "description"}
    return "; ".join(
        value if key.lower() in plain else f"{key} {value}" for key, value in said if value
    )


def entries_of_things(things: Sequence[Thing], file: str, sender: str, tally: Tally) -> list[Entry]:
    """Entries of everything in a file of others.

    A writer drops zeros at the end: how fine the places are is seen from the whole file.

    Parameters
    ----------
    things : sequence of Thing
        In order.
    file : str
        Its name.
    sender : str
        Who is taken to have said what names nobody.
    tally : Tally
        Counts what is taken and left.

    Returns
    -------
    list of Entry
        A place that cannot be is among them, with the reason.
    """
    finest: dict[int, int] = {}
    for thing in things:
        for ring in thing.rings:
            for pair in ring:
                exact = max(map(_decimals, pair))
                finest[thing.epsg] = max(finest.get(thing.epsg, 0), min(exact, MOST_DECIMALS))
                tally.take(_ROUNDED, int(exact > MOST_DECIMALS))
    return [
        _entry(thing, Source(file, thing.number), sender, finest.get(thing.epsg, 0), tally)
        for thing in things
    ]


_ROUNDED: Final = "places written to 9 of their more than 9 decimals"


def _decimals(figures: str) -> int:
    value = decimal_of(figures)
    exponent = value.as_tuple().exponent if value is not None else 0
    return max(0, -exponent) if isinstance(exponent, int) else 0


def _entry(thing: Thing, source: Source, sender: str, decimals: int, tally: Tally) -> Entry:
    words = _cut(thing.words, tally)
    tally.take("descriptions and other words", int(bool(words) and thing.shape != "none"))
    who = thing.sender or sender
    if thing.problem:
        return _unread(thing, source, who, words, thing.problem, tally)
    try:
        if thing.shape == "point":
            return _point(thing, source, who, words, decimals, tally)
        if thing.shape == "none":
            tally.take("notes")
            text = f"note {thing.name}: {words}" if thing.name else f"note {words}"
            return Entry("note", text.strip(), sender=who, subject=thing.name, source=source)
        if thing.shape == "area" and (ground := _ground(thing, decimals)):
            tally.take("areas as ground")
            return Entry("report", ground, sender=who, assumed=thing.assumed, source=source)
        return _drawn(thing, source, who, words, decimals, tally)
    except FormatError as error:
        return _unread(thing, source, who, words, str(error), tally)


def _point(
    thing: Thing, source: Source, who: str, words: str, decimals: int, tally: Tally
) -> Entry:
    text = _stated(thing, thing.rings[0][0], decimals, words)
    time, problem, assumed = (None, "", "")
    if thing.time:
        time, problem, assumed = time_said(thing.time, utc=thing.times_are_utc)
    rests = (*thing.assumed, assumed) if assumed else thing.assumed
    if time is None and not problem:
        tally.take("named places" if thing.name else "places without a name, called by number")
        name = thing.name or f"point {thing.number} of {source.file}"
        return Entry("place", f"place {text}", sender=who, subject=name, assumed=rests,
                     source=source)  # fmt: skip
    tally.take("kept unread, with the reason" if problem else "positions with a time")
    return Entry("report", text, sender=who, subject=thing.name, said_utc=time, problem=problem,
                 assumed=rests, source=source)  # fmt: skip


def _unread(thing: Thing, source: Source, who: str, words: str, why: str, tally: Tally) -> Entry:
    tally.take("kept unread, with the reason")
    places = "; ".join(" ".join(pair) for ring in thing.rings[:1] for pair in ring[:8])
    said = f"latitude and longitude {places}" if places else ""
    text = "; ".join(filter(None, (said, words))) or thing.name or "nothing is said"
    return Entry("report", text, sender=who, subject=thing.name, problem=why, source=source)


def _drawn(
    thing: Thing, source: Source, who: str, words: str, decimals: int, tally: Tally
) -> Entry:
    """A line or an area as a note with all its corners."""
    rings = [", ".join(" ".join(_lon_lat(pair, decimals)) for pair in ring) for ring in thing.rings]
    on = "WGS 84" if thing.epsg == WGS84_EPSG else f"EPSG:{thing.epsg}"
    if thing.shape == "line":
        outline = f"LINESTRING ({rings[0]})"
    else:
        outline = f"POLYGON ({', '.join(f'({ring})' for ring in rings)})"
    tally.take(f"{thing.shape}s, as notes with their geometry")
    if len(outline) > _MOST_OUTLINE:
        tally.leave(f"ends of {thing.shape}s with too many corners")
        outline = f"{outline[:_MOST_OUTLINE]} ... (the rest is left out)"
    good = f"good to {thing.good_to_m:g} m" if thing.good_to_m is not None else ""
    where = f"{outline}, longitude first, on {on}"
    said = "; ".join(filter(None, (thing.name, words, thing.time, good, where)))
    return Entry("note", f"note {thing.shape}: {said}", sender=who, subject=thing.name,
                 assumed=thing.assumed, source=source)  # fmt: skip


def _ground(thing: Thing, decimals: int) -> str:
    """An area as ground, in the words of a report; empty where the file does not say so."""
    found = next((match for each in thing.says if (match := _GROUND.fullmatch(each))), None)
    corners = thing.rings[0][:-1] if thing.rings[0][:1] == thing.rings[0][-1:] else thing.rings[0]
    if found is None or len(thing.rings) > 1 or not 3 <= len(corners) <= _MOST_CORNERS_OF_GROUND:
        return ""
    what = " ".join(found["what"].lower().split())
    if (what == "ruled out") == bool(found["figure"]):
        return ""  # how well it was searched, or how much likelier it is, is not said
    places = "; ".join(_stated(thing, pair, decimals) for pair in corners)
    return f"{what} inside {places}" + (f" {found['figure']}" if found["figure"] else "")


def _stated(thing: Thing, pair: Pair, decimals: int, words: str = "") -> str:
    lat, lon = _numbers(pair)
    height = decimal_of(thing.height) if thing.height else None
    if height is not None and abs(height) > 1_000_000:
        height, words = None, f"height {thing.height}; {words}"
    return stated_text(
        lat, lon, decimals, epsg=thing.epsg, height_m=height, good_to_m=thing.good_to_m,
        words=words,
    )  # fmt: skip


def _numbers(pair: Pair) -> tuple[Decimal, Decimal]:
    lat, lon = map(decimal_of, pair)
    if lat is None or lon is None:
        raise FormatError(
            f"{pair[0]!r}, {pair[1]!r} are no latitude and longitude: expected two numbers"
        )
    return lat, lon


def _lon_lat(pair: Pair, decimals: int) -> tuple[str, str]:
    lat, lon = _numbers(pair)
    if not (abs(lat) <= 90 and abs(lon) <= 360):
        raise FormatError(f"latitude {pair[0]!r}, longitude {pair[1]!r} is no place on earth")
    return f"{lon:.{decimals}f}", f"{lat:.{decimals}f}"


def _cut(words: str, tally: Tally) -> str:
    if len(words) <= _MOST_WORDS:
        return words.strip()
    tally.leave("ends of descriptions that are too long")
    return f"{words[:_MOST_WORDS].strip()} ... (the rest is left out)"
