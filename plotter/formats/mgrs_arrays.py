"""MGRS in bulk: many places to texts and back, as whole columns, a cache-sized chunk at a time."""

from collections.abc import Callable, Sequence
from functools import cache
from typing import Final, TypeAlias, TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from plotter.errors import FormatError
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
from plotter.formats.protocol import Texts
from plotter.formats.result import Squares
from plotter.formats.zones import BANDS
from plotter.geodesy.arrays import BoolArray, FloatArray, IntArray, as_float, half_turn_deg
from plotter.geodesy.ellipsoid import WGS84
from plotter.geodesy.grid import (
    TRUNCATION_NUDGE_M,
    UPS_NORTH,
    UTM_FALSE_EASTING_M,
    UTM_K0,
    UTM_NORTH_LIMIT_DEG,
    UTM_SOUTH_FALSE_NORTHING_M,
    UTM_SOUTH_LIMIT_DEG,
    zones_of,
)
from plotter.geodesy.position import Square
from plotter.geodesy.transverse_mercator import plane_from_sphere, sphere_from_plane

__all__ = ["format_mgrs_array", "parse_mgrs_array"]

_CHUNK: Final = 12_288  # fewer calls of numpy weigh more than columns that leave the cache
_EQUATOR_FROM_SOUTH_M: Final = int(UTM_SOUTH_FALSE_NORTHING_M)
# The southern grid is the northern one upside down about its pole.
_POLAR_MIRROR_M: Final = 2 * UPS_NORTH.false_northing_m
_Codes: TypeAlias = NDArray[np.uint32]
_Reader: TypeAlias = Callable[[_Codes], tuple[FloatArray, FloatArray, BoolArray]]
_Job = TypeVar("_Job")


def format_mgrs_array(lat_deg: ArrayLike, lon_deg: ArrayLike, figures: int = 5) -> Texts:
    """MGRS references of many places, truncated.

    Parameters
    ----------
    lat_deg, lon_deg : array_like
        Degrees; shapes broadcast, the result is flat.
    figures : int
        Figures for each of easting and northing, 0 to 5.

    Returns
    -------
    ndarray of str, shape (n,)
        Two figures for every zone; the polar form near the poles.

    Raises
    ------
    FormatError
        If a place is not finite or out of range; the message names the first row.
    """
    if figures not in range(6):
        raise FormatError(f"an MGRS reference has 0 to 5 figures a side, not {figures!r}")
    lat, lon = (
        np.ascontiguousarray(part, dtype=np.float64).ravel()
        for part in np.broadcast_arrays(np.asarray(lat_deg, float), np.asarray(lon_deg, float))
    )
    bad = ~((np.abs(lat) <= 90.0) & (np.abs(lon) <= 360.0))
    if bad.any():
        row = int(np.argmax(bad))
        raise FormatError(f"row {row} is not a place: latitude {lat[row]}, longitude {lon[row]}")
    table = np.empty(lat.size, dtype=_layout(figures))

    def write(start: int) -> None:
        part = slice(start, start + _CHUNK)
        _write_zone_columns(table[part], lat[part], lon[part], figures)

    _each(write, range(0, lat.size, _CHUNK))
    texts: Texts = table.view(f"U{5 + 2 * figures}")
    polar = np.flatnonzero((lat < UTM_SOUTH_LIMIT_DEG) | (lat >= UTM_NORTH_LIMIT_DEG))
    if polar.size:
        texts[polar] = _polar_texts(lat[polar], lon[polar], figures)
    return texts


# Figures of one side, cut into groups whose tables are small.
_GROUPS: Final = ((), (1,), (2,), (3,), (2, 2), (2, 3))


def _layout(figures: int) -> np.dtype[np.void]:
    """A reference as fields side by side: zone, band, 100 km square, groups of figures."""
    groups = list(enumerate(_GROUPS[figures]))
    return np.dtype(
        [("zone", "U2"), ("band", "U1"), ("square", "U2")]
        + [(f"{side}{k}", f"U{width}") for side in "en" for k, width in groups]
    )


def _write_zone_columns(
    table: NDArray[np.void], lat: FloatArray, lon: FloatArray, figures: int
) -> None:
    """Fill in zone references.

    What is written for a place near a pole means nothing; the caller replaces it.
    """
    zone = zones_of(lat, lon)
    east = lon - (6.0 * zone - 183.0)
    east *= zone > 0  # one place far from its meridian would make the whole chunk slow
    if east.size and float(np.abs(east).max()) > 180.0:
        east = half_turn_deg(east)
    x, y, _, _ = plane_from_sphere(lat, east, WGS84)
    easting = (x * UTM_K0 + (UTM_FALSE_EASTING_M + TRUNCATION_NUDGE_M)).astype(np.int32)
    south = lat < 0
    origin = south * UTM_SOUTH_FALSE_NORTHING_M + TRUNCATION_NUDGE_M
    northing = (y * UTM_K0 + origin).astype(np.int32)
    # A hair south of the equator is still south of it, here and in the band below.
    northing -= south & (northing == _EQUATOR_FROM_SOUTH_M)
    column, row = easting // 100_000, northing // 100_000
    zones, bands, squares, zone_start = _zone_texts()
    table["zone"] = zones.take(zone, mode="clip")
    band = (lat * 0.125 + 10.0).astype(np.int32)
    band -= south & (band == BANDS.index("N"))
    table["band"] = bands.take(band, mode="clip")
    table["square"] = squares.take(zone_start.take(zone) + column * 100 + row, mode="clip")
    _write_figures(table, "e", easting - column * 100_000, figures)
    _write_figures(table, "n", northing - row * 100_000, figures)


def _polar_texts(lat: FloatArray, lon: FloatArray, figures: int) -> Texts:
    south = lat < 0
    x, y = UPS_NORTH.forward(np.abs(lat), lon)
    easting = (x + TRUNCATION_NUDGE_M).astype(np.int32)
    northing = (np.where(south, _POLAR_MIRROR_M - y, y) + TRUNCATION_NUDGE_M).astype(np.int32)
    texts = np.empty(lat.size, f"U{3 + 2 * figures}")
    for letter, (east0, columns) in POLAR_COLUMNS.items():
        here = (south == (letter in "AB")) & ((easting >= 2_000_000) == (letter in "BZ"))
        column = (easting[here] - int(east0)) // 100_000
        row = (northing[here] - int(POLAR_FIRST_ROW_M[letter])) // 100_000
        texts[here] = np.char.add(_letters(columns)[column], _letters(POLAR_ROWS)[row])
        texts[here] = np.char.add(letter, texts[here])
    for value in (easting, northing) if figures else ():
        part = value % 100_000 // 10 ** (5 - figures)
        texts = np.char.add(texts, np.char.zfill(part.astype(np.str_), figures))
    return texts


def _write_figures(
    table: NDArray[np.void], side: str, value: NDArray[np.int32], figures: int
) -> None:
    """Write metres within a 100 km square as figures, the last group first."""
    if figures < 5:
        value = value // 10 ** (5 - figures)
    for k, width in reversed(list(enumerate(_GROUPS[figures]))):
        rest = value // 10**width
        table[f"{side}{k}"] = _numerals(width).take(value - rest * 10**width, mode="clip")
        value = rest


@cache
def _numerals(width: int) -> Texts:
    """Every number of so many figures, as text."""
    return np.array([f"{i:0{width}d}" for i in range(10**width)])


@cache
def _letters(letters: str) -> Texts:
    return np.array(list(letters))


@cache
def _zone_texts() -> tuple[Texts, Texts, Texts, NDArray[np.int32]]:
    """Zones, bands, and letters of 100 km squares with where those of each zone begin.

    A zone's letters stand 100 to a column; the rows repeat every 20.
    """
    squares = np.zeros((6, 10, 100), dtype="U2")
    for zone in range(1, 7):
        for column, first in enumerate(COLUMN_SETS[(zone - 1) % 3], start=1):
            for row in range(100):
                squares[zone % 6, column, row] = first + ROWS[(row + first_row(zone)) % 20]
    zone_start = np.arange(61, dtype=np.int32) % 6 * 1000
    return _numerals(2)[:61], _letters(BANDS), squares.ravel(), zone_start


def parse_mgrs_array(texts: Sequence[str] | Texts, parse_one: Callable[[str], Square]) -> Squares:
    """Squares of many MGRS references.

    Parameters
    ----------
    texts : sequence of str, length n
        Complete references. Those of the plain form (upper case, no spaces, two zone figures) are
        read as whole columns; every other one, and every square that a zone's edge cuts, goes
        through `parse_one`.
    parse_one : callable
        The reader of a single text.

    Returns
    -------
    Squares
        NaN and a reason where a text could not be read.
    """
    array = np.ascontiguousarray(texts, dtype=np.str_).ravel()
    n = array.size
    lat, lon, size = (np.full(n, np.nan) for _ in range(3))
    done = np.zeros(n, dtype=bool)
    width = array.dtype.itemsize // 4
    if n and width:
        codes = array.view(np.uint32).reshape(n, width)
        lengths = (codes != 0).sum(axis=1)
        zoned = codes[:, 0] <= ord("9")

        def read(job: tuple[_Reader, int, IntArray]) -> None:
            reader, prefix, rows = job
            a, o, good = reader(np.ascontiguousarray(codes[rows].T))
            kept = rows[good]
            lat[kept], lon[kept], done[kept] = a[good], o[good], True
            size[kept] = 10.0 ** (5 - (int(lengths[rows[0]]) - prefix) // 2)

        jobs = [
            (reader, prefix, rows[start : start + _CHUNK])
            for reader, prefix, kind in ((_read_zones, 5, zoned), (_read_polar, 3, ~zoned))
            for length in range(prefix, min(prefix + 10, width) + 1, 2)
            for rows in [np.flatnonzero(kind & (lengths == length))]
            for start in range(0, rows.size, _CHUNK)
        ]
        _each(read, jobs)
    reasons: dict[int, str] = {}
    for i in np.flatnonzero(~done).tolist():
        try:
            square = parse_one(str(array[i]))
        except FormatError as error:
            reasons[i] = str(error)
            continue
        lat[i], lon[i], size[i] = square.centre.lat_deg, square.centre.lon_deg, square.size_m
    return Squares(lat, lon, size, reasons)


def _read_zones(codes: _Codes) -> tuple[FloatArray, FloatArray, BoolArray]:
    """Centres of zone references of one length, and which of them are plain and uncut."""
    codes = _cut(codes)
    digits = codes - np.uint32(ord("0"))  # what is below "0" wraps round to a huge number
    good = (digits[0] <= 9) & (digits[1] <= 9)
    zone = np.where(good, digits[0] * 10 + digits[1], 1).astype(np.int64)
    good &= (zone >= 1) & (zone <= 60)
    bands, columns, rows = _code_tables()
    letters = np.minimum(codes[2:5], 127).astype(np.int64)
    band = bands.take(letters[0])
    column = columns.ravel().take(zone % 3 * 128 + letters[1])
    row = rows.ravel().take(zone % 2 * 128 + letters[2])
    good &= (band >= 0) & (column >= 0) & (row >= 0)
    easting, northing, side, figures_good = _figures_of(digits[5:])
    good &= figures_good
    easting += column * SQUARE_M + side / 2
    lowest = band_first_northing_m().take(band)
    above = row * SQUARE_M - lowest
    northing += lowest + (above - np.floor(above / ROW_CYCLE_M) * ROW_CYCLE_M) + side / 2
    south = band < BANDS.index("N")
    lat, east = sphere_from_plane(
        (easting - UTM_FALSE_EASTING_M) / UTM_K0,
        (northing - np.where(south, UTM_SOUTH_FALSE_NORTHING_M, 0.0)) / UTM_K0,
        WGS84,
    )
    lon = east + (6.0 * zone - 183.0)
    over = np.abs(lon) >= 180.0
    if over.any():
        lon = np.where(over, half_turn_deg(lon), lon)
    # A cut square's centre may lie across the edge: leave those to the careful reader.
    good &= zones_of(lat, lon) == zone
    good &= np.minimum((lat + 80.0).astype(np.int64) // 8, 19) == band
    return lat, lon, good


def _read_polar(codes: _Codes) -> tuple[FloatArray, FloatArray, BoolArray]:
    """Centres of polar references of one length, and which of them are plain and uncut."""
    codes = _cut(codes)
    easting, northing, side, good = _figures_of(codes[3:] - np.uint32(ord("0")))
    known = np.zeros_like(good)
    easting += side / 2
    northing += side / 2
    letters = np.minimum(codes[:3], 127).astype(np.int64)
    for letter, (east0, columns) in POLAR_COLUMNS.items():
        here = letters[0] == ord(letter)
        column = _index_of(columns)[letters[1, here]]
        row = _index_of(POLAR_ROWS if letter in "AB" else POLAR_ROWS[:14])[letters[2, here]]
        known[here] = (column >= 0) & (row >= 0)
        easting[here] += east0 + column * SQUARE_M
        northing[here] += POLAR_FIRST_ROW_M[letter] + row * SQUARE_M
    south = letters[0] <= ord("B")
    lat, lon = UPS_NORTH.inverse(easting, np.where(south, _POLAR_MIRROR_M - northing, northing))
    lat = np.where(south, -lat, lat)
    return lat, lon, good & known & (zones_of(lat, lon) == 0) & ((lat < 0) == south)


def _cut(codes: _Codes) -> _Codes:
    """Without the empty rows below the last character."""
    return codes[: int((codes[:, 0] != 0).sum())]


def _figures_of(digits: _Codes) -> tuple[FloatArray, FloatArray, float, BoolArray]:
    """Easting and northing within the 100 km square, the side, and whether all are figures."""
    half = len(digits) // 2
    side = 10.0 ** (5 - half)
    good = np.ones(digits.shape[1], dtype=np.bool_)
    for row in digits:
        good &= row <= 9
    east, north = (np.zeros(digits.shape[1], dtype=np.uint32) for _ in range(2))
    for k in range(half):
        east = east * 10 + digits[k]
        north = north * 10 + digits[half + k]
    return as_float(east * side), as_float(north * side), side, good


def _each(work: Callable[[_Job], None], jobs: Sequence[_Job]) -> None:
    """Do the jobs, in two threads where there are several: numpy lets go of the interpreter."""
    if len(jobs) < 3:
        for job in jobs:
            work(job)
        return
    from concurrent.futures import ThreadPoolExecutor  # imported late: one text needs none

    with ThreadPoolExecutor(2) as pool:
        list(pool.map(work, jobs))


@cache
def _index_of(letters: str) -> IntArray:
    """Index of each character code in a run of letters, −1 where it is not among them."""
    table = np.full(128, -1, dtype=np.int64)
    table[[ord(c) for c in letters]] = np.arange(len(letters))
    return table


@cache
def _code_tables() -> tuple[IntArray, IntArray, IntArray]:
    """Indices by character code, −1 where the letter is not used: bands, columns, rows."""
    columns, rows = (np.full(shape, -1, dtype=np.int64) for shape in ((3, 128), (2, 128)))
    for zone in range(1, 7):
        columns[zone % 3] = _index_of(COLUMN_SETS[(zone - 1) % 3])
        rows[zone % 2] = np.where(_index_of(ROWS) < 0, -1, (_index_of(ROWS) - first_row(zone)) % 20)
    return _index_of(BANDS), np.where(columns < 0, -1, columns + 1), rows
