"""Geohash: halvings of longitude and latitude in turn, five to a character."""

import re
from itertools import groupby
from typing import Final

from plotter.errors import FormatError
from plotter.formats.cells import cell_square, cells_of, coarsest
from plotter.formats.protocol import Format, squares_one_by_one, texts_one_by_one
from plotter.formats.result import Reading
from plotter.geodesy.position import Area, Position, Square

__all__ = ["FORMAT", "FORMATS", "format_geohash", "parse_geohash"]

_ALPHABET: Final = "0123456789bcdefghjkmnpqrstuvwxyz"
_MOST: Final = 12
# Compiled at the first text that may need them: most texts are in another format.
_NAMED: Final = r"(?i:geohash)\b\W*"
# Compass letters and units: what holds no other letter is an angle, a time or a length.
_UNITS: Final = set("nsewdmhkztf")
# ITU Radio Regulations, article 19: one or two characters, a figure or more, up to four letters.
_CALLSIGN: Final = r"(?:[a-z]{1,2}|\d[a-z]|[a-z]\d)\d{1,4}[a-z]{1,4}"
_OTHER_GRIDS: Final = ("utm", "ups", "mgrs", "usng", "qth")


def parse_geohash(text: str) -> Square:
    """Square of a geohash of 1 to 12 characters, any case.

    Raises
    ------
    FormatError
        If it is empty, too long, or has a character outside the alphabet.

    Source
    ------
    Checked against `shared/check_values/05_gars_georef_geohash_olc.csv`.

    Examples
    --------
    >>> parse_geohash("s0000").centre
    Position(lat_deg=0.02197265625, lon_deg=0.02197265625)
    """
    return _square(text, text)


def _square(said: str, text: str) -> Square:
    """Square of what follows the name of the format in a text."""
    groups = said.split()
    if len(groups) == 2 and len(groups[0]) >= 5 and groups[1].isdigit():
        raise FormatError(
            f"{groups[1]!r} in {text!r} may be a part of the geohash, or another thing: ask for it "
            "without a gap, or alone",
            text,
        )
    lower = "".join(groups).lower()
    wrong = [character for character in lower if character not in _ALPHABET]
    if wrong or not 1 <= len(lower) <= _MOST:
        why = f"{wrong[0]!r} is never used" if wrong else f"it has {len(lower)} characters"
        raise FormatError(
            f"{text!r} is not a geohash: {why}; expected 1 to {_MOST} figures and letters without "
            "a, i, l and o, as in u4pruydqqvj",
            text,
        )
    code = 0
    for character in lower:
        code = code * 32 + _ALPHABET.index(character)
    cells = [0, 0]  # longitude, latitude
    bits = 5 * len(lower)
    for bit in range(bits):
        axis = bit % 2
        cells[axis] = cells[axis] * 2 + (code >> (bits - 1 - bit) & 1)
    return cell_square(cells[1], cells[0], *_cells(len(lower)))


def format_geohash(position: Position, characters: int = 8) -> str:
    """Geohash of a place, truncated, 1 to 12 characters.

    Examples
    --------
    >>> format_geohash(Position(57.64911, 10.40744), 11)
    'u4pruydqqvj'
    """
    if not 1 <= characters <= _MOST:
        raise FormatError(f"a geohash has 1 to {_MOST} characters, not {characters!r}")
    lat_cell, lon_cell = cells_of(position, *_cells(characters))
    code, bits = 0, 5 * characters
    left = [(bits + 1) // 2, bits // 2]  # halvings still to come: longitude, latitude
    for bit in range(bits):
        axis = bit % 2
        left[axis] -= 1
        code = code * 2 + ((lat_cell if axis else lon_cell) >> left[axis] & 1)
    return "".join(_ALPHABET[code >> 5 * i & 31] for i in reversed(range(characters)))


def _cells(characters: int) -> tuple[int, int]:
    bits = 5 * characters
    return 1 << bits // 2, 1 << (bits + 1) // 2


def _readings(text: str, _area: Area | None) -> list[Reading]:
    if text[:7].lower() == "geohash" and (named := re.match(_NAMED, text)):
        return [Reading("geohash", _square(text[named.end() :], text))]
    if not 6 <= len(text) <= _MOST or not set(text) <= set(_ALPHABET):
        return []
    if not _unlike_anything_else(text):
        return []
    return [Reading("geohash", parse_geohash(text))]


def _unlike_anything_else(text: str) -> bool:
    """Whether letters and figures are mixed as in no name, angle, time, length or other grid.

    A name with a number and a grid reference hold their letters in one piece; a longer piece
    without a vowel is no name. Without its name it is read as it is written, in small letters:
    capitals are for locators, grid squares, and letters taken down one by one.
    """
    letters = [character for character in text if not character.isdigit()]
    if len(letters) == len(text) or set(letters) <= _UNITS or text.startswith(_OTHER_GRIDS):
        return False
    if re.fullmatch(_CALLSIGN, text):
        return False
    pieces = sum(not digits for digits, _ in groupby(text, str.isdigit))
    return pieces > 1 or (len(letters) > 5 and not set(letters) & set("euy"))


def _write(position: Position, size_m: float) -> str:
    return "geohash " + format_geohash(
        position, coarsest(range(1, _MOST + 1), _cells, position, size_m)
    )


FORMAT: Final = Format(
    name="geohash",
    example="u4pruydqqvj",
    readings=_readings,
    write=_write,
    read_array=lambda texts: squares_one_by_one(texts, _readings),
    write_array=lambda lat, lon, size_m: texts_one_by_one(lat, lon, size_m, _write),
)

FORMATS: Final = (FORMAT,)
