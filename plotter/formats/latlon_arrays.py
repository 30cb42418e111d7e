"""Latitude and longitude in bulk: texts to columns shape by shape, and columns back to text."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from typing import Final

import numpy as np
from numpy.typing import NDArray

from plotter.formats.degrees.shapes import Shape, shape_of
from plotter.formats.latlon import FORMAT, SLACK
from plotter.formats.protocol import Texts
from plotter.formats.squares import metres_per_degree_arrays
from plotter.geodesy.arrays import BoolArray, FloatArray, IntArray
from plotter.geodesy.position import Position

__all__ = ["Pairs", "read_pairs", "write_latlon"]

_LONGEST: Final = 100
# Figures stand for one another in a shape: plain ones, those of full width, Arabic ones.
_FIGURES: Final = bytes.maketrans(b"123456789", b"000000000")
_FOREIGN: Final = str.maketrans(
    "１２３４５６７８９١٢٣٤٥٦٧٨٩۱۲۳۴۵۶۷۸۹", "０" * 9 + "٠" * 9 + "۰" * 9
)
_TRIES: Final = 3
# Fewer texts of a shape are read one by one.
_MANY: Final = 8
_MOST_KNOWN: Final = 50_000
_TIE: Final = 1e-3  # nearer than this to a half of the last figure, a row is rounded by itself


@dataclass(frozen=True, slots=True)
class Pairs:
    """Pairs of angles as columns, shape (k,) each.

    Parameters
    ----------
    rows : ndarray of int
        Which of the texts they are.
    lat_deg, lon_deg, size_m : ndarray
        Centres, and the longer sides of the cells that the written figures leave open.
    assumed : ndarray of str
        What each reading rests on, parts joined with a semicolon; empty where the text says it all.
    sure : ndarray of bool
        Whether the text states its sides and its order, so that no area can settle them.
    """

    rows: IntArray
    lat_deg: FloatArray
    lon_deg: FloatArray
    size_m: FloatArray
    assumed: NDArray[np.object_]
    sure: BoolArray


def read_pairs(texts: Sequence[str], is_alone: Callable[[str], bool]) -> Pairs:
    """Columns of texts as the reader of single texts would have them, shape by shape.

    Parameters
    ----------
    texts : sequence of str, length n
        Texts of any kind.
    is_alone : callable
        Whether no other format reads a text: asked once for each shape.
    """
    grouped: dict[bytes, list[int]] = {}
    for row, text in enumerate(texts):
        # Anything else is a code of another kind, or one angle run into the other.
        if not text.isalnum():
            same = text if text.isascii() else text.translate(_FOREIGN)
            key = same.encode("utf-8", "surrogatepass").translate(_FIGURES)
            grouped.setdefault(key, []).append(row)
    found: list[Pairs] = []
    for key, rows in grouped.items():
        of_key = [texts[row] for row in rows]
        shape = _known_shape(key, of_key, is_alone)
        if shape is not None:
            found.append(_of_shape(shape, np.array(rows, dtype=np.int64), of_key))
    if not found:
        nothing = np.zeros(0)
        return Pairs(np.zeros(0, np.int64), nothing, nothing, nothing,
                     np.zeros(0, object), np.zeros(0, np.bool_))  # fmt: skip
    order = np.argsort(np.concatenate([each.rows for each in found]))
    columns = (f.name for f in fields(Pairs))
    return Pairs(
        *(np.concatenate([getattr(each, name) for each in found])[order] for name in columns)
    )


def _of_shape(shape: Shape, rows: IntArray, texts: Sequence[str]) -> Pairs:
    """Columns of texts of one shape, without those that the reader of single texts must decide."""
    if shape.is_plain and len(texts) >= _MANY:
        lat_deg, lon_deg = shape.places(texts)
    else:
        places = [shape.place(text) or (np.nan, np.nan) for text in texts]
        lat_deg, lon_deg = np.array(places).reshape(-1, 2).T
    read = np.isfinite(lat_deg)
    lat_deg, lon_deg = lat_deg[read], lon_deg[read]
    per_lat, per_lon = metres_per_degree_arrays(lat_deg)
    size_m = np.maximum(shape.lat.unit_deg * per_lat, shape.lon.unit_deg * per_lon)
    assumed = np.full(lat_deg.size, shape.assumed, dtype=object)
    sure = np.full(lat_deg.size, shape.sure)
    return Pairs(rows[read], lat_deg, lon_deg, size_m, assumed, sure)


# What each shape means, or how often that could not be told: a nothing in it does not show a side.
_KNOWN: Final[dict[bytes, Shape | int]] = {}


def _known_shape(key: bytes, texts: Sequence[str], is_alone: Callable[[str], bool]) -> Shape | None:
    """What texts of one shape show of it."""
    known = _KNOWN.get(key, 0)
    for text in texts:
        if not isinstance(known, int) or known >= _TRIES or len(text) > _LONGEST:
            break
        shape = shape_of(text)
        if shape is not None and not is_alone(text):
            shape = None
        known = known + 1 if shape is None else shape
        if len(_KNOWN) >= _MOST_KNOWN:
            _KNOWN.clear()
        _KNOWN[key] = known
    return None if isinstance(known, int) else known


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
    per_degree = np.maximum(*metres_per_degree_arrays(lat_deg))
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
