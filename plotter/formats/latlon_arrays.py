"""Decimal degrees in bulk: plain pairs of numbers to columns, and columns back to text."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from plotter.formats.latlon import FORMAT
from plotter.formats.protocol import Texts
from plotter.geodesy.arrays import BoolArray, FloatArray, IntArray
from plotter.geodesy.ellipsoid import WGS84
from plotter.geodesy.position import Position

__all__ = ["PlainPairs", "read_plain_pairs", "write_latlon"]

# Two numbers with decimals, latitude first; one answer a line, empty for a line of another kind.
# What a number without decimals means is left to the careful reader.
_LINE: Final = (
    r"^ *(-?)(\d{1,2}\.(\d{1,9})) ?([NS]?)(?:, *| +)"
    r"(-?)(\d{1,3}\.(\d{1,9})) ?([EW]?) *$|^.*$"
)
_ASSUMED: Final = np.array(
    ["", "latitude first", "latitude first; north and east: no letter and no sign"], dtype=object
)
_UNITS: Final = np.array([10.0**-n for n in range(10)])
# A fifth over the wished size is accepted, as for a single text.
_SLACK: Final = float(np.log10(1.2))
_TIE: Final = 1e-3  # nearer than this to a half of the last figure, a row is rounded by itself


@dataclass(frozen=True, slots=True)
class PlainPairs:
    """Plain pairs as columns, shape (k,) each.

    Parameters
    ----------
    rows : ndarray of int
        Which of the texts they are.
    lat_deg, lon_deg, size_m : ndarray
        Centres, and the longer sides of the cells that the written figures leave open.
    assumed : ndarray of str
        What each reading rests on, parts joined with a semicolon; empty where the text says it all.
    """

    rows: IntArray
    lat_deg: FloatArray
    lon_deg: FloatArray
    size_m: FloatArray
    assumed: NDArray[np.object_]


def read_plain_pairs(texts: Sequence[str]) -> PlainPairs:
    """Columns of texts as the reader of single texts would have them, where they are plain.

    Parameters
    ----------
    texts : sequence of str, length n
        Texts of any kind.
    """
    # A text of two lines would put every row after it a line too low.
    one_line = [text if "\n" not in text else "" for text in texts]
    lines = re.findall(_LINE, "\n".join(one_line), re.ASCII | re.MULTILINE) if one_line else []
    rows = np.array([i for i, line in enumerate(lines) if line[1]], dtype=np.int64)
    columns = tuple(zip(*(line for line in lines if line[1]), strict=True)) or ((),) * 8
    minus, lat, lat_tail, side, other_minus, lon, lon_tail, other_side = columns
    lat_deg, lat_unit = _numbers(lat, lat_tail)
    lon_deg, lon_unit = _numbers(lon, lon_tail)
    signed = _is(minus, "-"), _is(other_minus, "-")
    lettered = _is(side, "N", "S"), _is(other_side, "E", "W")
    both = lettered[0] & lettered[1] & ~signed[0] & ~signed[1]
    bare = ~lettered[0] & ~lettered[1]
    # Zero has no side, and a longitude of 180 two.
    ok: BoolArray = both | (bare & (lat_deg > 0.0) & (lon_deg > 0.0))
    ok &= (lat_deg <= 90.0) & (lon_deg < 180.0)
    lat_sign = np.where(signed[0] | _is(side, "S"), -1.0, 1.0)
    lon_sign = np.where(signed[1] | _is(other_side, "W"), -1.0, 1.0)
    per_lat, per_lon = _metres_per_degree(np.minimum(lat_deg, 90.0))
    size_m = np.maximum(lat_unit * per_lat, lon_unit * per_lon)
    kind = np.where(both, 0, np.where(signed[0] | signed[1], 1, 2))
    # Adding zero turns −0.0 into 0.0.
    return PlainPairs(
        rows[ok],
        (lat_sign * lat_deg + 0.0)[ok],
        (lon_sign * lon_deg + 0.0)[ok],
        size_m[ok],
        _ASSUMED[kind[ok]],
    )


def _numbers(texts: Sequence[str], tails: Sequence[str]) -> tuple[FloatArray, FloatArray]:
    """Values, and one unit of their last written figures."""
    decimals = np.array(list(map(len, tails)), dtype=np.int64)
    return np.array(list(map(float, texts)), dtype=np.float64), _UNITS[decimals]


def _is(texts: Sequence[str], *wanted: str) -> BoolArray:
    return np.array([text in wanted for text in texts], dtype=np.bool_)


def _metres_per_degree(lat_deg: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Lengths of one degree of latitude and of one degree of longitude, metres."""
    phi = np.radians(lat_deg)
    w2 = 1.0 - WGS84.e2 * np.sin(phi) ** 2
    north = WGS84.a_m * (1.0 - WGS84.e2) / w2**1.5 * np.pi / 180.0
    east = WGS84.a_m * np.maximum(np.cos(phi), 0.0) / np.sqrt(w2) * np.pi / 180.0
    return north, east


def write_latlon(lat_deg: FloatArray, lon_deg: FloatArray, size_m: FloatArray) -> Texts:
    """Decimal degrees with their letters, each row as fine as its own size asks for.

    Parameters
    ----------
    lat_deg, lon_deg : ndarray, shape (n,)
        Places.
    size_m : ndarray, shape (n,)
        How finely to write each, metres.

    Returns
    -------
    ndarray of str, shape (n,)
        The same texts as the writer of single places gives.
    """
    n = lat_deg.size
    per_degree = np.maximum(*_metres_per_degree(lat_deg))
    decimals = np.clip(np.ceil(np.log10(per_degree / size_m) - _SLACK), 0, 9).astype(np.int64)
    most = int(decimals.max(initial=0))
    # "89.d…N 179.d…E"
    codes = np.zeros((n, 2 + 1 + most + 1 + 1 + 3 + 1 + most + 1), dtype=np.uint32)
    scale = 10**decimals
    scaled = [np.abs(value) * scale for value in (lat_deg, lon_deg)]
    units = [np.rint(value).astype(np.int64) for value in scaled]
    wholes = [value // scale for value in units]
    widths = [(whole >= 10).astype(np.int64) + (whole >= 100) + 1 for whole in wholes]
    kind = decimals * 16 + widths[0] * 4 + widths[1]
    for each in np.unique(kind).tolist():
        rows = np.flatnonzero(kind == each)
        places = each // 16
        lat_width, lon_width = each % 16 // 4, each % 4
        columns: list[NDArray[np.uint32]] = []
        for value, unit, width, letters in (
            (lat_deg, units[0], lat_width, "NS"),
            (lon_deg, units[1], lon_width, "EW"),
        ):
            figures = _figures(unit[rows], width + places)
            negative = (value[rows] < 0) & (unit[rows] > 0)
            letter = np.where(negative, ord(letters[1]), ord(letters[0])).astype(np.uint32)
            point = [_same(".", rows)] if places else []
            columns += [*figures[:width], *point, *figures[width:], letter, _same(" ", rows)]
        columns.pop()
        codes[rows, : len(columns)] = np.column_stack(columns)
    texts: Texts = codes.view(f"U{codes.shape[1]}").ravel()
    near = np.zeros(n, dtype=np.bool_)
    for exact in scaled:
        near |= np.abs(exact - np.floor(exact) - 0.5) < _TIE
    for i in np.flatnonzero(near).tolist():
        texts[i] = FORMAT.write(Position(float(lat_deg[i]), float(lon_deg[i])), float(size_m[i]))
    return texts


def _figures(value: IntArray, count: int) -> list[NDArray[np.uint32]]:
    """Decimal characters of numbers, first figure first."""
    columns: list[NDArray[np.uint32]] = []
    for _ in range(count):
        rest = value // 10
        columns.append((value - rest * 10 + ord("0")).astype(np.uint32))
        value = rest
    return columns[::-1]


def _same(character: str, rows: IntArray) -> NDArray[np.uint32]:
    return np.full(rows.size, ord(character), dtype=np.uint32)
