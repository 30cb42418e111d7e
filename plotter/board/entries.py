"""Every line that came in, newest first: kept as columns, put into words when asked for."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from operator import attrgetter
from typing import Final, TypeVar, overload

import numpy as np

from plotter.board.columns import Columns, Report
from plotter.board.ground import beside_all
from plotter.board.outlines import middle_of
from plotter.board.report_values import Entry, EntryKind
from plotter.board.understood import (
    understood_distance,
    understood_ground,
    understood_motion,
    understood_watch,
)
from plotter.board.words import age_in_words, bearing_in_words, length_in_words
from plotter.geodesy.arrays import FloatArray, IntArray
from plotter.reports.report import (
    BearingReport,
    DistanceReport,
    GroundReport,
    MotionReport,
    NoteReport,
    Picture,
    PositionReport,
    UnreadReport,
    WatchReport,
)

__all__ = ["Entries", "entries_of", "kind_of", "kinds_of"]

_T = TypeVar("_T")

_FORMAT_NAMES: Final = {
    "latlon": "latitude, longitude",
    "maidenhead": "Maidenhead",
    "offset": "by way of another place",
    "place": "a named place",
}
_LAT, _LON = attrgetter("lat_deg"), attrgetter("lon_deg")
_KINDS: Final[dict[type, EntryKind]] = {
    PositionReport: "position",
    BearingReport: "bearing",
    DistanceReport: "distance",
    WatchReport: "watch",
    GroundReport: "ground",
    MotionReport: "motion",
    NoteReport: "note",
    UnreadReport: "unread",
}


def kind_of(report: Report) -> EntryKind:
    """What a line was taken to be."""
    return _KINDS[type(report)]


def kinds_of(reports: Iterable[Report]) -> Iterator[EntryKind]:
    """The same of many."""
    return map(_KINDS.__getitem__, map(type, reports))


@dataclass(frozen=True, slots=True, eq=False)
class Entries(Sequence[Entry]):
    """Every line, newest first; a line without a time stands beside the line it came after.

    Parameters
    ----------
    columns : Columns
        The reports in the order of the picture.
    order : ndarray of int
        Which of them stands where, shape (n,).
    places : ndarray
        Where the map goes when it is chosen, degrees, NaN for nowhere, shape (n, 2).
    as_at_utc : datetime or None
        The time that ages count from.
    """

    columns: Columns
    order: IntArray
    places: FloatArray
    as_at_utc: datetime | None

    def __len__(self) -> int:
        """How many lines."""
        return len(self.order)

    @overload
    def __getitem__(self, index: int) -> Entry: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[Entry, ...]: ...
    def __getitem__(self, index: int | slice) -> Entry | tuple[Entry, ...]:
        """Put one line, or several, into words."""
        if isinstance(index, slice):
            return tuple(self[each] for each in range(*index.indices(len(self))))
        report = self.columns.reports[self.order[index]]
        said = report.said
        lat, lon = self.places[index].tolist()
        return Entry(
            kind=kind_of(report),
            called=said.name or str(said.line),
            time_utc=said.time_utc,
            sender=said.sender,
            subject=said.subject,
            text=said.text,
            age=age_in_words(said.time_utc, self.as_at_utc),
            understood=understood(report),
            questions=self.columns.questions[self.order[index]],
            place=None if lat != lat else (lat, lon),  # noqa: PLR0124 - NaN is not itself
        )

    @property
    def of_log(self) -> bool:
        """Whether a log names the reports, not the lines of a file."""
        return any(self.columns.entries)

    def in_order(self, column: Sequence[_T]) -> list[_T]:
        """A column of the reports, newest first."""
        return list(map(column.__getitem__, self.order.tolist()))

    def understood(self) -> list[str]:
        """What each report was taken to mean, in words, in the order of the picture."""
        columns, made = self.columns, dict[tuple[object, ...], str]()
        counts = map(len, columns.others)
        keys = zip(columns.formats, columns.sizes_m, columns.assumed, counts, strict=True)
        found = [
            made[key] if key in made else made.setdefault(key, understood(report))
            for key, report in zip(keys, columns.reports, strict=False)
        ]
        found += [understood(report) for report in columns.reports[columns.positions :]]
        return found


def entries_of(
    picture: Picture, columns: Columns, as_at_utc: datetime | None, reference_deg: float
) -> tuple[Entries, IntArray]:
    """Return every line, newest first.

    Parameters
    ----------
    picture : Picture
        Everything that was said.
    columns : Columns
        The same, from `columns_of`.
    as_at_utc : datetime or None
        The time that ages count from.
    reference_deg : float
        Longitude of the map's middle.

    Returns
    -------
    entries : Entries
        Newest first.
    index_of : ndarray of int
        Where each report of the picture stands in `entries`: positions, bearings, distances,
        watches, ground, then what is not drawn; shape (n,).
    """
    lines = columns.lines
    order = np.lexsort((lines, _known_times(columns.times_s, lines)))[::-1]
    index_of = np.empty(len(lines), dtype=np.int64)
    index_of[order] = np.arange(len(lines))
    places = _places(picture, columns, reference_deg)
    return Entries(columns, order, places[order], as_at_utc), index_of


def _known_times(times_s: FloatArray, lines: IntArray) -> FloatArray:
    """Give a line without a time that of the line it came after."""
    by_line = np.argsort(lines, kind="stable")
    known = np.where(np.isnan(times_s[by_line]), -1, np.arange(len(lines)))
    last = np.maximum.accumulate(known) if len(known) else known
    found = np.full(len(lines), -np.inf)
    found[by_line] = np.where(last < 0, -np.inf, times_s[by_line][last])
    return found


def _places(picture: Picture, columns: Columns, reference_deg: float) -> FloatArray:
    """Where each report's place is; NaN for the kinds without one."""
    found = np.full((len(columns.reports), 2), np.nan)
    observers = [
        report.observer
        for kind in (picture.bearings, picture.distances, picture.watches)
        for report in kind
    ]
    points = [*columns.centres, *observers]
    found[: len(points), 0] = np.fromiter(map(_LAT, points), np.float64, len(points))
    lons = np.fromiter(map(_LON, points), np.float64, len(points))
    found[: len(points), 1] = beside_all(lons, reference_deg)
    for number, report in enumerate(picture.ground, start=len(points)):
        found[number] = middle_of(report.ground.polygon, reference_deg)
    return found


def understood(report: Report) -> str:
    match report:
        case PositionReport():
            return understood_position(report)
        case BearingReport():
            return _understood_bearing(report)
        case DistanceReport():
            return understood_distance(report)
        case WatchReport():
            return understood_watch(report)
        case GroundReport():
            return understood_ground(report)
        case MotionReport():
            return understood_motion(report)
        case UnreadReport():
            return report.reason
        case NoteReport():
            return ""


def understood_position(report: PositionReport) -> str:
    """What a position was taken to mean, in words."""
    reading = report.reading
    name = _FORMAT_NAMES.get(reading.format, reading.format.upper())
    words = f"{name}, square of {length_in_words(reading.square.size_m)}"
    if reading.assumed:
        words += "; assumed: " + "; ".join(reading.assumed)
    if report.others:
        words += f"; {len(report.others)} other meaning{'s' if len(report.others) > 1 else ''}"
    return words


def _understood_bearing(report: BearingReport) -> str:
    said = (
        bearing_in_words(report.bearing_deg, report.north)
        if report.north is not None
        else f"{round(report.bearing_deg) % 360:03d}°, north not stated"
    )
    sigma = f"{round(report.sigma_deg, 1):g}°" + ("" if report.sigma_stated else " (assumed)")
    return f"bearing {said} to {report.name}, standard error {sigma}, from {report.observer_from}"
