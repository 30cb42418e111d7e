"""Decimal degrees in bulk: plain pairs of numbers to columns, and columns back to text."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Final

import numpy as np
from numpy.typing import NDArray

from plotter.formats.latlon import FORMAT, SLACK
from plotter.formats.protocol import Texts
from plotter.geodesy.arrays import BoolArray, FloatArray, IntArray
from plotter.geodesy.ellipsoid import WGS84
from plotter.geodesy.position import Position

__all__ = ["PlainPairs", "read_plain_pairs", "write_latlon"]

# Two numbers with decimals, latitude first, every figure written as 0. What a number without
# decimals means is left to the careful reader.
_SHAPE: Final = r" *(-?)(0{1,2}\.(0{1,9})) ?([NS]?)(?:, *| +)(-?)(0{1,3}\.(0{1,9})) ?([EW]?) *"
_WIDTH: Final = 40  # room for such a pair; a multiple of eight, so that shapes compare as words
_MIX: Final = np.uint64(0x9E3779B97F4A7C15)  # an odd number with bits all over
_SIDES: Final = "latitude first; north and east: no letter and no sign"
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
    if not texts:
        return _nothing()
    # Longer texts are cut, and their last character shows it.
    wide = np.array(texts, dtype=f"U{_WIDTH}")
    codes = np.minimum(wide.view(np.uint32).reshape(wide.size, _WIDTH), 127).astype(np.uint8)
    shapes = np.where((codes >= ord("0")) & (codes <= ord("9")), np.uint8(ord("0")), codes)
    mixed = np.zeros(wide.size, dtype=np.uint64)
    for word in shapes.view(np.uint64).T:
        mixed = (mixed ^ word) * _MIX
        mixed ^= mixed >> np.uint64(29)
    order = np.argsort(mixed, kind="stable")
    starts = np.flatnonzero(np.diff(mixed[order], prepend=~mixed[order[:1]]))
    parts = [_nothing()]
    for start, end in zip(starts, [*starts[1:], wide.size], strict=True):
        shape = shapes[order[start]]
        match = re.fullmatch(_SHAPE, shape.tobytes().rstrip(b"\0").decode("ascii"))
        if match and not shape[-1]:
            rows = order[start:end]
            # Two shapes may mix to the same number.
            rows = rows[(shapes[rows] == shape).all(axis=1)]
            parts.append(_one_shape(match, rows, codes[rows].T))
    return PlainPairs(
        *(np.concatenate([getattr(part, f.name) for part in parts]) for f in fields(PlainPairs))
    )


def _nothing() -> PlainPairs:
    none = np.zeros(0)
    return PlainPairs(none.astype(np.int64), none, none, none, none.astype(object))


def _one_shape(match: re.Match[str], rows: IntArray, codes: NDArray[np.uint8]) -> PlainPairs:
    """Columns of texts whose figures stand in the same places, characters (width, k)."""
    minus, _, lat_tail, side, other_minus, _, lon_tail, other_side = match.groups()
    signed, lettered = bool(minus or other_minus), bool(side and other_side)
    if (signed and (side or other_side)) or (bool(side) != bool(other_side)):
        return _nothing()
    lat_deg, lon_deg = (
        _number(codes[slice(*match.span(group))], len(tail))
        for group, tail in ((2, lat_tail), (6, lon_tail))
    )
    # Zero has no side, and a longitude of 180 two.
    ok: BoolArray = (lat_deg <= 90.0) & (lon_deg < 180.0)
    if not lettered:
        ok &= (lat_deg > 0.0) & (lon_deg > 0.0)
    rows, lat_deg, lon_deg = rows[ok], lat_deg[ok], lon_deg[ok]
    per_lat, per_lon = _metres_per_degree(lat_deg)
    size_m = np.maximum(10.0 ** -len(lat_tail) * per_lat, 10.0 ** -len(lon_tail) * per_lon)
    assumed = np.full(
        rows.size, "" if lettered else "latitude first" if signed else _SIDES, dtype=object
    )
    # Adding zero turns −0.0 into 0.0.
    lat_deg = (-lat_deg if minus or side == "S" else lat_deg) + 0.0
    lon_deg = (-lon_deg if other_minus or other_side == "W" else lon_deg) + 0.0
    return PlainPairs(rows, lat_deg, lon_deg, size_m, assumed)


def _number(codes: NDArray[np.uint8], decimals: int) -> FloatArray:
    """Values of a number's characters; one division of whole numbers is the nearest float."""
    value = np.zeros(codes.shape[1], dtype=np.int64)
    for row in (*codes[: -decimals - 1], *codes[-decimals:]):
        value = value * 10 + (row - np.uint8(ord("0")))
    return value / 10.0**decimals


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
    decimals = np.clip(np.ceil(np.log10(per_degree / size_m) - SLACK), 0, 9).astype(np.int64)
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
