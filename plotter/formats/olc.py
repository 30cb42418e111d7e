"""Open Location Code: full codes, and short ones completed from the area of operations."""

import math
import re
from typing import Final

from plotter.errors import FormatError
from plotter.formats.cells import cell_square, cells_of, coarsest
from plotter.formats.protocol import Format, squares_one_by_one, texts_one_by_one
from plotter.formats.result import Reading
from plotter.formats.squares import metres_per_degree
from plotter.formats.zones import inside
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Area, Position, Square

__all__ = ["FORMAT", "FORMATS", "complete_olc", "format_olc", "parse_olc"]

_ALPHABET: Final = "23456789CFGHJMPQRVWX"
_PLUS_AT: Final = 8
_LEVELS: Final = (2, 4, 6, 8, 10, 11, 12, 13, 14, 15)  # characters without the plus
_MOST: Final = _LEVELS[-1]
_MOST_COMPLETIONS: Final = 12
# Compiled at the first text that may need them: most texts are in another format.
_NAMED: Final = r"(?i:olc|open\s+location\s+code)\b[\s:]*"
_SHAPE: Final = rf"[0{_ALPHABET}]*\+[{_ALPHABET}]*"


def parse_olc(code: str) -> Square:
    """Square of a full code.

    Parameters
    ----------
    code : str
        Eight characters (the last of them perhaps zeros), a plus, and none or two to seven more,
        any case.

    Raises
    ------
    FormatError
        If it is not a full code.

    Source
    ------
    Open Location Code specification; checked against its own test data in
    `shared/check_values/05_gars_georef_geohash_olc.csv`.

    Examples
    --------
    >>> parse_olc("8FVC2222+22").centre
    Position(lat_deg=47.0000625, lon_deg=8.0000625)
    """
    return _square(code, code)


def _square(said: str, text: str) -> Square:
    """Square of what follows the name of the format in a text."""
    upper = said.strip().upper()
    digits = _digits_of(upper, text)
    if len(upper.split("+")[0]) != _PLUS_AT:
        raise FormatError(
            f"{text!r} is a short code: its first characters are missing; give the area of "
            "operations, or ask for the full code",
            text,
        )
    lat_cell = lon_cell = 0
    for at in range(0, min(len(digits), 10), 2):
        lat_cell = lat_cell * 20 + _ALPHABET.index(digits[at])
        lon_cell = lon_cell * 20 + _ALPHABET.index(digits[at + 1])
    for character in digits[10:_MOST]:
        row, column = divmod(_ALPHABET.index(character), 4)
        lat_cell, lon_cell = lat_cell * 5 + row, lon_cell * 4 + column
    cells = _cells(min(len(digits), _MOST))
    if lat_cell >= cells[0] or lon_cell >= cells[1]:
        raise FormatError(
            f"{text!r} begins with {digits[:2]}, beyond the pole or 180 degrees: ask for the "
            "first characters again",
            text,
        )
    return cell_square(lat_cell, lon_cell, *cells)


def format_olc(position: Position, characters: int = 10) -> str:
    """Full code of a place, truncated.

    Parameters
    ----------
    position : Position
        The place.
    characters : int
        2, 4, 6, 8, or 10 to 15, the plus not counted.

    Examples
    --------
    >>> format_olc(Position(47.0000625, 8.0000625))
    '8FVC2222+22'
    """
    if characters not in _LEVELS:
        raise FormatError(f"a code has 2, 4, 6, 8 or 10 to 15 characters, not {characters!r}")
    return _code(*cells_of(position, *_cells(characters)), characters)


def _code(lat_cell: int, lon_cell: int, characters: int) -> str:
    """Full code of a cell."""
    digits: list[str] = []
    for _ in range(characters - 10):
        lat_cell, row = divmod(lat_cell, 5)
        lon_cell, column = divmod(lon_cell, 4)
        digits.append(_ALPHABET[row * 4 + column])
    for _ in range(min(characters, 10) // 2):
        lat_cell, lat_digit = divmod(lat_cell, 20)
        lon_cell, lon_digit = divmod(lon_cell, 20)
        digits += [_ALPHABET[lon_digit], _ALPHABET[lat_digit]]
    padded = "".join(reversed(digits)).ljust(_PLUS_AT, "0")
    return f"{padded[:_PLUS_AT]}+{padded[_PLUS_AT:]}"


def complete_olc(code: str, near: Position) -> str:
    """Full code of a short code nearest to a place.

    Parameters
    ----------
    code : str
        A short code: 0, 2, 4 or 6 characters, a plus, and two or more.
    near : Position
        A place close to the one that is meant.

    Examples
    --------
    >>> complete_olc("9QCJ+2VX", Position(51.3852125, -1.217765625))
    '9C3W9QCJ+2VX'
    """
    return _completions(code, near, 1, 1)[0]


def _digits_of(upper: str, text: str) -> str:
    """Significant characters of a valid code, full or short, without plus and padding."""
    before, plus, after = upper.partition("+")
    real = before.rstrip("0")
    padded = len(before) - len(real)
    if (
        not plus
        or not re.fullmatch(_SHAPE, upper)
        or "0" in real
        or len(before) > _PLUS_AT
        or len(before) % 2
        or len(after) == 1
        or (padded and (len(before) != _PLUS_AT or after or len(real) % 2 or not real))
        or (len(before) < _PLUS_AT and not after)
    ):
        raise FormatError(
            f"{text!r} is not a valid Open Location Code: expected eight characters of "
            f"{_ALPHABET}, a plus and two or more, as in 8FVC2222+22; ask for it again",
            text,
        )
    return real + after


def _cells(characters: int) -> tuple[int, int]:
    pairs, fine = min(characters, 10) // 2, max(characters - 10, 0)
    return 9 * 20 ** (pairs - 1) * 5**fine, 18 * 20 ** (pairs - 1) * 4**fine


def _completions(code: str, near: Position, rows: int, columns: int) -> list[str]:
    """Full codes in so many cells on each side of a place, the nearest first."""
    upper = code.strip().upper()
    _digits_of(upper, code)
    missing = _PLUS_AT - len(upper.partition("+")[0])
    if not missing:
        return [upper]
    lat_cells, lon_cells = _cells(missing)
    lat_cell, lon_cell = cells_of(near, lat_cells, lon_cells)
    found: dict[str, float] = {}
    for row in range(max(lat_cell - rows, 0), min(lat_cell + rows + 1, lat_cells)):
        for column in range(lon_cell - columns, lon_cell + columns + 1):
            full = _code(row, column % lon_cells, missing)[:missing].replace("+", "") + upper
            centre = parse_olc(full).centre
            # The specification takes the nearest in latitude and the nearest in longitude.
            east = abs((centre.lon_deg - near.lon_deg + 180.0) % 360.0 - 180.0)
            found[full] = abs(centre.lat_deg - near.lat_deg) + east
    return sorted(found, key=lambda full: found[full])


def _step_deg(missing: int) -> float:
    return float(20.0 ** (2 - missing // 2))


def _readings(text: str, area: Area | None) -> list[Reading]:
    if "+" not in text and text[:1] not in "oO":
        return []
    named = re.match(_NAMED, text)
    body = (text[named.end() :] if named else text).strip().upper()
    if not named:
        if not re.fullmatch(_SHAPE, body):
            return []
        before = body.partition("+")[0]
        # 48+22 is two numbers: a short code without its name needs a letter.
        if len(before) < _PLUS_AT and not re.search("[A-Z]", body):
            return []
    _digits_of(body, text)
    if len(body.partition("+")[0]) == _PLUS_AT:
        return [Reading("olc", _square(body, text))]
    return _from_area(body, text, area)


def _from_area(code: str, text: str, area: Area | None) -> list[Reading]:
    missing = _PLUS_AT - len(code.partition("+")[0])
    if area is None:
        raise FormatError(
            f"{text!r} is a short code that lacks its first {missing} characters: ask for the full "
            "code, or give the area of operations",
            text,
        )
    step = _step_deg(missing)
    per_lat, per_lon = metres_per_degree(area.centre.lat_deg)
    across = [2.0 * area.radius_m / (step * max(per, 1.0)) for per in (per_lat, per_lon)]
    if across[0] * across[1] > _MOST_COMPLETIONS:
        raise FormatError(
            f"{text!r} lacks its first {missing} characters and fits about "
            f"{across[0] * across[1]:.0f} places in the area of operations: ask for "
            "the characters before it",
            text,
        )
    rows, columns = (math.ceil(each / 2.0) + 1 for each in across)
    fulls = _completions(code, area.centre, rows, columns)
    found = [
        Reading("olc", parse_olc(full), (f"completed to {full}, from the area of operations",))
        for full in fulls
    ]
    within = [each for each in found if inside(each.square.centre, area)]
    within.sort(key=lambda each: geodesic(area.centre, each.square.centre).distance_m)
    return within or found[:1]


def _write(position: Position, size_m: float) -> str:
    return format_olc(position, coarsest(_LEVELS, _cells, position, size_m))


FORMAT: Final = Format(
    name="olc",
    example="8FVC2222+22",
    readings=_readings,
    write=_write,
    read_array=lambda texts: squares_one_by_one(texts, _readings),
    write_array=lambda lat, lon, size_m: texts_one_by_one(lat, lon, size_m, _write),
)

FORMATS: Final = (FORMAT,)
