"""The lines of a state as rows for replay: what is read, in which order, what to ask besides."""

import datetime as dt
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final, TypeVar

from plotter.errors import FormatError
from plotter.geodesy.position import Area, Position
from plotter.log.events.event import Chosen, Event, Kind
from plotter.log.events.names import short_names
from plotter.log.events.state import Line, State
from plotter.reports.evidence_words import GroundWords
from plotter.reports.replay import replay
from plotter.reports.report import (
    BearingReport,
    DistanceReport,
    GroundReport,
    MotionReport,
    NoteReport,
    Picture,
    PositionReport,
    Said,
    UnreadReport,
    WatchReport,
)
from plotter.reports.words import AreaWords, IncidentWords, NoteWords, PlaceWords, words_of

__all__ = [
    "SCENE",
    "Report",
    "Row",
    "kind_of",
    "pictured",
    "place_of",
    "reports_of",
    "rows_of",
    "text_to_read",
]

Report = (
    PositionReport | BearingReport | DistanceReport | WatchReport | GroundReport | MotionReport
    | NoteReport | UnreadReport
)  # fmt: skip
_Asked = TypeVar("_Asked", PositionReport, BearingReport, DistanceReport, WatchReport, GroundReport)
# Reports that others are read by.
SCENE: Final = re.compile(r"\s*(?:place|area|incident)\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Row:
    """A line for replay: what was said, when, the place chosen for it, what to ask besides."""

    said: Said
    place: Position | None = None
    questions: tuple[str, ...] = ()
    problem: str = ""


def kind_of(text: str) -> Kind:
    """Kind of event that a report's words make: a place, an area, searched ground, a note ..."""
    try:
        words = words_of(text)
    except FormatError:
        return "report"
    if isinstance(words, PlaceWords):
        return "place"
    if isinstance(words, AreaWords):
        return "area"
    if isinstance(words, NoteWords | IncidentWords):
        return "note"
    return "searched" if isinstance(words, GroundWords) else "report"


def rows_of(state: State) -> list[Row]:
    """Rows of a state, in the order in which they were said, where that was stated, else written.

    With one desk a row's line is the entry's number; with several, its place in the state.
    """
    names = short_names(state.events)
    one_desk = len({event.desk for event in state.events}) == 1
    timed: list[tuple[dt.datetime, Row]] = []
    latest = dt.datetime.min.replace(tzinfo=dt.UTC)
    for i, line in enumerate(state.lines, start=1):
        # An unstated time is the desk's clock, which may go back; the order may not.
        latest = max(latest, line.first.entered_utc)
        for row, time in _lines_of(line, line.first.number if one_desk else i, names):
            timed.append((time or latest, row))
    timed.sort(key=lambda pair: pair[0])
    return [row for _, row in timed]


def _lines_of(
    line: Line, number: int, names: dict[str, str]
) -> Iterable[tuple[Row, dt.datetime | None]]:
    """Rows of a line and when they were said, where that was stated."""
    name = names[line.first.hash]
    if line.withdrawn:
        note = _said(line.first, number, name, f"note withdrawn: {line.first.text}")
        yield Row(note), line.first.said_utc
        return
    questions: tuple[str, ...] = ()
    if line.conflict:
        versions = "; or ".join(_version(head, names) for head in line.heads)
        questions = (f"{name} was corrected differently: {versions}. Ask which holds.",)
    if line.stray:
        questions += ("It follows a report that this log does not hold: merge the other log.",)
    for head in line.standing or (line.first,):
        place = place_of(line.reading_of(head))
        text = text_to_read(head.kind, head.text)
        row = Row(_said(head, number, name, text), place, questions, head.problem)
        yield row, head.said_utc


def _version(head: Event, names: dict[str, str]) -> str:
    return f"{names[head.hash]} {'withdrawn' if head.kind == 'withdrawal' else repr(head.text)}"


def _said(event: Event, number: int, name: str, text: str) -> Said:
    return Said(number, event.when_utc, event.sender, event.subject, text, name)


def place_of(chosen: Chosen | None) -> Position | None:
    """Place of a stored reading; one that is nowhere on earth was not written by us."""
    try:
        return Position(chosen.lat_deg, chosen.lon_deg) if chosen else None
    except FormatError:
        return None


def text_to_read(kind: Kind, text: str) -> str:
    """A report's words as they are; those of a note or a shift change are never a position."""
    if kind == "shift":
        return f"note shift change: {text}"
    if kind in ("confirmation", "withdrawal"):
        return f"note {kind}: {text}"
    return f"note {text}" if kind == "note" and kind_of(text) != "note" else text


def pictured(
    rows: Sequence[Row],
    title: str,
    area: Area | None,
    date: dt.date | None,
    names: Iterable[str] = (),
) -> Picture:
    """Rows replayed into a picture, each with what is to be asked of it besides.

    `names` are those of other rows: a row's name that sounds like one of them is asked about.
    """
    picture = replay(
        [row.said for row in rows if not row.problem],
        title=title,
        area=area,
        date=date,
        unread=[UnreadReport(row.said, row.problem) for row in rows if row.problem],
        chosen={row.said: row.place for row in rows if row.place is not None},
        names=names,
    )
    asked = {id(row.said): row.questions for row in rows if row.questions}
    if not asked:
        return picture
    return replace(
        picture,
        positions=_asking(picture.positions, asked),
        bearings=_asking(picture.bearings, asked),
        distances=_asking(picture.distances, asked),
        watches=_asking(picture.watches, asked),
        ground=_asking(picture.ground, asked),
    )


def _asking(reports: tuple[_Asked, ...], asked: dict[int, tuple[str, ...]]) -> tuple[_Asked, ...]:
    return tuple(
        replace(report, questions=asked.get(id(report.said), ()) + report.questions)
        for report in reports
    )


def reports_of(picture: Picture) -> Iterable[Report]:
    """Everything that stands in a picture."""
    yield from picture.positions
    yield from picture.bearings
    yield from picture.distances
    yield from picture.watches
    yield from picture.ground
    yield from picture.motions
    yield from picture.notes
    yield from picture.unread
