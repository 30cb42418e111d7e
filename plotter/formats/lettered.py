"""Lettered squares of the British and the Irish grid, with their plain numbers; they truncate."""

import re
from dataclasses import dataclass
from typing import Final

from plotter.errors import FormatError
from plotter.formats.cells import LETTERS_24
from plotter.formats.projected import (
    Box,
    grid_pair_readings,
    grid_reading,
    near_box,
    pair_of,
    projected_pair,
    within,
)
from plotter.formats.protocol import Format, squares_one_by_one, texts_one_by_one
from plotter.formats.result import Reading
from plotter.geodesy.grid import TRUNCATION_NUDGE_M
from plotter.geodesy.position import Area, Position

__all__ = ["BRITISH", "FORMATS", "IRISH", "LetteredGrid", "square_corner", "square_letters"]

# Five by five from the north-west, I left out.
_LETTERS: Final = LETTERS_24[:13] + "O" + LETTERS_24[13:]
_SQUARE_M: Final = 100_000
_SIZES: Final = (100_000, 10_000, 1_000, 100, 10, 1)


@dataclass(frozen=True, slots=True)
class LetteredGrid:
    """A national grid whose 100 km squares have letters.

    Parameters
    ----------
    name : str
        Name in data.
    title : str
        Name in words.
    prefix : str
        Written before a reference.
    words : str
        Pattern of the names that a text may begin with.
    epsg : int
        Code of the grid.
    ground : Box
        Ground that the registry gives it.
    letters : int
        Letters of a square, 1 or 2.
    columns, rows : int
        How many 100 km squares there are each way.
    example : str
        One valid text.
    """

    name: str
    title: str
    prefix: str
    words: str
    epsg: int
    ground: Box
    letters: int
    columns: int
    rows: int
    example: str


# Codes and ground: EPSG registry, as carried by PROJ. Squares: seven by thirteen from SV, and five
# by five from V.
BRITISH: Final = LetteredGrid(
    "osgb", "the British grid", "OSGB",
    r"osgb(?:36)?|bng|british(?:\s+national)?\s+grid",
    27700, Box(49.75, 61.01, -9.01, 2.01), 2, 7, 13, "OSGB TQ 38876 77320",
)  # fmt: skip
IRISH: Final = LetteredGrid(
    "irish", "the Irish grid", "Irish grid",
    r"irish(?:\s+national)?\s+grid",
    29903, Box(51.39, 55.43, -10.56, -5.34), 1, 5, 5, "Irish grid O 15904 34671",
)  # fmt: skip


def square_corner(grid: LetteredGrid, letters: str) -> tuple[int, int] | None:
    """Easting and northing of the corner of a 100 km square, metres; None where there is none.

    Examples
    --------
    >>> square_corner(BRITISH, "TQ"), square_corner(IRISH, "O")
    ((500000, 100000), (300000, 200000))
    """
    at = [_LETTERS.find(letter) for letter in letters]
    if min(at) < 0 or len(at) != grid.letters:
        return None
    down, column = divmod(at[-1], 5)
    row = 4 - down
    if grid.letters == 2:
        # The first letter is a square of 500 km; S, the seventeenth, begins at the false origin.
        big_row, big_column = divmod(at[0], 5)
        column, row = column + 5 * (big_column - 2), row + 5 * (3 - big_row)
    if not (0 <= column < grid.columns and 0 <= row < grid.rows):
        return None
    return column * _SQUARE_M, row * _SQUARE_M


def square_letters(grid: LetteredGrid, column: int, row: int) -> str:
    """Letters of a 100 km square from its column and row, counted from the false origin.

    Examples
    --------
    >>> square_letters(BRITISH, 5, 1), square_letters(IRISH, 3, 2)
    ('TQ', 'O')
    """
    small = _LETTERS[(4 - row % 5) * 5 + column % 5]
    if grid.letters == 1:
        return small
    return _LETTERS[(3 - row // 5) * 5 + column // 5 + 2] + small


def _format(grid: LetteredGrid) -> Format:
    # Compiled at the first text that may need them: most texts are in another format.
    head = rf"(?i:{grid.words})(?!\w)[\s:,]*"
    shape = rf"([A-Z]{{{grid.letters}}})(\d*)"

    def readings(text: str, area: Area | None) -> list[Reading]:
        if not text[:1].isalpha():
            return []
        named = re.match(head, text)
        if named is None:
            if area is None or not near_box(area, grid.ground):
                return []
            return _bare(grid, shape, text, area)
        body = text[named.end() :]
        match = re.fullmatch(shape, re.sub(r"[\s,]+", "", body).upper(), re.ASCII)
        if match is not None:
            return [_lettered(grid, match[1], match[2], body, text)]
        return _numbers(grid, body, text)

    def write(position: Position, size_m: float) -> str:
        side = next((side for side in _SIZES if side <= size_m * 1.000001), 1)
        if not grid.ground.holds(position):
            raise FormatError(f"{position} lies outside {grid.title}")
        pair = [int(v + TRUNCATION_NUDGE_M) for v in projected_pair(grid.epsg, position)]
        column, row = (value // _SQUARE_M for value in pair)
        if not (0 <= column < grid.columns and 0 <= row < grid.rows):
            raise FormatError(f"{position} lies outside the squares of {grid.title}")
        width = len(str(_SQUARE_M // side)) - 1
        figures = [f"{value % _SQUARE_M // side:0{width}d}" for value in pair] if width else []
        return " ".join([grid.prefix, square_letters(grid, column, row), *figures])

    return Format(
        name=grid.name,
        example=grid.example,
        readings=readings,
        write=write,
        read_array=lambda texts: squares_one_by_one(texts, readings),
        write_array=lambda lat, lon, size_m: texts_one_by_one(lat, lon, size_m, write),
        covers=grid.ground.holds,
    )


def _bare(grid: LetteredGrid, shape: str, text: str, area: Area) -> list[Reading]:
    """Without its name, only what has figures enough and lies in the area of operations.

    A letter and two figures is a road; N, S, E or W and four may be half of a latitude and
    longitude.
    """
    match = re.fullmatch(shape, re.sub(r"[\s,]+", "", text).upper(), re.ASCII)
    if match is None or square_corner(grid, match[1]) is None:
        return []
    if len(match[2]) < (6 if match[1] in "NSEW" else 4):
        return []
    try:
        found = _lettered(grid, match[1], match[2], text, text)
    except FormatError:
        return []
    if not within(found, area):
        return []
    why = f"on {grid.title}: fits the area of operations"
    return [Reading(found.format, found.square, (why, *found.assumed))]


def _lettered(grid: LetteredGrid, letters: str, figures: str, body: str, text: str) -> Reading:
    corner = square_corner(grid, letters)
    if corner is None:
        raise FormatError(
            f"{letters} in {text!r} is not a square of {grid.title}: ask for the letters again",
            text,
        )
    groups = [len(group) for group in re.findall(r"\d+", body)]
    if len(figures) % 2 or len(figures) > 10 or (len(groups) == 2 and groups[0] != groups[1]):
        raise FormatError(
            f"{text!r} has {' and '.join(map(str, groups))} figures after the letters: easting and "
            "northing must have equally many, five each at the most; ask for the figures again",
            text,
        )
    half = len(figures) // 2
    side = _SIZES[half]
    east, north = (int(part) * side if half else 0 for part in (figures[:half], figures[half:]))
    low = (float(corner[0] + east), float(corner[1] + north))
    return grid_reading(grid.name, grid.title, grid.epsg, low, float(side), text)


def _numbers(grid: LetteredGrid, body: str, text: str) -> list[Reading]:
    pair = pair_of(body, text)
    whole = [len(number.partition(".")[0]) for number in re.findall(r"\d+(?:\.\d+)?", body)]
    # Five figures each are the inside of a square whose letters were lost.
    if pair is None or min(whole) < 6:
        raise FormatError(
            f"{text!r} is not a reference on {grid.title}: expected the letters of a square and "
            f"figures, as in {grid.example}, or an easting and a northing of six figures or more "
            "each; ask for the letters",
            text,
        )
    return grid_pair_readings(grid.name, grid.title, grid.epsg, pair, text)


FORMATS: Final = (_format(BRITISH), _format(IRISH))
