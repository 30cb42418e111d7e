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

_CHUNK: Final = 8192  # intermediate columns stay in the second-level cache
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
    width = 5 + 2 * figures
    codes = np.zeros((lat.size, width), dtype=np.uint32)

    def write(start: int) -> None:
        part = slice(start, start + _CHUNK)
        codes[part] = _zone_columns(lat[part], lon[part], figures).T

    _each(write, range(0, lat.size, _CHUNK))
    polar = np.flatnonzero((lat < UTM_SOUTH_LIMIT_DEG) | (lat >= UTM_NORTH_LIMIT_DEG))
    if polar.size:
        codes[polar] = _polar_columns(lat[polar], lon[polar], figures).T
    texts: Texts = codes.view(f"U{width}").ravel()
    return texts


def _zone_columns(lat: FloatArray, lon: FloatArray, figures: int) -> _Codes:
    """Character codes of zone references, one row a character, (5 + 2 figures, n).

    What is written for a place near a pole means nothing; the caller replaces it.
    """
    zone = np.maximum(zones_of(lat, lon), 1)
    east = lon - (6.0 * zone - 183.0)
    if east.size and float(np.abs(east).max()) > 180.0:
        east = half_turn_deg(east)
    x, y, _, _ = plane_from_sphere(lat, east, WGS84)
    easting = (x * UTM_K0 + (UTM_FALSE_EASTING_M + TRUNCATION_NUDGE_M)).astype(np.int32)
    south = lat < 0
    origin = np.where(south, UTM_SOUTH_FALSE_NORTHING_M, 0.0)
    northing = (y * UTM_K0 + TRUNCATION_NUDGE_M + origin).astype(np.int32)
    # A hair south of the equator is still south of it, here and in the band below.
    northing -= south & (northing == _EQUATOR_FROM_SOUTH_M)
    column, row = easting // 100_000, northing // 100_000
    bands, columns, rows = _letter_tables()
    codes = np.empty((5 + 2 * figures, lat.size), dtype=np.uint32)
    _write_digits(zone.astype(np.int32), codes[0:2])
    band = (lat + 80.0).astype(np.int32) // 8
    band -= south & (band == BANDS.index("N"))
    codes[2] = bands.take(band, mode="clip")
    codes[3] = columns.ravel().take(zone % 3 * columns.shape[1] + column, mode="clip")
    codes[4] = rows.ravel().take(zone % 2 * rows.shape[1] + row % 20, mode="clip")
    _write_digits((easting - column * 100_000) // 10 ** (5 - figures), codes[5 : 5 + figures])
    _write_digits((northing - row * 100_000) // 10 ** (5 - figures), codes[5 + figures :])
    return codes


def _polar_columns(lat: FloatArray, lon: FloatArray, figures: int) -> _Codes:
    """Character codes of polar references, one row a character; the last two rows stay empty."""
    south = lat < 0
    x, y = UPS_NORTH.forward(np.abs(lat), lon)
    easting = (x + TRUNCATION_NUDGE_M).astype(np.int32)
    northing = (np.where(south, _POLAR_MIRROR_M - y, y) + TRUNCATION_NUDGE_M).astype(np.int32)
    codes = np.zeros((5 + 2 * figures, lat.size), dtype=np.uint32)
    for letter, (east0, columns) in POLAR_COLUMNS.items():
        here = (south == (letter in "AB")) & ((easting >= 2_000_000) == (letter in "BZ"))
        codes[0, here] = ord(letter)
        codes[1, here] = _codes(columns)[(easting[here] - int(east0)) // 100_000]
        row = (northing[here] - int(POLAR_FIRST_ROW_M[letter])) // 100_000
        codes[2, here] = _codes(POLAR_ROWS)[row]
    # Shorter by the two zone figures; the empty end is not part of the text.
    _write_digits(easting % 100_000 // 10 ** (5 - figures), codes[3 : 3 + figures])
    _write_digits(northing % 100_000 // 10 ** (5 - figures), codes[3 + figures : 3 + 2 * figures])
    return codes


def _write_digits(value: NDArray[np.int32], rows: _Codes) -> None:
    """Write numbers as decimal characters, the last figure into the last row."""
    for k in reversed(range(len(rows))):
        rest = value // 10
        rows[k] = value - rest * 10 + ord("0")
        value = rest


def _codes(letters: str) -> _Codes:
    return np.array([ord(c) for c in letters], dtype=np.uint32)


@cache
def _letter_tables() -> tuple[_Codes, _Codes, _Codes]:
    """Codes of bands, of columns by zone % 3 and 100 km easting, of rows by zone % 2."""
    columns = np.zeros((3, 10), dtype=np.uint32)
    for zone in (1, 2, 3):
        columns[zone % 3, 1:9] = [ord(c) for c in COLUMN_SETS[(zone - 1) % 3]]
    rows = np.zeros((2, 20), dtype=np.uint32)
    for zone in (1, 2):
        rows[zone % 2] = [ord(ROWS[(i + first_row(zone)) % 20]) for i in range(20)]
    return _codes(BANDS), columns, rows


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
    band, column, row = (np.full(shape, -1, dtype=np.int64) for shape in (128, (3, 128), (2, 128)))
    bands, columns, rows = _letter_tables()
    band[bands] = np.arange(20)
    for key in range(3):
        column[key, columns[key, 1:9]] = np.arange(1, 9)
    for key in range(2):
        row[key, rows[key]] = np.arange(20)
    return band, column, row
