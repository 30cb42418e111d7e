"""Many texts to columns: where each is, how sure, in other formats, and what was wrong with it."""

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from plotter.errors import FormatError
from plotter.formats.latlon_arrays import read_pairs, write_latlon
from plotter.formats.maidenhead_arrays import read_maidenhead_array
from plotter.formats.protocol import Texts
from plotter.formats.reading import reading
from plotter.formats.registry import FORMATS
from plotter.formats.result import Reading, asks_of
from plotter.formats.utm_arrays import read_utm_array
from plotter.geodesy.arrays import BoolArray, FloatArray, IntArray
from plotter.geodesy.position import Area, Position
from plotter.voice.spoken import spoken_reading

__all__ = ["Columns", "converted", "known_formats"]

Columns: TypeAlias = dict[str, NDArray[Any]]
_Reader: TypeAlias = Callable[[str, Area | None], Sequence[Reading]]

# Capitals only: in small letters the same characters may be a geohash.
_LONGEST_COMPACT: Final = 15
_SPACED: Final = re.compile(
    r" *(\d{1,2}) ?([C-X]) ?([A-Z]{2}) ?(?:(\d{1,5}) (\d{1,5})|((?:\d\d){1,5})) *", re.ASCII
)


def converted(
    texts: Sequence[str],
    to: Sequence[str] = ("latlon", "mgrs"),
    area: Area | None = None,
    read: _Reader = spoken_reading,
) -> Columns:
    """Read many positions, and write each in other formats.

    Complete MGRS references and angles of one shape are read as whole columns; every other text by
    itself.

    Parameters
    ----------
    texts : sequence of str, length n
        Positions as somebody wrote them.
    to : sequence of str
        Names of the formats to write, keys of `plotter.formats.FORMATS`.
    area : Area or None
        The area of operations, as for `plotter.formats.reading`.
    read : callable
        ``read(text, area)``: the reader of a single text; the one of every other door unless given.

    Returns
    -------
    dict of str to ndarray, shape (n,)
        In this order: ``lat_deg``, ``lon_deg`` (centres, degrees) and ``size_m`` (longer side of
        the square, metres), NaN where there is no one answer; ``format``, the format read;
        ``assumed``, what the reading rests on; one column for each of `to`, empty where the format
        does not reach (near the poles ``utm`` holds UPS); ``problem``, empty where the text was
        read with one meaning, else what is wrong, which meanings it has, or what was said beside
        it that may move it. A square's own format
        is written at its size, the others a figure finer, but no finer than a metre unless it was
        said finer. No text begins with a character that a spreadsheet takes for a formula.

    Raises
    ------
    FormatError
        If `to` names a format that is not known.

    Examples
    --------
    >>> columns = converted(["31UDQ4825111932", "up the hill"])
    >>> columns["latlon"].tolist(), columns["size_m"].tolist()
    (['48.85820N 2.29450E', ''], [1.0, nan])
    """
    names = known_formats(to)
    texts = list(texts)
    rows = _Rows(len(texts))
    # Longer texts are cut, and one character more than a reference has shows that they were.
    short = np.array(texts, dtype=f"U{_LONGEST_COMPACT + 1}")
    compact = _is_compact(short)
    others = _read_mgrs(short[compact], np.flatnonzero(compact), rows)
    rest: list[int] = []
    spaced: list[str] = []
    spaced_rows: list[int] = []
    left = np.flatnonzero(~compact)
    for i in _read_pairs([texts[i] for i in left.tolist()], left, rows, area):
        if (match := _SPACED.fullmatch(texts[i])) and len(match[4] or "") == len(match[5] or ""):
            zone, band, square, east, north, figures = match.groups()
            spaced.append(f"{int(zone):02d}{band}{square}{figures or east + north}")
            spaced_rows.append(i)
        else:
            rest.append(i)
    others += _read_mgrs(np.array(spaced, dtype="U15"), np.array(spaced_rows, np.int64), rows)
    others += _read_grids(texts, rest, rows, area)
    known: dict[str, Reading | str] = {}
    for i in others:
        text = texts[i]
        if text not in known:
            known[text] = _one(text, area, read)
        rows.put(i, known[text])
    return {
        "lat_deg": rows.lat_deg,
        "lon_deg": rows.lon_deg,
        "size_m": rows.size_m,
        "format": rows.format,
        "assumed": rows.assumed,
        **_written(names, rows),
        "problem": rows.problem,
    }


def known_formats(names: Sequence[str]) -> tuple[str, ...]:
    """Names of formats without repetition.

    Raises
    ------
    FormatError
        If one is not known.
    """
    for name in names:
        if name not in FORMATS:
            raise FormatError(
                f"{name!r} is not a format to write: expected some of {', '.join(FORMATS)}", name
            )
    return tuple(dict.fromkeys(names))


class _Rows:
    """The columns while they are filled; empty means not read."""

    __slots__ = ("assumed", "format", "lat_deg", "lon_deg", "problem", "size_m")

    def __init__(self, n: int) -> None:
        self.lat_deg, self.lon_deg, self.size_m = (np.full(n, np.nan) for _ in range(3))
        self.format, self.assumed, self.problem = (np.full(n, "", dtype=object) for _ in range(3))

    def put(self, row: int, found: Reading | str) -> None:
        """Fill a row with its reading, or with its problem."""
        if isinstance(found, str):
            self.problem[row] = found
            return
        centre = found.square.centre
        self.lat_deg[row], self.lon_deg[row] = centre.lat_deg, centre.lon_deg
        self.size_m[row] = found.square.size_m
        self.format[row] = found.format
        self.assumed[row] = "; ".join(found.assumed)


def _is_compact(short: Texts) -> BoolArray:
    """Which texts have the shape of a complete reference in one run: 31UDQ, then even figures."""
    codes = np.ascontiguousarray(short.view(np.uint32).reshape(short.size, _LONGEST_COMPACT + 1).T)
    ok: BoolArray = (codes[2] >= ord("C")) & (codes[2] <= ord("X")) & (codes[-1] == 0)
    for row in codes[3:5]:
        ok &= (row >= ord("A")) & (row <= ord("Z"))
    figure = (codes >= ord("0")) & (codes <= ord("9"))
    # Figures come in pairs, and none follows a gap.
    ok &= figure[0] & figure[1] & figure[5] & figure[6]
    for k in range(7, _LONGEST_COMPACT, 2):
        ok &= (figure[k] & figure[k + 1] & figure[k - 1]) | ((codes[k] == 0) & (codes[k + 1] == 0))
    return ok


def _read_mgrs(texts: Texts, at: IntArray, rows: _Rows) -> list[int]:
    """Fill the rows of complete references; the rows that could not be read."""
    squares = FORMATS["mgrs"].read_array(texts)
    rows.lat_deg[at], rows.lon_deg[at] = squares.lat_deg, squares.lon_deg
    rows.size_m[at] = squares.size_m
    rows.format[at[squares.ok]] = "mgrs"
    return [int(at[i]) for i in squares.reasons]


def _read_pairs(texts: list[str], at: IntArray, rows: _Rows, area: Area | None) -> list[int]:
    """Fill the rows of angles of one meaning; the rows that are left to other readers."""
    pairs = read_pairs(texts, _is_alone)
    # A side or an order that is not stated may be settled by the area.
    sure = np.full(pairs.rows.size, fill_value=True) if area is None else pairs.sure
    kept = at[pairs.rows[sure]]
    rows.lat_deg[kept], rows.lon_deg[kept] = pairs.lat_deg[sure], pairs.lon_deg[sure]
    rows.size_m[kept] = pairs.size_m[sure]
    rows.format[kept] = "latlon"
    rows.assumed[kept] = pairs.assumed[sure]
    return [int(i) for i in np.setdiff1d(at, kept, assume_unique=True)]


def _read_grids(texts: list[str], at: Sequence[int], rows: _Rows, area: Area | None) -> list[int]:
    """Fill the rows of complete UTM references and locators; the rows that are left."""
    left = np.array(at, dtype=np.int64)
    if area is not None:
        return list(at)  # a locator may be another grid's square there
    for name, read in (("utm", read_utm_array), ("maidenhead", read_maidenhead_array)):
        squares = read([texts[i] for i in left])
        done = left[squares.ok]
        rows.lat_deg[done], rows.lon_deg[done] = (
            squares.lat_deg[squares.ok],
            squares.lon_deg[squares.ok],
        )
        rows.size_m[done] = squares.size_m[squares.ok]
        rows.format[done] = name
        left = left[~squares.ok]
    return [int(i) for i in left]


def _is_alone(text: str) -> bool:
    """Whether a pair of angles is nothing in any other format."""
    try:
        reading(text, leave_out=("latlon",))
    except FormatError:
        return True
    return False


def _one(text: str, area: Area | None, read: _Reader) -> Reading | str:
    """The one reading of a text, or why there is none."""
    try:
        found = read(text, area)
    except FormatError as error:
        return " ".join(str(error).split())
    if len(found) == 1 and not found[0].asks:
        return found[0]
    if asks := asks_of(found):
        return f"{'; '.join(asks)}: {' or '.join(_meaning(each) for each in found)}"
    meanings = " or ".join(_meaning(each) for each in found)
    return f"{len(found)} meanings fit, ask the sender which one is meant: {meanings}"


def _meaning(found: Reading) -> str:
    text = FORMATS["latlon"].write(found.square.centre, found.square.size_m)
    why = f" ({'; '.join(found.assumed)})" if found.assumed else ""
    return f"{found.format} {text}{why}"


def _written(names: tuple[str, ...], rows: _Rows) -> Mapping[str, NDArray[Any]]:
    """The texts of every row that was read, one column a format."""
    ok: BoolArray = np.isfinite(rows.lat_deg)
    lat, lon, size, own = (c[ok] for c in (rows.lat_deg, rows.lon_deg, rows.size_m, rows.format))
    finer = np.maximum(size / 10.0, np.minimum(size, 1.0))
    columns: dict[str, NDArray[Any]] = {}
    for name in names:
        same = own == name
        if name == "utm":
            same |= own == "ups"
        texts = _texts(name, lat, lon, np.where(same, size, finer))
        column = np.zeros(ok.size, dtype=texts.dtype if texts.size else "U1")
        column[ok] = texts
        columns[name] = column
    return columns


def _texts(name: str, lat: FloatArray, lon: FloatArray, size: FloatArray) -> Texts:
    """Texts of places in one format, each row as fine as its own size asks for."""
    if name == "latlon":
        return write_latlon(lat, lon, size)
    if name == "mgrs":
        # Its cells are powers of ten: a few sizes stand for all.
        levels = np.clip(np.floor(np.log10(size * 1.000001)), 0, 5)
        texts: Texts = np.zeros(lat.size, dtype="U15")
        for level in np.unique(levels).tolist():
            here = levels == level
            texts[here] = FORMATS["mgrs"].write_array(lat[here], lon[here], 10.0**level)
        return texts
    written: list[str] = []
    for a, o, metres in zip(lat.tolist(), lon.tolist(), size.tolist(), strict=True):
        place = Position(a, o)
        format_ = FORMATS[name]
        if name == "utm" and not format_.covers(place):
            format_ = FORMATS["ups"]
        written.append(format_.write(place, metres) if format_.covers(place) else "")
    return np.array(written, dtype=np.str_)
