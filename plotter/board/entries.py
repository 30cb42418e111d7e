"""Every line that came in, as the list shows it: what was said and what it was taken to mean."""

from collections.abc import Iterator
from datetime import UTC, datetime

from plotter.board.ground import beside
from plotter.board.outlines import middle_of
from plotter.board.paths import LatLon
from plotter.board.understood import (
    understood_distance,
    understood_ground,
    understood_motion,
    understood_watch,
)
from plotter.board.values import Entry, EntryKind
from plotter.board.words import age_in_words, bearing_in_words, length_in_words
from plotter.geodesy.position import Position
from plotter.log.report import BearingReport, Picture, PositionReport, Said

__all__ = ["START_OF_TIME", "entries_of"]

START_OF_TIME = datetime(1, 1, 1, tzinfo=UTC)
_FORMAT_NAMES = {
    "latlon": "latitude, longitude",
    "maidenhead": "Maidenhead",
    "offset": "by way of another place",
    "place": "a named place",
}

_Row = tuple[EntryKind, Said, str, tuple[str, ...], LatLon | None]


def entries_of(
    picture: Picture, as_at_utc: datetime | None, reference_deg: float
) -> tuple[tuple[Entry, ...], list[int]]:
    """Return every line, newest first.

    Parameters
    ----------
    picture : Picture
        Everything that was said.
    as_at_utc : datetime or None
        The time that ages count from.
    reference_deg : float
        Longitude of the map's middle.

    Returns
    -------
    entries : tuple of Entry
        Newest first; a line without a time stands beside the line it came after.
    index_of : list of int
        Where each report of the picture stands in `entries`: positions, bearings, distances,
        watches, ground, then what is not drawn.
    """
    rows = list(_rows(picture, reference_deg))
    known = START_OF_TIME
    times = [known] * len(rows)
    for number in sorted(range(len(rows)), key=lambda number: rows[number][1].line):
        known = rows[number][1].time_utc or known
        times[number] = known
    order = sorted(
        range(len(rows)), key=lambda number: (times[number], rows[number][1].line), reverse=True
    )
    index_of = [0] * len(rows)
    for index, number in enumerate(order):
        index_of[number] = index
    entries = tuple(_entry(rows[number], as_at_utc) for number in order)
    return entries, index_of


def _rows(picture: Picture, reference_deg: float) -> Iterator[_Row]:
    def beside_middle(place: Position) -> LatLon:
        return place.lat_deg, beside(place.lon_deg, reference_deg)

    for report in picture.positions:
        place = beside_middle(report.reading.square.centre)
        yield "position", report.said, _understood(report), report.questions, place
    for bearing in picture.bearings:
        place = beside_middle(bearing.observer)
        yield "bearing", bearing.said, _understood_bearing(bearing), bearing.questions, place
    for distance in picture.distances:
        place = beside_middle(distance.observer)
        yield "distance", distance.said, understood_distance(distance), distance.questions, place
    for watch in picture.watches:
        place = beside_middle(watch.observer)
        yield "watch", watch.said, understood_watch(watch), watch.questions, place
    for ground in picture.ground:
        place = middle_of(ground.ground.polygon, reference_deg)
        yield "ground", ground.said, understood_ground(ground), ground.questions, place
    for motion in picture.motions:
        yield "motion", motion.said, understood_motion(motion), (), None
    for note in picture.notes:
        yield "note", note.said, "", (), None
    for unread in picture.unread:
        yield "unread", unread.said, unread.reason, (), None


def _entry(row: _Row, as_at_utc: datetime | None) -> Entry:
    kind, said, understood, questions, place = row
    return Entry(
        kind=kind,
        line=said.line,
        time_utc=said.time_utc,
        sender=said.sender,
        subject=said.subject,
        text=said.text,
        age=age_in_words(said.time_utc, as_at_utc),
        understood=understood,
        questions=questions,
        place=place,
    )


def _understood(report: PositionReport) -> str:
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
