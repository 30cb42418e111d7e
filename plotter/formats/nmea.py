"""Sentences of a satellite receiver, NMEA 0183: the position in any that carries one."""

import datetime as dt
import re
from dataclasses import dataclass
from typing import Final, Literal

from plotter.errors import FormatError
from plotter.formats.squares import graticule_square
from plotter.geodesy.position import Square

__all__ = ["Sentence", "looks_like_a_sentence", "read_datum", "read_day", "read_sentence"]

_SHAPE: Final = re.compile(r"[$!]([A-Z]{1,2}[A-Z0-9]{3,6}),([^*]*)(?:\*([0-9A-Fa-f]{2}))?")
_PLACE: Final = re.compile(r"(\d{2})(\d\d(?:\.\d*)?),([NS]),(\d{3})(\d\d(?:\.\d*)?),([EW])(?=,|$)")
# Degrees and minutes in one number, with or without a side behind them.
_BEGUN: Final = re.compile(r"(?:^|,)(?:\d{3,5}\.\d+,[NSEW]?|[^,]*,[NSEW])(?=,|$)")
_CLOCK: Final = re.compile(r"([0-2]\d)([0-5]\d)([0-5]\d)(?:\.(\d+))?")
# Field of the time, counted from 1 after the name; where it stands in each kind of sentence.
_TIME_FIELD: Final = {"GGA": 1, "RMC": 1, "GNS": 1, "GLL": 5, "BWC": 1, "BWR": 1}
_DATE_FIELD: Final = {"RMC": 9}
# Sentences about another place than the receiver's, and where its name stands.
_NAME_FIELD: Final = {"WPL": 5, "BWC": 12, "BWR": 12, "BEC": 12, "RMB": 5, "TLL": 6}
_OWN: Final = frozenset({"GGA", "RMC", "GLL", "GNS", "RMA"})
# Field that says whether the receiver had a position at all, and what it says where it had none.
_NO_FIX: Final = {
    "RMC": ((2, "V"), (12, "N")), "GLL": ((6, "V"), (7, "N")), "GGA": ((6, "0"),),
    "RMA": ((1, "V"),), "GNS": ((6, ""), (6, "N"), (6, "NN"), (6, "NNN"), (6, "NNNN")),
}  # fmt: skip
# Field of the mode, and what it rests on where it is no plain fix.
_MODE_FIELD: Final = {"RMC": 12, "GLL": 7, "GGA": 6, "GNS": 6}
_MODES: Final = {
    "S": "that the fix is real, though the receiver says that it simulates",
    "M": "that the place typed into the receiver is right",
    "E": "that the receiver's dead reckoning is right, as it had no fix",
}
_QUALITIES: Final = {"8": "S", "7": "M", "6": "E"}
# Codes of datums in a DTM sentence, as EPSG has them; 999 is a user's own.
_DATUM_CODES: Final = {
    "W84": 4326, "W72": 4322, "P90": 4740, "NAS": 4267, "NAR": 4269, "EUR": 4230, "OGB": 4277,
    "TOY": 4301, "AUA": 4202, "AUG": 4203, "GEO": 4272, "SAN": 4618, "PRP": 4248,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Sentence:
    """A sentence with a position.

    Parameters
    ----------
    kind : str
        Three letters: "GGA", "RMC", "WPL" ...
    square : Square
        As large as one unit of its last figure.
    name : str
        Of a waypoint; empty where it has none.
    clock : time or None
        UTC, where it says so.
    day : date or None
        Where it says so.
    checked : bool
        Whether it had a checksum; a wrong one is an error.
    whose : {"receiver", "waypoint", "unknown"}
        Whose place it is; unknown for kinds of sentences that are not known here.
    doubts : tuple of str
        What the place rests on, where the receiver says that it has no plain fix.
    place : tuple of str
        Latitude, N or S, longitude, E or W, as they stand there.
    """

    kind: str
    square: Square
    name: str
    clock: dt.time | None
    day: dt.date | None
    checked: bool
    whose: Literal["receiver", "waypoint", "unknown"] = "receiver"
    doubts: tuple[str, ...] = ()
    place: tuple[str, ...] = ()


def looks_like_a_sentence(text: str) -> bool:
    """Whether a text has the shape of a sentence, whatever it carries."""
    return text[:1] in "$!" and _SHAPE.match(text) is not None


def read_sentence(text: str) -> Sentence | None:
    """Read the position of a sentence.

    Parameters
    ----------
    text : str
        One sentence, from its ``$``.

    Returns
    -------
    Sentence or None
        None for a sentence that carries no position (satellites, headings ...).

    Raises
    ------
    FormatError
        If it is no sentence, its checksum is wrong, or the receiver had no fix.

    Source
    ------
    NMEA 0183 as commonly published (the standard itself is not free): fields, checksum.

    Examples
    --------
    >>> read_sentence("$GPGLL,4916.45,N,12311.12,W,225444,A,*1D").kind
    'GLL'
    """
    kind, body, fields, checked = _taken_apart(text)
    place = _PLACE.search(body)
    if any(len(fields) > where and fields[where] == no for where, no in _NO_FIX.get(kind, ())):
        raise FormatError(f"{text!r}: the receiver had no position; wait for one", text)
    if place is None:
        if _BEGUN.search(body) and kind in _OWN:
            raise FormatError(
                f"{text!r} has figures of a place, but not a whole one: some of it was lost; take "
                "the next sentence",
                text,
            )
        return None
    lat, lat_unit = _angle(place[1], place[2], place[3], 90.0, text)
    lon, lon_unit = _angle(place[4], place[5], place[6], 180.0, text)
    return Sentence(
        kind,
        graticule_square(lat, lon, lat_unit, lon_unit),
        _field(fields, _NAME_FIELD.get(kind)),
        _time(_field(fields, _TIME_FIELD.get(kind))),
        _date(_field(fields, _DATE_FIELD.get(kind))),
        checked,
        "receiver" if kind in _OWN else "waypoint" if kind in _NAME_FIELD else "unknown",
        _doubts(kind, fields),
        (place[1] + place[2], place[3], place[4] + place[5], place[6]),
    )


def read_day(text: str) -> tuple[dt.time, dt.date] | None:
    """The second and the day of a ZDA sentence; None for any other, or where it has none.

    Raises
    ------
    FormatError
        If its checksum is wrong, or there is no such day.
    """
    kind, _, fields, _ = _taken_apart(text)
    if kind != "ZDA" or len(fields) < 5 or not fields[1]:
        return None
    clock = _time(fields[1])
    try:
        day = dt.date(int(fields[4]), int(fields[3]), int(fields[2]))
    except ValueError as error:
        if not any(fields[2:5]):
            return None
        raise FormatError(f"{text!r} has no day that can be ({error})", text) from error
    return (clock, day) if clock is not None else None


def read_datum(text: str) -> int | None:
    """EPSG code of the datum that a DTM sentence sets for those after it; None for others.

    Raises
    ------
    FormatError
        If its checksum is wrong, or it names a datum that is not known.

    Source
    ------
    NMEA 0183 as commonly published; three-letter codes of the former US mapping agency (TR 8350.2),
    from memory.
    """
    kind, _, fields, _ = _taken_apart(text)
    if kind != "DTM":
        return None
    code = fields[1].strip().upper()
    if code not in _DATUM_CODES:
        raise FormatError(
            f"{text!r}: positions are on the datum {code or 'without a name'!r}, which is not "
            "known: set the receiver to WGS 84",
            text,
        )
    return _DATUM_CODES[code]


def _taken_apart(text: str) -> tuple[str, str, list[str], bool]:
    """Kind, body and fields (from 1) of a sentence, and whether it had a checksum."""
    match = _SHAPE.fullmatch(text.strip())
    if match is None:
        raise FormatError(
            f"{text!r} is no whole sentence: expected $, letters, fields and * with two figures",
            text,
        )
    head, body, said = match.groups()
    if said is not None:
        _check(text, f"{head},{body}", said)
    return head[-3:], body, ["", *body.split(",")], said is not None


def _doubts(kind: str, fields: list[str]) -> tuple[str, ...]:
    """What a place rests on by the mode of the receiver, the gravest first."""
    mode = _field(fields, _MODE_FIELD.get(kind))
    if kind == "GGA":
        mode = _QUALITIES.get(mode, "")
    return tuple(why for letter, why in _MODES.items() if letter in mode)


def _check(text: str, body: str, said: str) -> None:
    total = 0
    for byte in body.encode("latin-1", errors="replace"):
        total ^= byte
    if total != int(said, 16):
        raise FormatError(
            f"{text!r}: its checksum is {said}, but its characters give {total:02X}: some were "
            "lost or changed; take the next sentence",
            text,
        )


def _angle(degrees: str, minutes: str, side: str, most: float, text: str) -> tuple[float, float]:
    """Degrees and the size of one unit of the last figure, degrees."""
    if float(minutes) >= 60.0 or int(degrees) + float(minutes) / 60.0 > most:
        raise FormatError(f"{degrees} degrees {minutes} minutes in {text!r} cannot be", text)
    value = int(degrees) + float(minutes) / 60.0
    decimals = len(minutes.partition(".")[2])
    return (-value if side in "SW" else value), 10.0**-decimals / 60.0


def _field(fields: list[str], number: int | None) -> str:
    return fields[number].strip() if number is not None and number < len(fields) else ""


def _time(text: str) -> dt.time | None:
    match = _CLOCK.fullmatch(text)
    if match is None:
        return None
    hour, minute, second, fraction = match.groups()
    if int(hour) > 23:
        return None
    micro = int(((fraction or "0") + "000000")[:6])
    return dt.time(int(hour), int(minute), int(second), micro, tzinfo=dt.UTC)


def _date(text: str) -> dt.date | None:
    """Day, month and two figures of the year: 80 and above are of the last century."""
    if not re.fullmatch(r"\d{6}", text):
        return None
    year = int(text[4:])
    try:
        return dt.date(year + (1900 if year >= 80 else 2000), int(text[2:4]), int(text[:2]))
    except ValueError:
        return None
