"""GEOREF: four letters for a degree, then minutes and their decimals; truncates, never rounds."""

import re
from typing import Final

from plotter.errors import FormatError
from plotter.formats.cells import LETTERS_24, cell_square, cells_of, coarsest
from plotter.formats.protocol import Format, squares_one_by_one, texts_one_by_one
from plotter.formats.result import Reading
from plotter.geodesy.position import Area, Position, Square

__all__ = ["FORMAT", "FORMATS", "format_georef", "parse_georef"]

# 15 degrees each from 180 west and from the south pole, then single degrees.
_COLUMNS: Final = LETTERS_24
_ROWS: Final = LETTERS_24[:12]
_DEGREES: Final = LETTERS_24[:15]
# Compiled at the first text that may need them: most texts are in another format.
_SHAPE: Final = r"([A-Z])([A-Z])([A-Z])([A-Z])(\d*)"
_NAMED: Final = r"(?i:georef)\b\W*"
_MOST_FIGURES: Final = 8  # of each half: a ten-thousandth of a hundredth of a minute, 2 mm
_LEVELS: Final = (0, 2, 3, 4, 5, 6, 7, 8)  # figures of each half


def parse_georef(text: str) -> Square:
    """Square of a GEOREF reference.

    Parameters
    ----------
    text : str
        Four letters, then no figures or as many for minutes of longitude as for minutes of
        latitude, two or more each; any case, with or without spaces.

    Raises
    ------
    FormatError
        If it is not one, or a part is out of range.

    Source
    ------
    NGA georef.pdf, as quoted in `shared/check_values/05_gars_georef_geohash_olc.csv`.

    Examples
    --------
    >>> parse_georef("MKPG1204").centre
    Position(lat_deg=51.075, lon_deg=-1.7916666666666667)
    """
    return _square(text, text)


def _square(said: str, text: str) -> Square:
    """Square of what follows the name of the format in a text."""
    match = re.fullmatch(_SHAPE, "".join(said.split()).upper(), re.ASCII)
    if match is None:
        raise FormatError(
            f"{text!r} is not a GEOREF reference: expected four letters and an even number of "
            "figures, as in GJPJ342171",
            text,
        )
    figures = match[5]
    half = len(figures) // 2
    if len(figures) % 2 or half == 1 or half > _MOST_FIGURES:
        raise FormatError(
            f"{text!r} has {len(figures)} figures after its letters: easting and northing must "
            f"have equally many, two to {_MOST_FIGURES} each; ask for the figures again",
            text,
        )
    at = [
        letters.find(letter)
        for letters, letter in zip(
            (_COLUMNS, _ROWS, _DEGREES, _DEGREES), match.groups()[:4], strict=True
        )
    ]
    if min(at) < 0:
        wrong = match[at.index(-1) + 1]
        raise FormatError(
            f"letter {at.index(-1) + 1} of {text!r}, {wrong}, is out of range: they run A to Z, "
            "A to M, A to Q and A to Q without I and O; ask for the letters again",
            text,
        )
    lon_cell, lat_cell = at[0] * 15 + at[2], at[1] * 15 + at[3]
    if half:
        for minutes in (figures[:half], figures[half:]):
            if int(minutes[:2]) >= 60:
                raise FormatError(
                    f"{minutes[:2]} minutes in {text!r}: minutes run from 00 to 59; ask again", text
                )
        parts = 60 * 10 ** (half - 2)
        lon_cell = lon_cell * parts + int(figures[:half])
        lat_cell = lat_cell * parts + int(figures[half:])
    return cell_square(lat_cell, lon_cell, *_cells(half))


def format_georef(position: Position, figures: int = 5) -> str:
    """GEOREF reference of a place, truncated.

    Parameters
    ----------
    position : Position
        The place.
    figures : int
        Figures of each half: 0 (one degree), or 2 (one minute) to 8.

    Examples
    --------
    >>> format_georef(Position(38.286108, -76.4291704))
    'GJPJ3424917166'
    """
    if figures not in _LEVELS:
        raise FormatError(f"a GEOREF reference has 0 or 2 to 8 figures a side, not {figures!r}")
    lat_cells, lon_cells = _cells(figures)
    lat_cell, lon_cell = cells_of(position, lat_cells, lon_cells)
    parts = lat_cells // 180
    lat, lat_minutes = divmod(lat_cell, parts)
    lon, lon_minutes = divmod(lon_cell, parts)
    letters = _COLUMNS[lon // 15] + _ROWS[lat // 15] + _DEGREES[lon % 15] + _DEGREES[lat % 15]
    return f"{letters}{lon_minutes:0{figures}d}{lat_minutes:0{figures}d}" if figures else letters


def _cells(figures: int) -> tuple[int, int]:
    parts = 60 * 10 ** (figures - 2) if figures else 1
    return 180 * parts, 360 * parts


def _readings(text: str, _area: Area | None) -> list[Reading]:
    if not text[:4].isalpha():
        return []
    if named := re.match(_NAMED, text):
        return [Reading("georef", _square(text[named.end() :], text))]
    match = re.fullmatch(_SHAPE, text.upper(), re.ASCII)
    # A word of four letters is a word, and a name with a number is likely a name.
    if match is None or len(match[5]) < 4:
        return []
    if text != text.upper():
        raise FormatError(
            f"{text!r} may be GEOREF: write it in capitals, or the word GEOREF before it", text
        )
    return [Reading("georef", parse_georef(text))]


def _write(position: Position, size_m: float) -> str:
    return format_georef(position, coarsest(_LEVELS, _cells, position, size_m))


def _write_readable(position: Position, size_m: float) -> str:
    """Four letters alone would not be read back without the word."""
    text = _write(position, size_m)
    return text if len(text) > 4 else f"GEOREF {text}"


FORMAT: Final = Format(
    name="georef",
    example="GJPJ342171",
    readings=_readings,
    write=_write_readable,
    read_array=lambda texts: squares_one_by_one(texts, _readings),
    write_array=lambda lat, lon, size_m: texts_one_by_one(lat, lon, size_m, _write_readable),
)

FORMATS: Final = (FORMAT,)
