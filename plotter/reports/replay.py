"""From what was said, line by line, to the picture: positions, bearings, notes, and what to ask."""

import datetime as dt
import re
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from typing import Final, TypeAlias, TypeVar

from plotter.errors import FormatError
from plotter.formats.result import Reading, Unstated, asks_of
from plotter.formats.zones import inside
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Area, Position
from plotter.reports.bearing_lines import bearing_report
from plotter.reports.doubts import doubts_about
from plotter.reports.evidence_lines import (
    distance_report,
    ground_report,
    motion_report,
    watch_report,
)
from plotter.reports.evidence_words import DistanceWords, GroundWords, MotionWords, WatchWords
from plotter.reports.lengths import length_in_words
from plotter.reports.looks import looks_like_a_report, sender_may_have_moved
from plotter.reports.names import Names, key_of
from plotter.reports.place_lines import Meanings, meanings_of, other_directions, starts_from_sender
from plotter.reports.report import (
    BearingReport,
    DistanceReport,
    GroundReport,
    MotionReport,
    NoteReport,
    Picture,
    PositionReport,
    Role,
    Said,
    UnreadReport,
    WatchReport,
)
from plotter.reports.subjects import subject_of
from plotter.reports.whereabouts import Moment, Whereabouts, moments, seen_of
from plotter.reports.words import (
    AreaWords,
    BearingWords,
    HalfwayWords,
    IncidentWords,
    NoteWords,
    OffsetWords,
    PlaceWords,
    PositionWords,
    Words,
    words_of,
)
from plotter.voice.spoken import reading_alone

__all__ = ["replay"]

_EVIDENCE: Final = (DistanceWords, WatchWords, GroundWords, MotionWords)
_WHEREABOUTS: Final = (PositionWords, OffsetWords, HalfwayWords)
_FIGURE: Final = re.compile(r"\d")
_AnyAsked: TypeAlias = PositionReport | BearingReport | DistanceReport | WatchReport | GroundReport
_Asked = TypeVar("_Asked", PositionReport, BearingReport, DistanceReport, WatchReport, GroundReport)


@dataclass(frozen=True, slots=True)
class _Line:
    """A line, taken apart."""

    moment: Moment
    said: Said
    words: Words

    @property
    def of_another(self) -> bool:
        """Whether the line is about somebody or something else than its sender."""
        return bool(self.said.subject) and key_of(self.said.subject) != key_of(self.said.sender)


@dataclass(slots=True)
class _Draft:
    """The picture while it grows."""

    known: Whereabouts
    date: dt.date | None
    names: tuple[str, ...]
    chosen: Mapping[Said, Position]
    stations: set[str] = field(default_factory=set)
    keys: frozenset[str] = frozenset()
    positions: list[PositionReport] = field(default_factory=list)
    bearings: list[BearingReport] = field(default_factory=list)
    distances: list[DistanceReport] = field(default_factory=list)
    watches: list[WatchReport] = field(default_factory=list)
    ground: list[GroundReport] = field(default_factory=list)
    motions: list[MotionReport] = field(default_factory=list)
    notes: list[NoteReport] = field(default_factory=list)
    unread: list[UnreadReport] = field(default_factory=list)


def replay(
    said: Sequence[Said],
    *,
    title: str = "",
    area: Area | None = None,
    date: dt.date | None = None,
    unread: Iterable[UnreadReport] = (),
    chosen: Mapping[Said, Position] | None = None,
    names: Iterable[str] = (),
) -> Picture:
    """Replay reports into a picture. Nothing is dropped: every line ends up somewhere.

    Parameters
    ----------
    said : sequence of Said
        The lines in the order they came.
    title : str
        Name of the incident, unless a report names it.
    area : Area or None
        The area of operations, unless a report states it.
    date : datetime.date or None
        Day for the magnetic declination of reports without a readable time.
    unread : iterable of UnreadReport
        Lines that failed before they could become `Said`.
    chosen : mapping of Said to Position
        The place that was chosen among a line's meanings: it comes first where the words still
        have that meaning.
    names : iterable of str
        Names that are known from other lines: one of these lines that sounds like them is asked
        about.

    Returns
    -------
    Picture
        A line that looks like a report but cannot be read is among `unread` with its reason; other
        free talk is among `notes`.
    """
    names = tuple(names)
    everybody = (*names, *(each for line in said for each in (line.sender, line.subject) if each))
    draft = _Draft(Whereabouts(area), date, tuple(dict.fromkeys(everybody)), chosen or {})
    draft.keys = frozenset(key_of(name) for name in draft.names)
    draft.unread.extend(unread)
    parsed: list[_Line] = []
    for moment, line in zip(moments(said), said, strict=True):
        try:
            parsed.append(_Line(moment, line, words_of(line.text)))
        except FormatError as error:
            # "Heard a dog barking" is talk; with a figure or a subject somebody meant a report.
            _cannot_read(draft, line, error, talk=not (line.subject or _FIGURE.search(line.text)))
    # The area first: it completes references. Then places: they do not move, so a later report of
    # one serves an earlier line. Then whereabouts, then bearings, which may start from any of them.
    _who_may_have_moved(draft.known, said)
    title = _area_and_title(draft, parsed, title)
    _each(draft, parsed, (PlaceWords,))
    _whereabouts(draft, [line for line in parsed if isinstance(line.words, _WHEREABOUTS)])
    for kinds in ((BearingWords,), _EVIDENCE, (NoteWords,)):
        _each(draft, parsed, kinds)
    _ask_about_names(draft, names)
    return Picture(
        title=title,
        positions=tuple(sorted(draft.positions, key=lambda r: r.said.line)),
        bearings=tuple(draft.bearings),
        distances=tuple(draft.distances),
        watches=tuple(draft.watches),
        ground=tuple(draft.ground),
        motions=tuple(draft.motions),
        notes=tuple(draft.notes),
        unread=tuple(sorted(draft.unread, key=lambda r: r.said.line)),
        area=draft.known.area,
    )


def _who_may_have_moved(known: Whereabouts, said: Sequence[Said]) -> None:
    """Remember who said that it moves, or that it was not where it said."""
    for moment, line in zip(moments(said), said, strict=True):
        text = line.text.strip()
        if not line.subject and not text.endswith("?") and sender_may_have_moved(text):
            known.may_have_moved(line.sender, moment, text)


def _cannot_read(draft: _Draft, line: Said, error: FormatError, *, talk: bool) -> None:
    """Keep a line that cannot be read: as a note where it is talk and looks like no report."""
    if talk and line.text.strip() and not looks_like_a_report(line.text):
        draft.notes.append(NoteReport(line))
    else:
        draft.unread.append(UnreadReport(line, str(error)))


def _area_and_title(draft: _Draft, parsed: list[_Line], title: str) -> str:
    for line in parsed:
        if isinstance(line.words, IncidentWords):
            title = line.words.name
            draft.notes.append(NoteReport(line.said))
        elif isinstance(line.words, AreaWords):
            try:
                centre = _area_centre(draft, parsed, line.words.where)
            except FormatError as error:
                draft.unread.append(UnreadReport(line.said, str(error)))
                continue
            draft.known.area = Area(centre, line.words.radius_m)
            draft.notes.append(NoteReport(line.said))
    return title


def _area_centre(draft: _Draft, parsed: list[_Line], where: str) -> Position:
    """Middle of the area: a position, or a named place that needs no area to be read."""
    for line in parsed:
        if isinstance(line.words, PlaceWords) and key_of(line.said.subject) == key_of(where):
            return reading_alone(line.words.where)[0].square.centre
    return reading_alone(where, draft.known.area)[0].square.centre


def _each(draft: _Draft, parsed: list[_Line], kinds: tuple[type, ...]) -> None:
    """Put every line of some kinds where it belongs."""
    for line in parsed:
        if isinstance(line.words, kinds):
            try:
                _take(draft, line)
            except FormatError as error:
                draft.unread.append(UnreadReport(line.said, str(error)))


def _take(draft: _Draft, line: _Line) -> None:
    known, moment, said, words = draft.known, line.moment, line.said, line.words
    if isinstance(words, NoteWords):
        draft.notes.append(NoteReport(said))
    elif isinstance(words, BearingWords):
        draft.bearings.append(bearing_report(known, moment, said, words, draft.date))
    elif isinstance(words, DistanceWords):
        draft.distances.append(distance_report(known, moment, said, words))
    elif isinstance(words, WatchWords):
        draft.watches.append(watch_report(known, moment, said, words))
    elif isinstance(words, GroundWords):
        draft.ground.append(ground_report(known, moment, said, words))
    elif isinstance(words, MotionWords):
        draft.motions.append(motion_report(said, words))
    elif isinstance(words, PlaceWords):
        if not said.subject:
            raise FormatError("a named place needs its name as the subject", said.text)
        where = PositionWords(words.where)
        meanings = meanings_of(known, moment, said, where, draft.date, ())
        _put(draft, line, meanings, said.subject, "place")


def _whereabouts(draft: _Draft, lines: list[_Line]) -> None:
    """Put the whereabouts of everybody where they belong, whose they are first."""
    read: list[tuple[_Line, Meanings | None]] = []
    for line in lines:
        # A position stands for itself; a place said from another may need one that comes later.
        meanings = None
        if isinstance(line.words, PositionWords):
            with suppress(FormatError):  # it may be a name that becomes known with another line
                meanings = _meanings(draft, line)
        read.append((line, meanings))
    draft.stations = {
        key_of(line.said.sender)
        for line, meanings in read
        if (meanings or not isinstance(line.words, PositionWords))
        and _is_own(draft, line, meanings)
    }
    for line, meanings in read:
        try:
            found = meanings or _meanings(draft, line)
            name, role = _whose(draft, line, found)
            _put(draft, line, found, name, role)
            subject = found.subject
            unclear = subject is not None and subject.whose == "unclear"
            if not line.of_another and (unclear or (asks_of(found.found) and role != "station")):
                draft.known.may_have_moved(line.said.sender, line.moment, line.said.text.strip())
        except FormatError as error:
            if not line.said.subject and _FIGURE.search(line.said.text):
                draft.known.may_have_moved(line.said.sender, line.moment, line.said.text.strip())
            if isinstance(line.words, PositionWords):
                _cannot_read(draft, line.said, error, talk=True)
                continue
            draft.unread.append(UnreadReport(line.said, str(error)))


def _meanings(draft: _Draft, line: _Line) -> Meanings:
    assert isinstance(line.words, _WHEREABOUTS)  # noqa: S101 - the caller has chosen them
    return meanings_of(draft.known, line.moment, line.said, line.words, draft.date, draft.names)


def _is_own(draft: _Draft, line: _Line, read: Meanings | None) -> bool:
    """Whether the line says where its own sender is."""
    if line.of_another:
        return False
    words = line.words
    subject = read.subject if read else None
    if isinstance(words, OffsetWords | HalfwayWords) and starts_from_sender(words, line.said):
        return False
    if isinstance(words, OffsetWords | HalfwayWords) and words.before:
        subject = subject_of(words.before, "", line.said.sender, draft.names)
    return subject is None or subject.whose == "sender"


def _whose(draft: _Draft, line: _Line, meanings: Meanings) -> tuple[str, Role]:
    """Name and role of whoever or whatever is at the place of a line."""
    name, subject = line.said.subject or line.said.sender, meanings.subject
    sure = True
    if not line.of_another and subject is not None and subject.whose != "sender":
        name, sure = subject.name, subject.whose == "named"
        if not sure and not subject.kind:
            # "Then at", "in an hour": words that are nobody's name say on the map whose they are.
            return f"{name} (says {line.said.sender})", "subject"
        if draft.known.is_place(name):
            # A named place does not move because somebody says how it lies from here.
            return f"{name} (not sure)", "subject"
    if not sure and key_of(name) in draft.keys:
        # Nobody is moved by a guess, and nothing that is looked for.
        return f"{name} (not sure)", "subject"
    return name, "station" if key_of(name) in draft.stations else "subject"


def _put(draft: _Draft, line: _Line, meanings: Meanings, name: str, role: Role) -> None:
    """Put a place on the picture, with what is to be asked about it."""
    known, said, words = draft.known, line.said, line.words
    found, questions = meanings.found, meanings.questions
    if place := draft.chosen.get(said):
        found = tuple(sorted(found, key=lambda each: not _same_place(each.square.centre, place)))
    questions += tuple(f"Assumed {why}: read it back." for why in found[0].assumed)
    # What the area settles of a position the reader has settled; of a direction it is done here.
    fitting = tuple(each for each in found if _fits(each, known.area))
    open_ones = found if isinstance(words, PositionWords) else fitting or found
    if len(open_ones) > 1:
        questions += (_which_of(open_ones),)
    doubts = doubts_about(known, name, line.moment, said, found, meanings.spoken)
    if doubts and isinstance(words, OffsetWords):
        doubts += other_directions(known, line.moment, said, words, draft.date)
    if role == "place":
        questions += _given_anew(known, name, line.moment, found[0])
    # A place that words beside it may move is in doubt like one that lies outside.
    doubts = (*(f"{ask}." for ask in asks_of(found)), *doubts)
    report = PositionReport(
        said,
        name,
        role,
        found[0],
        found[1:],
        _asked_whose(draft, line, meanings) + questions + doubts,
        bool(doubts),
        meanings.sigma_m,
        meanings.subject,
    )
    known.add(seen_of(report, line.moment, known.area, chosen=said in draft.chosen))
    draft.positions.append(report)


def _given_anew(known: Whereabouts, name: str, moment: Moment, found: Reading) -> tuple[str, ...]:
    """Ask about a named place that was given elsewhere before."""
    if not known.is_place(name):
        return ()
    before = known.place(name, moment)
    away_m = geodesic(before.position, found.square.centre).distance_m
    if away_m <= before.size_m + found.square.size_m:
        return ()
    far = length_in_words(away_m)
    stays = "what was reported from it until now stays there; ask which is right."
    return (f"{name} was given {far} from here before: {stays}",)


def _asked_whose(draft: _Draft, line: _Line, meanings: Meanings) -> tuple[str, ...]:
    """Ask whose place it is, where the words leave it open or speak against the line's subject."""
    subject = meanings.subject
    if subject is None:
        return ()
    if not line.of_another:
        if subject.whose != "sender" and draft.known.is_place(subject.name):
            named = f"{subject.name} is a named place already"
            return (f"{named}: ask which place is meant, and who is there.",)
        return (subject.question,) if subject.question else ()
    if subject.says_so and not isinstance(line.words, PlaceWords):
        said = line.said
        return (f"Whose place is this: {said.sender}'s, as the words say, or {said.subject}'s?",)
    return ()


def _ask_about_names(draft: _Draft, names: Iterable[str]) -> None:
    """Ask about each new name that sounds like a known one, where it first comes up."""
    heard = Names()
    for name in names:
        heard.add(name)
    lists: tuple[Sequence[_AnyAsked], ...] = (
        draft.positions, draft.bearings, draft.distances, draft.watches, draft.ground,
    )  # fmt: skip
    every = [(each.said.line, i, each) for i, reports in enumerate(lists) for each in reports]
    asked: dict[int, tuple[str, ...]] = {}
    for _, _, report in sorted(every, key=lambda row: row[:2]):
        for name in (report.said.sender, report.name):
            if near := heard.add(name):
                meant = " or ".join(repr(each) for each in near)
                question = f"New name {name!r}: is it {meant}?"
                asked[id(report)] = (*asked.get(id(report), ()), question)
    if asked:
        draft.positions = [_asking(each, asked) for each in draft.positions]
        draft.bearings = [_asking(each, asked) for each in draft.bearings]
        draft.distances = [_asking(each, asked) for each in draft.distances]
        draft.watches = [_asking(each, asked) for each in draft.watches]
        draft.ground = [_asking(each, asked) for each in draft.ground]


def _asking(report: _Asked, asked: Mapping[int, tuple[str, ...]]) -> _Asked:
    more = asked.get(id(report))
    return replace(report, questions=more + report.questions) if more else report


def _same_place(one: Position, other: Position) -> bool:
    """Whether two places are the same but for rounding to a nanodegree."""
    lon_deg = (one.lon_deg - other.lon_deg + 180.0) % 360.0 - 180.0
    return abs(one.lat_deg - other.lat_deg) < 1e-8 and abs(lon_deg) < 1e-8


def _fits(found: Reading, area: Area | None) -> bool:
    return area is None or inside(found.square.centre, area)


def _which_of(found: tuple[Reading, ...]) -> str:
    """What to ask where several meanings fit: what they differ in, the worst first."""
    centres = [each.square.centre for each in found]
    apart = max(geodesic(centres[0], other).distance_m for other in centres[1:])
    asked = []
    if len({each.format for each in found}) > 1:
        asked.append("what kind of reference it is")
    if len({centre.lat_deg < 0 for centre in centres}) > 1:
        asked.append("north or south")
    if len({centre.lon_deg < 0 for centre in centres}) > 1:
        asked.append("east or west")
    unstated = frozenset[Unstated]().union(*(each.unstated for each in found))
    if "units" in unstated:
        asked.append("the words degrees, minutes and seconds")
    if "order" in unstated:
        asked.append("which number is the latitude")
    if "which part" in unstated:
        asked.insert(0, "who or what is at each of the places, one place a report")
    if not asked:
        grid = any(each.format in ("mgrs", "utm", "ups") for each in found)
        asked.append("zone and square letters" if grid else "every figure by itself")
    return (
        f"{len(found)} meanings fit, {length_in_words(apart)} apart: ask for the position again, "
        f"with {'; '.join(asked)}."
    )
