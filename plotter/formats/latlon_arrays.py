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

__all__ = ["PLAIN_PAIR", "PlainPairs", "read_plain_pairs", "write_latlon"]

# Two numbers with decimals, latitude first, both with their letter or both without. What a number
# without decimals means is left to the careful reader.
PLAIN_PAIR: Final = re.compile(
    r" *(?:(\d{1,2}\.\d{1,9}) ?([NS])[, ] *(\d{1,3}\.\d{1,9}) ?([EW])"
    r"|(-?)(\d{1,2}\.\d{1,9})(?:, ?| )(-?)(\d{1,3}\.\d{1,9})) *",
    re.ASCII,
)
_ORDER: Final = "latitude first"
_ORDER_AND_SIDES: Final = "latitude first; north and east: no letter and no sign"
_UNITS: Final = np.array([10.0**-n for n in range(10)])
# A fifth over the wished size is accepted, as for a single text.
_SLACK: Final = float(np.log10(1.2))
_TIE: Final = 1e-3  # nearer than this to a half of the last figure, a row is rounded by itself


@dataclass(frozen=True, slots=True)
class PlainPairs:
    """Plain pairs as columns, shape (n,) each.

    Parameters
    ----------
    lat_deg, lon_deg, size_m : ndarray
        Centres, and the longer sides of the cells that the written figures leave open.
    assumed : list of str
        What each reading rests on, parts joined with a semicolon; empty where the text says it all.
    ok : ndarray of bool
        False where the careful reader has to decide: beyond the range, or zero without a side.
    """

    lat_deg: FloatArray
    lon_deg: FloatArray
    size_m: FloatArray
    assumed: list[str]
    ok: BoolArray


def read_plain_pairs(found: Sequence[re.Match[str]]) -> PlainPairs:
    """Columns of texts that `PLAIN_PAIR` matched, as the reader of single texts would have them.

    Parameters
    ----------
    found : sequence of re.Match
        The matches.
    """
    if not found:
        nothing = np.zeros(0)
        return PlainPairs(nothing, nothing, nothing, [], np.zeros(0, dtype=np.bool_))
    columns = tuple(zip(*(match.groups() for match in found), strict=True))
    lettered_lat, side, lettered_lon, other, lat_minus, bare_lat, lon_minus, bare_lon = columns
    lat_deg, lat_unit = _numbers([a or b for a, b in zip(lettered_lat, bare_lat, strict=True)])
    lon_deg, lon_unit = _numbers([a or b for a, b in zip(lettered_lon, bare_lon, strict=True)])
    signs = (
        np.where([a == "S" or b == "-" for a, b in zip(side, lat_minus, strict=True)], -1.0, 1.0),
        np.where([a == "W" or b == "-" for a, b in zip(other, lon_minus, strict=True)], -1.0, 1.0),
    )
    assumed = [
        "" if letter else _ORDER if lat_sign or lon_sign else _ORDER_AND_SIDES
        for letter, lat_sign, lon_sign in zip(side, lat_minus, lon_minus, strict=True)
    ]
    bare = np.array([letter is None for letter in side])
    ok: BoolArray = (lat_deg <= 90.0) & (lon_deg < 180.0)
    ok &= ~bare | ((lat_deg > 0.0) & (lon_deg > 0.0))
    per_lat, per_lon = _metres_per_degree(np.minimum(lat_deg, 90.0))
    size_m = np.maximum(lat_unit * per_lat, lon_unit * per_lon)
    # Adding zero turns −0.0 into 0.0.
    return PlainPairs(signs[0] * lat_deg + 0.0, signs[1] * lon_deg + 0.0, size_m, assumed, ok)


def _numbers(texts: list[str]) -> tuple[FloatArray, FloatArray]:
    """Values, and one unit of their last written figures."""
    decimals = np.array([len(text) - text.index(".") - 1 for text in texts])
    return np.array(list(map(float, texts))), _UNITS[decimals]


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
