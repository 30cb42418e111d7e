"""MGRS and USNG references: a zone, a 100 km square and figures; they truncate, never round."""

import re
from collections.abc import Callable, Sequence
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from plotter.errors import FormatError
from plotter.formats import mgrs_arrays
from plotter.formats.mgrs_area import (
    MOST_SQUARES,
    polar_squares_about,
    squares_about,
    squares_in,
    zones_about,
)
from plotter.formats.mgrs_letters import (
    COLUMN_SETS,
    POLAR_COLUMNS,
    POLAR_FIRST_ROW_M,
    POLAR_ROWS,
    ROW_CYCLE_M,
    ROWS,
    SQUARE_M,
    band_first_northing_m,
    first_row,
)
from plotter.formats.protocol import Format, Texts
from plotter.formats.result import Reading, Squares
from plotter.formats.squares import clip, square_from_outline
from plotter.formats.zones import BANDS, Ground, band_of, check_zone, ground_of
from plotter.geodesy.arrays import BoolArray, FloatArray, as_float, half_turn_deg
from plotter.geodesy.geodesic import geodesic, inverse_arrays
from plotter.geodesy.grid import (
    UPS_NORTH,
    UPS_SOUTH,
    UTM_NORTH_LIMIT_DEG,
    UTM_SOUTH_LIMIT_DEG,
    utm_zone_grid,
    zone_of,
)
from plotter.geodesy.position import Area, Position, Square

__all__ = ["FORMAT", "FORMATS", "format_mgrs", "parse_mgrs"]

# "10 SEC 20", "15KTS10": so few figures behind a word of three letters, or behind a unit.
_UNIT_BETWEEN: Final = re.compile(
    r"\s*\d{1,2}(?:\s+[A-Z]{3}\s+|\s*(?:KTS|KMS|KMH|KPH|MPH|SEC|HRS|LBS|KGS|PAX|MEN|RUN)\s*)"
    r"\d(?:\s*\d)?\s*",
    re.IGNORECASE,
)
_FULL: Final = re.compile(r"(\d{1,2})([A-Z])([A-Z])([A-Z])(\d*)", re.ASCII)
_POLAR: Final = re.compile(r"([ABYZ])([A-Z])([A-Z])(\d*)", re.ASCII)
_NO_ZONE: Final = re.compile(r"([A-Z])([A-Z])(\d{2,10})", re.ASCII)
_MOST_NAMED: Final = 8
# Squares of the same letters lie 2 000 km or three zones apart: more of them are no answer.
_MOST_MEANINGS: Final = 3
_BARE: Final = re.compile(r"(\d{1,5})\s+(\d{1,5})|(\d{4}|\d{6}|\d{8}|\d{10})", re.ASCII)


def parse_mgrs(text: str) -> Square:
    """Square of a complete MGRS or USNG reference.

    Parameters
    ----------
    text : str
        Zone, band, two square letters and an even number of figures up to ten (or the polar form),
        any case, with or without spaces.

    Returns
    -------
    Square
        Cut off where its zone ends; its centre lies within the zone.

    Raises
    ------
    FormatError
        If it is not a reference, or names a square that does not exist.

    Source
    ------
    NGA.STND.0037 (2014); FGDC-STD-011-2001 (USNG).

    Examples
    --------
    >>> parse_mgrs("38SMB4488").size_m
    1000.0
    """
    compact = _compact(text)
    if match := _POLAR.fullmatch(compact):
        return _polar_square(match, text)
    match = _FULL.fullmatch(compact)
    if match is None:
        raise FormatError(
            f"{text!r} is not an MGRS reference: expected zone, band letter, two square letters "
            "and an even number of figures, as in 31UDQ4825111932",
            text,
        )
    zone, band, column, row, figures = match.groups()
    check_zone(int(zone), text)
    _check_halves(text, figures)
    return _zone_square(int(zone), band, column, row, figures, text)


def format_mgrs(position: Position, figures: int = 5) -> str:
    """MGRS reference of a place, truncated.

    Parameters
    ----------
    position : Position
        The place.
    figures : int
        Figures for each of easting and northing, 0 (100 km) to 5 (1 m).

    Examples
    --------
    >>> format_mgrs(Position(48.8582, 2.2945))
    '31UDQ4825111932'
    """
    return str(mgrs_arrays.format_mgrs_array([position.lat_deg], [position.lon_deg], figures)[0])


def _compact(text: str) -> str:
    bare = re.sub(r"^\s*(?:mgrs|usng)\b\W*", "", text, flags=re.IGNORECASE)
    return re.sub(r"[\s,]+", "", bare).upper()


def _check_halves(text: str, figures: str) -> None:
    """Reject an odd number of figures, and two groups that were said with different lengths."""
    if len(figures) > 10 or len(figures) % 2:
        raise FormatError(
            f"{text!r} has {len(figures)} figures after the letters: easting and northing must "
            "have equally many, five each at the most; ask for the figures again",
            text,
        )
    tail = re.sub(r"^.*[A-Za-z]", "", text, flags=re.DOTALL)
    groups = re.findall(r"\d+", tail)
    if len(groups) > 2 and (re.search(r"[,;]", tail) or len({len(each) for each in groups}) > 1):
        raise FormatError(
            f"{text!r} has {len(groups)} groups of figures after the letters: a time or a count "
            "may be among them; ask for the easting and the northing alone",
            text,
        )
    if len(groups) == 2 and len(groups[0]) != len(groups[1]):
        raise FormatError(
            f"{text!r} has {len(groups[0])} figures east and {len(groups[1])} north: they must "
            "have equally many; ask for the figures again",
            text,
        )


def _letter(letters: str, letter: str, what: str, text: str) -> int:
    at = letters.find(letter)
    if at < 0:
        hint = " (I and O are never used: 1 or 0 may be meant)" if letter in "IO" else ""
        raise FormatError(
            f"{letter!r} in {text!r} is not one of the {what} {letters}{hint}: ask for the letters "
            "again",
            text,
        )
    return at


def _zone_square(zone: int, band: str, column: str, row: str, figures: str, text: str) -> Square:
    _letter(BANDS, band, "bands", text)
    ground = ground_of(zone, band)
    if ground is None:
        raise FormatError(
            f"zone {zone}{band} in {text!r} does not exist: around Svalbard only 31X, 33X, 35X and "
            "37X do; ask for the zone",
            text,
        )
    columns = COLUMN_SETS[(zone - 1) % 3]
    easting0 = (_letter(columns, column, f"columns of zone {zone}", text) + 1) * SQUARE_M
    row_m = (_letter(ROWS, row, "rows", text) - first_row(zone)) % 20 * SQUARE_M
    lowest = float(band_first_northing_m()[BANDS.index(band)])
    northing0 = lowest + (row_m - lowest) % ROW_CYCLE_M
    side = 10.0 ** (5 - len(figures) // 2)
    half = len(figures) // 2
    easting = easting0 + (int(figures[:half]) * side if half else 0.0)
    northing = northing0 + (int(figures[half:]) * side if half else 0.0)
    grid = utm_zone_grid(zone, south=band < "N")
    ring = _ring(easting, northing, side)
    lat, lon = grid.inverse(ring[:, 0], ring[:, 1])
    square = _square_of_ring(zone, ground, lat, lon, side)
    if square is None:
        raise FormatError(
            f"square {column}{row} of {text!r} does not lie in zone {zone}{band}: ask for the zone "
            "and the letters again",
            text,
        )
    return square


def _square_of_ring(
    zone: int, ground: Ground, lat: FloatArray, lon: FloatArray, side: float
) -> Square | None:
    """What a zone's ground leaves of a square, from its middle and its outline; None if nothing."""
    meridian = 6.0 * zone - 183.0
    east = half_turn_deg(lon - meridian)
    lats, easts = lat.tolist(), east.tolist()
    outline = list(zip(lats[1:], easts[1:], strict=True))
    west, limit = ground.west_deg - meridian, ground.east_deg - meridian
    if (
        ground.south_deg <= min(lats)
        and max(lats) < ground.north_deg
        and west <= min(easts)
        and max(easts) < limit
    ):
        return square_from_outline(
            [(a, o + meridian) for a, o in outline], (lats[0], easts[0] + meridian), side
        )
    sides: tuple[Callable[[tuple[float, float]], float], ...] = (
        lambda p: p[0] - ground.south_deg,
        lambda p: ground.north_deg - p[0],
        lambda p: p[1] - west,
        lambda p: limit - p[1],
    )
    for keep in sides:
        if any(keep(point) < 0 for point in outline):
            outline = clip(outline, keep)
    if len(outline) < 3:
        return None
    middle = (lats[0], easts[0])
    if not (
        ground.south_deg <= middle[0] < ground.north_deg
        and ground.west_deg <= middle[1] + meridian < ground.east_deg
    ):
        # The zone's edge cuts off the middle of the square: take that of what is left.
        middle = (
            sum(lat for lat, _ in outline) / len(outline),
            sum(lon for _, lon in outline) / len(outline),
        )
    return square_from_outline(
        [(a, o + meridian) for a, o in outline], (middle[0], middle[1] + meridian), side
    )


def _ring(easting: float, northing: float, side: float) -> FloatArray:
    """Middle, then the outline, in steps fine enough for a large square's curved edges; (n, 2)."""
    return as_float((easting, northing)) + side * _unit_ring(8 if side >= 10_000.0 else 1)


@cache
def _unit_ring(n: int) -> FloatArray:
    steps = np.linspace(0.0, 1.0, n + 1)[:-1]
    zero, one = np.zeros(n), np.ones(n)
    x = np.concatenate([[0.5], steps, one, 1 - steps, zero])
    y = np.concatenate([[0.5], zero, steps, one, 1 - steps])
    return np.column_stack([x, y])


def _polar_square(match: re.Match[str], text: str) -> Square:
    letter, column, row, figures = match.groups()
    _check_halves(text, figures)
    east0, columns = POLAR_COLUMNS[letter]
    rows = POLAR_ROWS if letter in "AB" else POLAR_ROWS[:14]
    half = len(figures) // 2
    side = 10.0 ** (5 - half)
    easting = east0 + _letter(columns, column, f"columns of polar zone {letter}", text) * SQUARE_M
    northing = POLAR_FIRST_ROW_M[letter] + _letter(rows, row, "rows", text) * SQUARE_M
    easting += int(figures[:half]) * side if half else 0.0
    northing += int(figures[half:]) * side if half else 0.0
    grid = UPS_SOUTH if letter in "AB" else UPS_NORTH
    ring = _ring(easting, northing, side)
    lat, lon = grid.inverse(ring[:, 0], ring[:, 1])
    points = list(zip(lat.tolist(), lon.tolist(), strict=True))
    if not _in_polar_area(np.array([lat[0]]))[0]:
        # The edge of the polar area cuts off the middle: take that of what is left.
        x, y = (part.ravel() for part in np.meshgrid(*[np.linspace(0.005, 0.995, 100)] * 2))
        x, y = easting + x * side, northing + y * side
        kept = _in_polar_area(grid.inverse(x, y)[0])
        if not kept.any():
            raise FormatError(
                f"square {letter}{column}{row} of {text!r} lies outside the polar area: ask again",
                text,
            )
        lat, lon = grid.inverse([x[kept].mean()], [y[kept].mean()])
        points[0] = (float(lat[0]), float(lon[0]))
    return square_from_outline(points[1:], points[0], side)


def _in_polar_area(lat_deg: FloatArray) -> BoolArray:
    return (lat_deg < UTM_SOUTH_LIMIT_DEG) | (lat_deg >= UTM_NORTH_LIMIT_DEG)


def _readings(text: str, area: Area | None) -> list[Reading]:
    compact = _compact(text)
    if compact.isalpha() and _POLAR.fullmatch(compact) and compact == "".join(text.split()).upper():
        raise FormatError(
            f"{text!r} may be a word: where a square near a pole is meant, say 'MGRS {compact}'",
            text,
        )
    if _UNIT_BETWEEN.fullmatch(text):
        raise FormatError(
            f"{text!r} may be two numbers with a unit between them: where a square is meant, say "
            f"'MGRS {compact}'",
            text,
        )
    if _FULL.fullmatch(compact) or _POLAR.fullmatch(compact):
        return [Reading("mgrs", parse_mgrs(text), _of_groups(text))]
    if match := _NO_ZONE.fullmatch(compact):
        _check_halves(text, match[3])
        return _complete(text, area, match[3], match[1] + match[2])
    if match := _BARE.fullmatch(re.sub(r"[,/]", " ", text).strip()):
        if area is None:
            return []
        figures = match[3] or (match[1] + match[2])
        if not match[3]:
            _check_halves(text, figures)
        return _complete(text, area, figures, "")
    return []


def _of_groups(text: str) -> tuple[str, ...]:
    """Pairs of figures that may be a reference and a time, said to be taken together."""
    groups = re.findall(r"\d+", re.sub(r"^.*[A-Za-z]", "", text, flags=re.DOTALL))
    if len(groups) > 2 and len(groups[0]) > 1:
        return (f"the groups {' '.join(groups)} taken together",)
    return ()


def _complete(text: str, area: Area | None, figures: str, letters: str) -> list[Reading]:
    """Add the zone, or the zone and the square letters, from the area of operations."""
    if area is None:
        raise FormatError(
            f"{text!r} does not say the grid zone: ask for it (as in 31U {letters}), or give the "
            "area of operations",
            text,
        )
    if not letters and squares_in(area) > MOST_SQUARES:
        raise FormatError(
            f"{text!r} fits about {squares_in(area):.0f} squares of the area of operations: ask "
            "for the grid zone and the two letters of the square",
            text,
        )
    kind = "zone" if letters else "zone and square"
    found = [
        Reading("mgrs", square, (f"{kind} {name}, from the area of operations",))
        for name, square in _squares_of_area(area, figures, letters)
    ]
    if found or not letters:
        return found
    zones = zones_about(area)
    for zone in (each for each in zones if letters[0] in COLUMN_SETS[(int(each[:2]) - 1) % 3]):
        try:
            square = parse_mgrs(zone + letters + figures)
        except FormatError:
            continue
        found.append(Reading("mgrs", square, (f"{kind} {zone}, from the area of operations",)))
    if found:
        return found
    raise FormatError(
        f"square {letters} of {text!r} is in none of the zones of the area of operations "
        f"({_named(zones)}): ask for the letters again",
        text,
    )


def _named(zones: Sequence[str]) -> str:
    """Some zones for a sentence."""
    return ", ".join(zones[:_MOST_NAMED]) + (" ..." if len(zones) > _MOST_NAMED else "")


def _squares_of_area(area: Area, figures: str, letters: str) -> list[tuple[str, Square]]:
    """What can be added before figures, and the square that they then name in an area.

    A square on the rim belongs to the area with any part of it. The nearest to the middle is first.
    """
    half = len(figures) // 2
    side = 10.0 ** (5 - half)
    ring = _ring(float(figures[:half]) * side, float(figures[half:]) * side, side)
    corners = squares_about(area, letters)
    found: list[tuple[float, str, Square]] = []
    if corners.zone.size:
        lat, lon = corners.latlon(ring[:, 0], ring[:, 1])
        far, _, _ = inverse_arrays(area.centre.lat_deg, area.centre.lon_deg, lat[:, 0], lon[:, 0])
        bands = [
            {_band_near(low), _band_near(high)}
            for low, high in zip(lat.min(axis=1).tolist(), lat.max(axis=1).tolist(), strict=True)
        ]
        near = np.flatnonzero(far <= area.radius_m + side).tolist()
        if letters and len(near) > _MOST_MEANINGS:
            zones = [f"{corners.zone[i]:02d}{_band_near(float(lat[i, 0]))}" for i in near]
            raise FormatError(
                f"square {letters} is in {len(zones)} zones of the area of operations "
                f"({_named(zones)}): ask for the grid zone",
                letters + figures,
            )
        for i in near:
            zone = int(corners.zone[i])
            for band in sorted(bands[i]):
                ground = ground_of(zone, band)
                square = ground and _square_of_ring(zone, ground, lat[i], lon[i], side)
                if square:
                    name = f"{zone:02d}{band}" + ("" if letters else corners.letters(i))
                    found.append((float(far[i]), name, square))
    for name in polar_squares_about(area, letters):
        try:
            square = parse_mgrs(name + figures)
        except FormatError:
            continue
        away = geodesic(area.centre, square.centre).distance_m
        if away <= area.radius_m + side:
            found.append((away, name[:1] if letters else name, square))
    return [(name, square) for _, name, square in sorted(found, key=lambda each: each[0])]


def _band_near(lat_deg: float) -> str:
    """Band of a latitude, or the one next to it where it has none."""
    return band_of(min(max(lat_deg, UTM_SOUTH_LIMIT_DEG), UTM_NORTH_LIMIT_DEG - 1e-9))


def _figures(size_m: float) -> int:
    return next((n for n in range(6) if 10.0 ** (5 - n) <= size_m * 1.000001), 5)


def _write(position: Position, size_m: float) -> str:
    # The letters of a polar square alone are as likely a word, and are not read without the name.
    figures = _figures(size_m)
    return format_mgrs(position, figures if zone_of(position) else max(figures, 1))


def _read_array(texts: Sequence[str] | Texts) -> Squares:
    return mgrs_arrays.parse_mgrs_array(texts, parse_mgrs)


def _write_array(lat_deg: ArrayLike, lon_deg: ArrayLike, size_m: float) -> Texts:
    return mgrs_arrays.format_mgrs_array(lat_deg, lon_deg, _figures(size_m))


FORMAT: Final = Format(
    name="mgrs",
    example="31UDQ4825111932",
    readings=_readings,
    write=_write,
    read_array=_read_array,
    write_array=_write_array,
)

FORMATS: Final = (FORMAT,)
