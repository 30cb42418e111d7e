"""GARS: cells of 30, 15 and 5 minutes, as in 006AG39."""

import re
from typing import Final

from plotter.errors import FormatError
from plotter.formats.cells import LETTERS_24, cell_square, cells_of, coarsest
from plotter.formats.protocol import Format, squares_one_by_one, texts_one_by_one
from plotter.formats.result import Reading
from plotter.geodesy.position import Area, Position, Square

__all__ = ["FORMAT", "FORMATS", "format_gars", "parse_gars"]

# Compiled at the first text that may need them: most texts are in another format.
_SHAPE: Final = r"(\d{3})([A-Z])([A-Z])(?:([1-9])([1-9])?)?"
_NAMED: Final = r"(?i:gars)\b\W*"
_LEVELS: Final = (5, 6, 7)  # characters


def parse_gars(text: str) -> Square:
    """Square of a GARS reference.

    Parameters
    ----------
    text : str
        Three figures, two letters, then perhaps a quadrant (1 to 4) and a key (1 to 9), any case.

    Raises
    ------
    FormatError
        If it is not one, or a part is out of range.

    Source
    ------
    NGA GARS fact sheet, as quoted in `shared/check_values/05_gars_georef_geohash_olc.csv`.

    Examples
    --------
    >>> parse_gars("361HN37").centre
    Position(lat_deg=0.041666666666666664, lon_deg=0.041666666666666664)
    """
    return _square(text, text)


def _square(said: str, text: str) -> Square:
    """Square of what follows the name of the format in a text."""
    match = re.fullmatch(_SHAPE, "".join(said.split()).upper(), re.ASCII)
    if match is None:
        raise FormatError(
            f"{text!r} is not a GARS reference: expected three figures and two letters, then a "
            "quadrant 1 to 4 and a key 1 to 9, as in 006AG39",
            text,
        )
    band, first, second, quadrant, key = match.groups()
    lon_cell = int(band) - 1
    lat_cell = LETTERS_24.find(first) * 24 + LETTERS_24.find(second)
    if not 0 <= lon_cell < 720:
        raise FormatError(f"{band} in {text!r} is not a band of GARS (001 to 720): ask again", text)
    if "I" in first + second or "O" in first + second or lat_cell >= 360:
        raise FormatError(
            f"{first + second} in {text!r} is not a band of GARS (AA to QZ without I and O): ask "
            "for the letters again",
            text,
        )
    if quadrant is None:
        return cell_square(lat_cell, lon_cell, *_cells(5))
    if quadrant not in "1234":
        raise FormatError(f"quadrant {quadrant} in {text!r} is not 1 to 4: ask for it again", text)
    # Quadrants 1 and 2 and keys 1 to 3 are the northern ones.
    row, column = divmod(int(quadrant) - 1, 2)
    lat_cell, lon_cell = lat_cell * 2 + 1 - row, lon_cell * 2 + column
    if key is None:
        return cell_square(lat_cell, lon_cell, *_cells(6))
    row, column = divmod(int(key) - 1, 3)
    return cell_square(lat_cell * 3 + 2 - row, lon_cell * 3 + column, *_cells(7))


def format_gars(position: Position, characters: int = 7) -> str:
    """GARS reference of a place, truncated.

    Parameters
    ----------
    position : Position
        The place.
    characters : int
        5 (30 minutes), 6 (15 minutes) or 7 (5 minutes).

    Examples
    --------
    >>> format_gars(Position(0.0, 0.0))
    '361HN37'
    """
    if characters not in _LEVELS:
        raise FormatError(f"a GARS reference has 5, 6 or 7 characters, not {characters!r}")
    lat_cell, lon_cell = cells_of(position, *_cells(7))
    lat_cell, lat_key = divmod(lat_cell, 3)
    lon_cell, lon_key = divmod(lon_cell, 3)
    lat_cell, lat_quadrant = divmod(lat_cell, 2)
    lon_cell, lon_quadrant = divmod(lon_cell, 2)
    letters = LETTERS_24[lat_cell // 24] + LETTERS_24[lat_cell % 24]
    quadrant = (1 - lat_quadrant) * 2 + lon_quadrant + 1
    key = (2 - lat_key) * 3 + lon_key + 1
    return f"{lon_cell + 1:03d}{letters}{quadrant}{key}"[:characters]


def _cells(characters: int) -> tuple[int, int]:
    parts = {5: 1, 6: 2, 7: 6}[characters]
    return 360 * parts, 720 * parts


def _readings(text: str, _area: Area | None) -> list[Reading]:
    if not (text[:3].isdigit() or text[:4].lower() == "gars"):
        return []
    named = re.match(_NAMED, text)
    body = text[named.end() :] if named else text
    if not named:
        match = re.fullmatch(_SHAPE, body.upper(), re.ASCII)
        # 500 km and 270 nm have the shape of a coarse cell: it needs its name.
        if match is None or match[4] is None:
            return []
        if body != body.upper():
            raise FormatError(
                f"{text!r} may be GARS: write it in capitals, or the word GARS before it", text
            )
    return [Reading("gars", _square(body, text))]


def _write(position: Position, size_m: float) -> str:
    return format_gars(position, coarsest(_LEVELS, _cells, position, size_m))


FORMAT: Final = Format(
    name="gars",
    example="006AG39",
    readings=_readings,
    write=_write,
    read_array=lambda texts: squares_one_by_one(texts, _readings),
    write_array=lambda lat, lon, size_m: texts_one_by_one(lat, lon, size_m, _write),
)

FORMATS: Final = (FORMAT,)
