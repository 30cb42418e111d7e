"""Sentences of a satellite receiver, NMEA 0183: the position in any that carries one."""

import datetime as dt
import re
from dataclasses import dataclass
from typing import Final

from plotter.errors import FormatError
from plotter.formats.squares import graticule_square
from plotter.geodesy.position import Square

__all__ = ["Sentence", "looks_like_a_sentence", "read_sentence"]

_SHAPE: Final = re.compile(r"[$!]([A-Z]{1,2}[A-Z0-9]{3,6}),([^*]*)(?:\*([0-9A-Fa-f]{2}))?")
_PLACE: Final = re.compile(r"(\d{2})(\d\d(?:\.\d*)?),([NS]),(\d{3})(\d\d(?:\.\d*)?),([EW])(?=,|$)")
_CLOCK: Final = re.compile(r"([0-2]\d)([0-5]\d)([0-5]\d)(?:\.(\d+))?")
# Field of the time, counted from 1 after the name; where it stands in each kind of sentence.
_TIME_FIELD: Final = {"GGA": 1, "RMC": 1, "GNS": 1, "GLL": 5, "BWC": 1, "BWR": 1}
_DATE_FIELD: Final = {"RMC": 9}
_NAME_FIELD: Final = {"WPL": 5, "BWC": 12, "BWR": 12}
# Field that says whether the receiver had a position at all, and what it says where it had none.
_NO_FIX: Final = {"RMC": (2, "V"), "GLL": (6, "V"), "GGA": (6, "0"), "RMA": (1, "V")}


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
        Of a waypoint; empty for the receiver's own place.
    clock : time or None
        UTC, where it says so.
    day : date or None
        Where it says so.
    checked : bool
        Whether it had a checksum; a wrong one is an error.
    """

    kind: str
    square: Square
    name: str
    clock: dt.time | None
    day: dt.date | None
    checked: bool


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
    match = _SHAPE.fullmatch(text.strip())
    if match is None:
        raise FormatError(
            f"{text!r} is no whole sentence: expected $, letters, fields and * with two figures",
            text,
        )
    head, body, said = match.groups()
    if said is not None:
        _check(text, f"{head},{body}", said)
    kind, fields = head[-3:], ["", *body.split(",")]
    place = _PLACE.search(body)
    where, nothing = _NO_FIX.get(kind, (0, ""))
    if where and len(fields) > where and fields[where] == nothing:
        raise FormatError(f"{text!r}: the receiver had no position; wait for one", text)
    if place is None:
        return None
    lat, lat_unit = _angle(place[1], place[2], place[3], 90.0, text)
    lon, lon_unit = _angle(place[4], place[5], place[6], 180.0, text)
    return Sentence(
        kind,
        graticule_square(lat, lon, lat_unit, lon_unit),
        _field(fields, _NAME_FIELD.get(kind)),
        _time(_field(fields, _TIME_FIELD.get(kind))),
        _date(_field(fields, _DATE_FIELD.get(kind))),
        said is not None,
    )


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
