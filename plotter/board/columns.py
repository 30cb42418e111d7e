"""What the reports of a picture hold, column by column: each report is taken apart only once."""

from dataclasses import dataclass
from datetime import datetime
from typing import TypeAlias

import numpy as np

from plotter.formats.result import Reading
from plotter.geodesy.arrays import FloatArray, IntArray, as_float
from plotter.geodesy.position import Position
from plotter.reports.report import (
    BearingReport,
    DistanceReport,
    GroundReport,
    MotionReport,
    NoteReport,
    Picture,
    PositionReport,
    Role,
    UnreadReport,
    WatchReport,
)

__all__ = ["Columns", "Report", "columns_of"]

_Asking: TypeAlias = PositionReport | BearingReport | DistanceReport | WatchReport | GroundReport
Report: TypeAlias = _Asking | MotionReport | NoteReport | UnreadReport


@dataclass(frozen=True, slots=True, eq=False)
class Columns:
    """Reports in the order of the picture: positions, then all that have questions, then the rest.

    Parameters
    ----------
    reports : tuple of report
        Each of them, n in all.
    lines, times_s : ndarray
        Line number; seconds since 1970, UTC, NaN where the time could not be read; shape (n,).
    entries : list of str
        What the log calls it, empty for a line of a file; as all that follows in the order of the
        reports.
    senders, subjects, texts : list of str
        As heard.
    questions : list of tuple of str
        What to ask the sender.
    names, roles : list
        Who or what is at a position, and as what; of the positions only, as all that follows.
    out_of_place : list of bool
        Whether the place speaks against the report.
    formats, sizes_m, assumed, others : list
        How the position was given, its square's size, what was assumed, its other readings.
    centres : list of Position
        Middles of the squares.
    corners : list of tuple of Position
        Their corners.
    """

    reports: tuple[Report, ...]
    lines: IntArray
    times_s: FloatArray
    entries: list[str]
    senders: list[str]
    subjects: list[str]
    texts: list[str]
    questions: list[tuple[str, ...]]
    names: list[str]
    roles: list[Role]
    out_of_place: list[bool]
    formats: list[str]
    sizes_m: list[float]
    assumed: list[tuple[str, ...]]
    others: list[tuple[Reading, ...]]
    centres: list[Position]
    corners: list[tuple[Position, ...]]

    @property
    def last_utc(self) -> datetime | None:
        """Time of the latest report that has one."""
        if not self.times_s.size or np.isnan(self.times_s).all():
            return None
        return self.reports[int(np.nanargmax(self.times_s))].said.time_utc

    @property
    def positions(self) -> int:
        """How many of them are positions."""
        return len(self.names)


def columns_of(picture: Picture) -> Columns:
    """Take the reports of a picture apart."""
    positions = picture.positions
    asking: list[_Asking] = [
        *positions, *picture.bearings, *picture.distances, *picture.watches, *picture.ground,
    ]  # fmt: skip
    rest: list[Report] = [*picture.motions, *picture.notes, *picture.unread]
    reports = tuple[Report, ...](asking + rest)
    said = [report.said for report in reports]
    readings = [report.reading for report in positions]
    squares = [reading.square for reading in readings]
    times = [each.time_utc for each in said]
    return Columns(
        reports,
        np.fromiter((each.line for each in said), np.int64, len(said)),
        as_float([np.nan if time is None else time.timestamp() for time in times]),
        [each.name for each in said],
        [each.sender for each in said],
        [each.subject for each in said],
        [each.text for each in said],
        [report.questions for report in asking] + [()] * len(rest),
        [report.name for report in positions],
        [report.role for report in positions],
        [report.out_of_place for report in positions],
        [reading.format for reading in readings],
        [square.size_m for square in squares],
        [reading.assumed for reading in readings],
        [report.others for report in positions],
        [square.centre for square in squares],
        [square.corners for square in squares],
    )
