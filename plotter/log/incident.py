"""The state of a log as a picture, and new entries as they are read beside what is known."""

import datetime as dt
import math
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final, TypeVar

from plotter.errors import FormatError
from plotter.formats.result import Reading
from plotter.geodesy.position import Area, Position, Square
from plotter.log.doubts import length_in_words
from plotter.log.events.event import Chosen, Entry, Event, Kind
from plotter.log.events.names import short_names
from plotter.log.events.state import Line, State
from plotter.log.evidence_words import GroundWords
from plotter.log.gazetteer import key_of
from plotter.log.replay import replay
from plotter.log.report import (
    BearingReport,
    DistanceReport,
    MotionReport,
    NoteReport,
    Picture,
    PositionReport,
    Said,
    UnreadReport,
    WatchReport,
)
from plotter.log.report import GroundReport as GroundSaid
from plotter.log.words import AreaWords, IncidentWords, NoteWords, PlaceWords, words_of
from plotter.voice.script import complete_text

__all__ = [
    "Understood",
    "kind_of",
    "named_places",
    "open_questions",
    "picture_of_state",
    "reading_of",
    "said_lines",
    "understand",
    "with_reading",
]

_Report = (
    PositionReport | BearingReport | DistanceReport | WatchReport | GroundSaid | MotionReport
    | NoteReport | UnreadReport
)  # fmt: skip
_Asked = TypeVar("_Asked", PositionReport, BearingReport, DistanceReport, WatchReport, GroundSaid)
_NEW: Final = "new "
# Reports that others are read by, and how far back somebody's own ones are looked through.
_SCENE: Final = re.compile(r"\s*(?:place|area|incident)\b", re.IGNORECASE)
_LAST_OF_EACH: Final = 50
_OF_NOTES: Final[dict[str, str]] = {
    "area": "the area of operations", "shift": "a change of shift",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Understood:
    """A new entry as it was read.

    Parameters
    ----------
    entry : Entry
        With its kind, the reading chosen and what that assumes.
    words : str
        What it was taken to mean, in words; empty where it cannot be read.
    questions : tuple of str
        What to ask the sender.
    problem : str
        Why it cannot be read; empty where it can.
    reading : Reading or None
        The square, where it is a position.
    others : tuple of Reading
        Every other meaning of the words.
    """

    entry: Entry
    words: str
    questions: tuple[str, ...] = ()
    problem: str = ""
    reading: Reading | None = None
    others: tuple[Reading, ...] = ()


@dataclass(frozen=True, slots=True)
class _Row:
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


def picture_of_state(
    state: State, *, title: str = "", area: Area | None = None, date: dt.date | None = None
) -> Picture:
    """What a state says, as the picture that fix, board and sheet are made of.

    Reports stand in the order in which they were said, where that was stated, else written down. A
    withdrawn report is a note that says so. Of a report that two desks corrected differently both
    versions are in the picture, each with the question which one holds.

    Parameters
    ----------
    state : State
        Of `plotter.log.events.state_at`.
    title, area, date
        As for `plotter.log.replay.replay`.
    """
    return _pictured(_rows_of(state), title, area, date)


def said_lines(state: State) -> list[Said]:
    """The lines that stand, as a report file would have them, in the order of the picture."""
    return [row.said for row in _rows_of(state)]


def named_places(state: State, area: Area | None = None) -> list[tuple[str, Square]]:
    """Named places with their squares, for the check of a read-back."""
    rows = [row for row in _rows_of(state) if _SCENE.match(row.said.text)]
    return [
        (report.name, report.reading.square)
        for report in _pictured(rows, "", area, None).positions
        if report.role == "place" and not report.out_of_place
    ]


def understand(
    state: State,
    entries: Sequence[Entry],
    now_utc: dt.datetime,
    *,
    area: Area | None = None,
) -> tuple[Understood, ...]:
    """Read new entries beside everything that is known, before they are written down.

    Parameters
    ----------
    state : State
        What is known.
    entries : sequence of Entry
        In order; an entry that is already a problem is not read.
    now_utc : datetime
        When they come in, where they do not say so.
    area : Area or None
        The area of operations, unless an event states it.

    Returns
    -------
    tuple of Understood
        One for each entry, in order. Nothing is refused: what cannot be read is a problem.
    """
    rows = _that_matter(_rows_of(state), entries)
    start = max((row.said.line for row in rows), default=0) + 1
    for i, entry in enumerate(entries):
        said = Said(
            start + i,
            entry.said_utc or entry.received_utc or now_utc,
            entry.sender,
            entry.subject,
            _text_to_read(entry.kind, entry.text),
            f"{_NEW}{i}",
        )
        rows.append(_Row(said, _place_of(entry.reading), problem=entry.problem))
    picture = _pictured(rows, "", area, None)
    found = {report.said.name: report for report in _reports(picture)}
    return tuple(_understood(entry, found[f"{_NEW}{i}"]) for i, entry in enumerate(entries))


def _that_matter(rows: Sequence[_Row], entries: Sequence[Entry]) -> list[_Row]:
    """Rows that some entries are read beside: places, areas, and who is named in them.

    To read all of a day's reports again for each new one would keep a person waiting.
    """
    named = "\n".join(
        key_of(words) for entry in entries for words in (entry.sender, entry.subject, entry.text)
    )
    seen: Counter[str] = Counter()
    kept: list[_Row] = []
    for row in reversed(rows):
        if not _SCENE.match(row.said.text):
            who = key_of(row.said.subject or row.said.sender)
            seen[who] += 1
            if seen[who] > _LAST_OF_EACH or who not in named:
                continue
        kept.append(row)
    return kept[::-1]


def _rows_of(state: State) -> list[_Row]:
    names = short_names(state.events)
    one_desk = len({event.desk for event in state.events}) == 1
    timed: list[tuple[dt.datetime, _Row]] = []
    latest = dt.datetime.min.replace(tzinfo=dt.UTC)
    for i, line in enumerate(state.lines, start=1):
        # An unstated time is the desk's clock, which may go back; the order may not.
        latest = max(latest, line.first.entered_utc)
        for row, time in _rows_of_line(line, line.first.number if one_desk else i, names):
            timed.append((time or latest, row))
    timed.sort(key=lambda pair: pair[0])
    return [row for _, row in timed]


def _rows_of_line(
    line: Line, number: int, names: dict[str, str]
) -> Iterable[tuple[_Row, dt.datetime | None]]:
    """Rows of a line and when they were said, where that was stated."""
    name = names[line.first.hash]
    if line.withdrawn:
        note = _said(line.first, number, name, f"note withdrawn: {line.first.text}")
        yield _Row(note), line.first.said_utc
        return
    questions: tuple[str, ...] = ()
    if line.conflict:
        versions = "; or ".join(_version(head, names) for head in line.heads)
        questions = (f"{name} was corrected differently: {versions}. Ask which holds.",)
    if line.stray:
        questions += ("It follows a report that this log does not hold: merge the other log.",)
    for head in line.standing or (line.first,):
        place = _place_of(line.reading_of(head))
        text = _text_to_read(head.kind, head.text)
        row = _Row(_said(head, number, name, text), place, questions, head.problem)
        yield row, head.said_utc


def _version(head: Event, names: dict[str, str]) -> str:
    return f"{names[head.hash]} {'withdrawn' if head.kind == 'withdrawal' else repr(head.text)}"


def _said(event: Event, number: int, name: str, text: str) -> Said:
    return Said(number, event.when_utc, event.sender, event.subject, text, name)


def _place_of(chosen: Chosen | None) -> Position | None:
    """Place of a stored reading; one that is nowhere on earth was not written by us."""
    try:
        return Position(chosen.lat_deg, chosen.lon_deg) if chosen else None
    except FormatError:
        return None


def _text_to_read(kind: Kind, text: str) -> str:
    """A report's words as they are; those of a note or a shift change are never a position."""
    if kind == "shift":
        return f"note shift change: {text}"
    if kind in ("confirmation", "withdrawal"):
        return f"note {kind}: {text}"
    return f"note {text}" if kind == "note" and kind_of(text) != "note" else text


def _pictured(rows: Sequence[_Row], title: str, area: Area | None, date: dt.date | None) -> Picture:
    picture = replay(
        [row.said for row in rows if not row.problem],
        title=title,
        area=area,
        date=date,
        unread=[UnreadReport(row.said, row.problem) for row in rows if row.problem],
        chosen={row.said: row.place for row in rows if row.place is not None},
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


def _reports(picture: Picture) -> Iterable[_Report]:
    yield from picture.positions
    yield from picture.bearings
    yield from picture.distances
    yield from picture.watches
    yield from picture.ground
    yield from picture.motions
    yield from picture.notes
    yield from picture.unread


def _understood(entry: Entry, report: _Report) -> Understood:
    """What was made of a new entry, and the entry with its reading."""
    if isinstance(report, UnreadReport):
        return Understood(entry, "", problem=report.reason)
    kind = kind_of(entry.text) if entry.kind == "report" else entry.kind
    if isinstance(report, NoteReport | MotionReport):
        words = _OF_NOTES.get(kind, "kept as a note")
        if isinstance(report, MotionReport):
            words = f"how {report.name} moves"
        return Understood(replace(entry, kind=kind), words)
    chosen, words = _chosen(report)
    others: tuple[Reading, ...] = ()
    reading = None
    assumed = entry.assumed
    if isinstance(report, PositionReport):
        reading, others = report.reading, report.others
        assumed += report.reading.assumed
    elif isinstance(report, BearingReport):
        assumed += _assumed_of_bearing(report)
    questions = tuple(q for q in report.questions if not q.startswith("Assumed "))
    entry = replace(entry, kind=kind, reading=chosen, assumed=assumed)
    return Understood(entry, words, questions, "", reading, others)


def _chosen(
    report: PositionReport | BearingReport | DistanceReport | WatchReport | GroundSaid,
) -> tuple[Chosen | None, str]:
    """The reading as data, and in words."""
    if isinstance(report, PositionReport):
        chosen = _chosen_square(report.reading)
        return chosen, f"{report.name}: {chosen.text}, a square of {length_in_words(chosen.size_m)}"
    if isinstance(report, GroundSaid):
        return None, f"ground, for {report.name or 'everything that is looked for'}"
    at = report.observer
    if isinstance(report, BearingReport):
        text = f"{report.bearing_true_deg:05.1f} true ± {report.sigma_deg:.3g}"
        north = report.north or "north not stated"
        words = (
            f"{report.name}: bearing {report.bearing_deg:03.0f}° {north}, {text}, "
            f"from {report.observer_from}"
        )
        size_m = report.observer_sigma_m * math.sqrt(12.0)
        return _taken_at("bearing", text, at, size_m), words
    if isinstance(report, DistanceReport):
        text = f"{report.distance_m:.0f} m"
        words = f"{report.name}: {text} from {report.observer_from}"
        size_m = report.observer_sigma_m * math.sqrt(12.0)
        return _taken_at("distance", text, at, size_m), words
    heard = "heard" if report.watch.heard else "not heard"
    words = f"{report.name}: {heard} from {report.observer_from}"
    return _taken_at(heard, heard, at), words


def _chosen_square(reading: Reading) -> Chosen:
    square = reading.square
    # To a tenth of a millimetre: a log is read much quicker than with all figures of a double.
    return Chosen(
        reading.format,
        _canonical(reading),
        round(square.centre.lat_deg, 9),
        round(square.centre.lon_deg, 9),
        round(square.size_m, 6),
    )


def _taken_at(kind: str, text: str, at: Position, size_m: float = 0.0) -> Chosen:
    return Chosen(kind, text, round(at.lat_deg, 9), round(at.lon_deg, 9), round(size_m, 6))


def _canonical(reading: Reading) -> str:
    """The square as a text that says it all, or its centre where no format can write it."""
    try:
        return complete_text(reading)
    except FormatError:
        centre = reading.square.centre
        return f"{centre.lat_deg:.5f}, {centre.lon_deg:.5f}"


def _assumed_of_bearing(report: BearingReport) -> tuple[str, ...]:
    error = () if report.sigma_stated else (f"an error of ± {report.sigma_deg:.0f}°",)
    return error if report.north else ("true north, as no north was stated", *error)


def with_reading(understood: Understood, number: int) -> Understood:
    """The same entry with another of its readings chosen, counted from 0."""
    assert understood.reading is not None  # noqa: S101 - the caller has counted them
    found = (understood.reading, *understood.others)
    wanted = found[number]
    others = tuple(each for each in found if each is not wanted)
    assumed = tuple(
        why for why in understood.entry.assumed if why not in understood.reading.assumed
    )
    chosen = _chosen_square(wanted)
    entry = replace(understood.entry, reading=chosen, assumed=(*assumed, *wanted.assumed))
    words = f"{chosen.text}, chosen among {len(found)} meanings"
    return replace(understood, entry=entry, words=words, reading=wanted, others=others)


def reading_of(state: State, line: Line, number: int) -> tuple[Chosen, tuple[str, ...]]:
    """One of the meanings of a line's words, counted from 1, and what it assumes.

    Raises
    ------
    FormatError
        If the line is no position, or has fewer meanings.
    """
    picture = picture_of_state(state)
    ids = {head.hash for head in line.heads}
    names = {name for digest, name in short_names(state.events).items() if digest in ids}
    names.add(short_names(state.events)[line.first.hash])
    found = [
        reading
        for report in picture.positions
        if report.said.name in names
        for reading in (report.reading, *report.others)
    ]
    if not 1 <= number <= len(found):
        raise FormatError(
            f"there is no meaning {number} of {line.current.text!r}: {len(found)} fit",
            line.current.text,
        )
    chosen = found[number - 1]
    return _chosen_square(chosen), chosen.assumed


def open_questions(state: State, picture: Picture) -> tuple[tuple[str, str], ...]:
    """What is still to be asked, as (name of the entry, question), in order.

    What was confirmed by read-back is not asked again.
    """
    names = short_names(state.events)
    settled = {
        names[line.first.hash] for line in state.lines if line.confirmed and not line.conflict
    }
    asked: list[tuple[str, str]] = []
    for report in _reports(picture):
        name = report.said.name
        if isinstance(report, UnreadReport):
            asked.append((name, report.reason))
        elif not isinstance(report, NoteReport | MotionReport) and name not in settled:
            asked.extend((name, question) for question in report.questions)
    order = {names[line.first.hash]: i for i, line in enumerate(state.lines)}
    return tuple(sorted(asked, key=lambda pair: order.get(pair[0], 0)))
