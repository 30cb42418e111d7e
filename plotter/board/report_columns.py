"""All reports as packed columns: what `assets/unpack.js` takes apart and `assets/data.js` reads."""

import base64
import json
import zlib
from collections.abc import Sequence
from itertools import chain
from operator import attrgetter, or_
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike

from plotter.board.columns import Columns
from plotter.board.entries import Entries, kinds_of
from plotter.board.ground import beside_all
from plotter.board.marks import Marks
from plotter.geodesy.arrays import FloatArray, IntArray

__all__ = ["KINDS", "PACK_FROM_BYTES", "ROLES", "report_columns"]

KINDS: Final = ("position", "bearing", "distance", "watch", "ground", "motion", "note", "unread")
ROLES: Final = ("station", "subject", "place")
_DOUBTFUL, _OUT_OF_PLACE = 1, 2
# Positions are written as whole millionths of a degree, 0.11 m.
_UNITS: Final = 1e6
# Below this a board is opened by browsers that cannot unpack, too: the file stays small anyway.
PACK_FROM_BYTES: Final = 1_000_000
# Higher levels take up to three times as long for a tenth less.
_LEVEL: Final = 1


class _Columns:
    """Whole numbers in columns, each in the fewest bytes that hold it."""

    def __init__(self) -> None:
        self.names: list[tuple[str, int, int, int]] = []
        self.parts: list[bytes] = []

    def add(self, name: str, values: ArrayLike, *, steps: bool = False) -> None:
        """Put a column down; as steps from one value to the next where these are smaller."""
        whole = np.asarray(values, dtype=np.int64)
        if steps:
            whole = np.diff(whole, prepend=0)
        least, most = (int(whole.min()), int(whole.max())) if len(whole) else (0, 0)
        width = next(
            w for w in (1, 2, 4, 8) if -(1 << 8 * w - 1) <= least and most < 1 << 8 * w - 1
        )
        self.names.append((name, width, len(whole), int(steps)))
        self.parts.append(whole.astype(f"<i{width}").tobytes())


class _Texts:
    """A table that keeps each text once."""

    def __init__(self) -> None:
        self.index: dict[str, int] = {"": 0}

    def numbers(self, texts: Sequence[str]) -> IntArray:
        index = self.index
        for text in dict.fromkeys(texts):  # keeps their order: the same bytes every time
            index.setdefault(text, len(index))
        return np.fromiter(map(index.__getitem__, texts), np.int64, len(texts))


def report_columns(entries: Entries, marks: Marks, last_s: float | None) -> dict[str, Any]:
    """Pack every line and every reported position.

    Parameters
    ----------
    entries : Entries
        Every line.
    marks : Marks
        Every reported position.
    last_s : float or None
        Time of the last report, seconds since 1970; times are counted back from it.

    Returns
    -------
    dict
        JSON values: "columns" (name, bytes a number, how many, whether steps), "ofLog" (whether a
        log names the reports), "packed" (whether compressed), "numbers" (base64) and "texts" (a
        list, or its JSON compressed, as base64).
    """
    columns, texts, held = _Columns(), _Texts(), entries.columns
    order = entries.order
    columns.add("kind", _codes(list(kinds_of(held.reports)), KINDS)[order])
    columns.add("line", held.lines[order], steps=True)
    of_log = entries.of_log
    called = _called(held) if of_log else held.entries  # of a file all are empty
    columns.add("called", texts.numbers(called)[order], steps=True)
    times_s = held.times_s[order]
    timed = ~np.isnan(times_s)
    before = np.where(timed, (last_s or 0.0) - np.nan_to_num(times_s), 0.0)
    columns.add("timed", timed)
    columns.add("time", np.rint(before), steps=True)
    columns.add("sender", texts.numbers(held.senders)[order])
    columns.add("subject", texts.numbers(held.subjects)[order])
    columns.add("text", texts.numbers(held.texts)[order], steps=True)
    columns.add("understood", texts.numbers(entries.understood())[order])
    places = _whole(np.nan_to_num(entries.places))
    columns.add("lat", places[:, 0], steps=True)
    columns.add("lon", places[:, 1], steps=True)
    _add_marks(columns, texts, marks, places)
    numbers, words = b"".join(columns.parts), json.dumps(list(texts.index), separators=(",", ":"))
    packed = len(numbers) + len(words) > PACK_FROM_BYTES
    return {
        "columns": columns.names,
        "ofLog": of_log,
        "packed": packed,
        "numbers": _base64(zlib.compress(numbers, _LEVEL) if packed else numbers),
        "texts": _base64(zlib.compress(words.encode(), _LEVEL)) if packed else list(texts.index),
    }


def _called(held: Columns) -> list[str]:
    """What the log calls each report, where that is not the number alone."""
    lines = map(str, held.lines.tolist())
    return ["" if name == line else name for name, line in zip(held.entries, lines, strict=True)]


def _add_marks(columns: _Columns, texts: _Texts, marks: Marks, places: IntArray) -> None:
    held = marks.columns
    doubtful = map(bool, map(or_, map(bool, held.others), map(bool, held.questions)))
    flags = _DOUBTFUL * np.fromiter(doubtful, np.int64, len(marks)) + _OUT_OF_PLACE * np.array(
        held.out_of_place, dtype=np.int64
    )
    columns.add("markEntry", marks.entries, steps=True)
    columns.add("markName", texts.numbers(held.names))
    columns.add("markRole", _codes(held.roles, ROLES))
    columns.add("markFlags", flags)
    counts = np.fromiter(map(len, held.corners), np.int64, len(marks))
    corners = list(chain.from_iterable(held.corners))
    lat = np.fromiter(map(attrgetter("lat_deg"), corners), np.float64, len(corners))
    lon = np.fromiter(map(attrgetter("lon_deg"), corners), np.float64, len(corners))
    # Corners are counted from the middle of their square.
    middles = np.repeat(places[marks.entries], counts, axis=0)
    columns.add("corners", counts)
    columns.add("cornerLat", _whole(lat) - middles[:, 0])
    columns.add("cornerLon", _whole(beside_all(lon, marks.reference_deg)) - middles[:, 1])


def _codes(words: Sequence[str], table: Sequence[str]) -> IntArray:
    index = {word: number for number, word in enumerate(table)}
    return np.fromiter(map(index.__getitem__, words), np.int64, len(words))


def _whole(degrees: FloatArray) -> IntArray:
    return np.rint(degrees * _UNITS).astype(np.int64)


def _base64(data: bytes) -> str:
    return base64.b64encode(data).decode("ascii")
