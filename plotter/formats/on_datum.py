"""A datum named in a text: finding its name, and bringing what was read to WGS 84."""

import re
from dataclasses import replace
from typing import Final

from plotter.errors import FormatError
from plotter.formats.result import Reading
from plotter.formats.squares import enlarged
from plotter.geodesy.datum import DATUMS, WGS84_EPSG, check_geographic, operation_from
from plotter.geodesy.position import Position, Square

__all__ = ["NamedDatum", "shifted", "split_datum"]

NamedDatum = tuple[str, int]

_ALSO: Final = {
    "OSGB1936": "OSGB36", "EUROPEAN1950": "ED50", "NAD1927": "NAD27", "NAD1983": "NAD83",
    "WGS1984": "WGS84",
}  # fmt: skip
# A town is not a datum unless the word says so.
_NEEDS_WORD: Final = {"TOKYO"}
_NAME: Final = (
    r"(?:NAD[\s-]?(?:19)?27|NAD[\s-]?(?:19)?83|ED[\s-]?50|European\s?1950|ETRS[\s-]?89"
    r"|OSGB[\s-]?(?:19)?36|AGD[\s-]?66|AGD[\s-]?84|GDA[\s-]?94|GDA[\s-]?2020|NZGD[\s-]?49"
    r"|NZGD[\s-]?2000|SAD[\s-]?69|PSAD[\s-]?56|Pulkovo[\s-]?1942|CH1903\+?|WGS[\s-]?(?:19)?84"
    r"|EPSG\s?:?\s?\d{4,6})"
)
_WORD: Final = r"(?:(?:map\s+)?datum\b\s*(?:is\b|:|=)?\s*)"
_ANY: Final = rf"(?:{_NAME}|[A-Za-z][\w+-]*)"
# Compiled at the first text that may need them: most texts name no datum.
_END: Final = (
    rf"(?i)[\s,;(]+(?:on\s+(?:the\s+)?)?"
    rf"(?:{_WORD}(?P<told>{_ANY})|(?P<plain>{_NAME})(?:\s+datum)?|(?P<before>Tokyo)\s+datum)\)?$"
)
_START: Final = (
    rf"(?i)(?:{_WORD}(?P<told>{_ANY})|(?P<plain>{_NAME})(?:\s+datum)?|(?P<before>Tokyo)\s+datum)"
    r"(?![\w+])[\s,;:]+"
)
_ONLY_A_NAME: Final = r"(?i:\W*geohash\W*)"
_NOT_DATUM_FIRST: Final = r"(?i:EPSG|OSGB|CH1903)"
_SIGNS: Final = (
    "DATUM", "NAD", "ED5", "ED 5", "ED-5", "EUROPEAN", "ETRS", "OSGB", "AGD", "GDA", "NZGD", "SAD",
    "PULKOVO", "CH1903", "WGS", "EPSG",
)  # fmt: skip


def split_datum(text: str) -> tuple[str, NamedDatum | None]:
    """Take the name of a datum off a text.

    Returns
    -------
    rest : str
        The text without it.
    datum : (str, int) or None
        Its name and EPSG code; None where the text names none.

    Raises
    ------
    FormatError
        If the text has the word datum before a name that is not known.

    Examples
    --------
    >>> split_datum("48.85N 2.29E on ED50")
    ('48.85N 2.29E', ('ED50', 4230))
    """
    upper = text.upper()
    if not any(sign in upper for sign in _SIGNS):
        return text, None
    match = re.search(_END, text)
    if match and re.fullmatch(_ONLY_A_NAME, text[: match.start()]):
        match = None  # "geohash ed50": the code itself looks like a datum
    rest = text[: match.start()] if match else text
    if match is None:
        match = re.match(_START, text)
        # Before the numbers these are the names of grids.
        if match is None or re.match(_NOT_DATUM_FIRST, match["plain"] or ""):
            return text, None
        rest = text[match.end() :]
    said = match["told"] or match["plain"] or match["before"]
    key = re.sub(r"[\s-]", "", said).upper()
    if code := re.fullmatch(r"EPSG:?(\d+)", key):
        return rest, (f"EPSG:{code[1]}", int(code[1]))
    key = _ALSO.get(key, key)
    if key not in DATUMS:
        raise FormatError(
            f"datum {said!r} in {text!r} is not known: expected one of {', '.join(DATUMS)}, or an "
            "EPSG code; ask for the position on WGS 84",
            text,
        )
    return rest, (key, DATUMS[key])


def shifted(found: Reading, datum: NamedDatum, text: str) -> Reading:
    """Bring a reading on another datum to WGS 84; its square reaches as far as the shift is off.

    Raises
    ------
    FormatError
        If the reading is not latitude and longitude.
    """
    name, code = datum
    if code == WGS84_EPSG:
        return found
    if found.format != "latlon":
        raise FormatError(
            f"{text!r} is on {name}, and only latitude and longitude are brought from another "
            "datum: ask for the position on WGS 84, or for its latitude and longitude",
            text,
        )
    check_geographic(code)
    centre = found.square.centre
    operation = operation_from(code, centre.lon_deg, centre.lat_deg)
    places = (centre, *found.square.corners)
    lat, lon = operation.to_wgs84([p.lon_deg for p in places], [p.lat_deg for p in places])
    moved = [Position(a, o) for a, o in zip(lat.tolist(), lon.tolist(), strict=True)]
    square = Square(moved[0], found.square.size_m, tuple(moved[1:]))
    said = (operation.words,) if operation.words else ()
    return replace(
        found, square=enlarged(square, operation.accuracy_m), assumed=(*found.assumed, *said)
    )
