"""The state of a log as a picture, and new entries as they are read beside what is known."""

import datetime as dt
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from plotter.errors import FormatError
from plotter.formats.result import Reading
from plotter.geodesy.position import Area, Square
from plotter.log.chosen import assumed_of_bearing, chosen_of, chosen_square
from plotter.log.events.event import Chosen, Entry
from plotter.log.events.names import short_names
from plotter.log.events.state import Line, State
from plotter.log.rows import (
    SCENE,
    Report,
    Row,
    kind_of,
    pictured,
    place_of,
    reports_of,
    rows_of,
    text_to_read,
)
from plotter.reports.names import key_of
from plotter.reports.report import (
    BearingReport,
    MotionReport,
    NoteReport,
    Picture,
    PositionReport,
    Said,
    UnreadReport,
    to_ask,
)
from plotter.reports.whereabouts import named_squares

__all__ = [
    "Understood",
    "named_places",
    "open_questions",
    "picture_of_state",
    "reading_of",
    "said_lines",
    "understand",
    "with_reading",
]

_NEW: Final = "new "
# Words that say where a thing is: "the bridge is at".
_THING_AT: Final = re.compile(r"(.{2,40}?) (?:is|are) ")
# How far back somebody's own reports are looked through for a new one.
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
        As for `plotter.reports.replay.replay`.
    """
    return pictured(rows_of(state), title, area, date)


def said_lines(state: State) -> list[Said]:
    """The lines that stand, as a report file would have them, in the order of the picture."""
    return [row.said for row in rows_of(state)]


def named_places(state: State, area: Area | None = None) -> list[tuple[str, Square]]:
    """Named places with their squares, for the check of a read-back."""
    rows = [row for row in rows_of(state) if SCENE.match(row.said.text)]
    return named_squares(pictured(rows, "", area, None))


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
    every = rows_of(state)
    rows = _that_matter(every, entries)
    heard = dict.fromkeys(
        name for row in every for name in (row.said.sender, row.said.subject) if name
    )
    start = max((row.said.line for row in rows), default=0) + 1
    for i, entry in enumerate(entries):
        said = Said(
            start + i,
            entry.said_utc or entry.received_utc or now_utc,
            entry.sender,
            entry.subject,
            text_to_read(entry.kind, entry.text),
            f"{_NEW}{i}",
        )
        rows.append(Row(said, place_of(entry.reading), problem=entry.problem))
    picture = pictured(rows, "", area, None, heard)
    found = {report.said.name: report for report in reports_of(picture)}
    return tuple(_understood(entry, found[f"{_NEW}{i}"]) for i, entry in enumerate(entries))


def _that_matter(rows: Sequence[Row], entries: Sequence[Entry]) -> list[Row]:
    """Rows that some entries are read beside: places, areas, and who is named in them.

    To read all of a day's reports again for each new one would keep a person waiting.
    """
    named = "\n".join(
        key_of(words) for entry in entries for words in (entry.sender, entry.subject, entry.text)
    )
    speakers = {key_of(words) for each in entries for words in (each.sender, each.subject)} - {""}
    seen: Counter[str] = Counter()
    kept: list[Row] = []
    for row in reversed(rows):
        if not SCENE.match(row.said.text):
            who = key_of(row.said.subject or row.said.sender)
            # "Team 2 is at ..." from somebody else says where Team 2 is.
            words = f" {key_of(row.said.text)} "
            told = next((each for each in speakers if f" {each} " in words), None)
            thing = _THING_AT.match(key_of(row.said.text))
            of_a_thing = thing is not None and thing[1] in named
            seen[told or who] += 1
            unnamed = told is None and who not in named and not of_a_thing
            if seen[told or who] > _LAST_OF_EACH or unnamed:
                continue
        kept.append(row)
    return kept[::-1]


def _understood(entry: Entry, report: Report) -> Understood:
    """What was made of a new entry, and the entry with its reading."""
    if isinstance(report, UnreadReport):
        return Understood(entry, "", problem=report.reason)
    kind = kind_of(entry.text) if entry.kind == "report" else entry.kind
    if isinstance(report, NoteReport | MotionReport):
        words = _OF_NOTES.get(kind, "kept as a note")
        if isinstance(report, MotionReport):
            words = f"how {report.name} moves"
        return Understood(replace(entry, kind=kind), words)
    chosen, words = chosen_of(report)
    others: tuple[Reading, ...] = ()
    reading = None
    assumed = entry.assumed
    if isinstance(report, PositionReport):
        reading, others = report.reading, report.others
        assumed += report.reading.assumed
    elif isinstance(report, BearingReport):
        assumed += assumed_of_bearing(report)
    questions = to_ask(report.questions)
    entry = replace(entry, kind=kind, reading=chosen, assumed=assumed)
    return Understood(entry, words, questions, "", reading, others)


def with_reading(understood: Understood, number: int) -> Understood:
    """The same entry with another of its readings chosen, counted from 0."""
    assert understood.reading is not None  # noqa: S101 - the caller has counted them
    found = (understood.reading, *understood.others)
    wanted = found[number]
    others = tuple(each for each in found if each is not wanted)
    assumed = tuple(
        why for why in understood.entry.assumed if why not in understood.reading.assumed
    )
    chosen = chosen_square(wanted)
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
    return chosen_square(chosen), chosen.assumed


def open_questions(state: State, picture: Picture) -> tuple[tuple[str, str], ...]:
    """What is still to be asked, as (name of the entry, question), in order.

    What was confirmed by read-back is not asked again.
    """
    names = short_names(state.events)
    settled = {
        names[line.first.hash] for line in state.lines if line.confirmed and not line.conflict
    }
    asked: list[tuple[str, str]] = []
    for report in reports_of(picture):
        name = report.said.name
        if isinstance(report, UnreadReport):
            asked.append((name, report.reason))
        elif not isinstance(report, NoteReport | MotionReport) and name not in settled:
            asked.extend((name, question) for question in report.questions)
    order = {names[line.first.hash]: i for i, line in enumerate(state.lines)}
    return tuple(sorted(asked, key=lambda pair: order.get(pair[0], 0)))
