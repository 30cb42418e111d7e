"""From what was said, line by line, to the picture: positions, bearings, notes, and what to ask."""

import datetime as dt
import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Final

from plotter.errors import FormatError
from plotter.fix.evidence import CommonError, default_sigma_deg, wrong_chances
from plotter.formats.result import Reading
from plotter.formats.zones import inside
from plotter.geodesy.geodesic import geodesic, normal_bearing_deg
from plotter.geodesy.grid import convergence_deg
from plotter.geodesy.magnetic import declination
from plotter.geodesy.position import Area, Position
from plotter.reports.doubts import doubts_about, length_in_words
from plotter.reports.evidence_lines import (
    distance_report,
    ground_report,
    motion_report,
    watch_report,
)
from plotter.reports.evidence_words import DistanceWords, GroundWords, MotionWords, WatchWords
from plotter.reports.names import key_of
from plotter.reports.relative import halfway_square, sector
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
from plotter.reports.whereabouts import Gazetteer
from plotter.reports.words import (
    AreaWords,
    BearingWords,
    Direction,
    HalfwayWords,
    IncidentWords,
    NoteWords,
    OffsetWords,
    PlaceWords,
    PositionWords,
    Words,
    words_of,
)
from plotter.voice.spoken import spoken_reading

__all__ = ["replay"]

_EVIDENCE: Final = (DistanceWords, WatchWords, GroundWords, MotionWords)
_WHEREABOUTS: Final = (PositionWords, OffsetWords, HalfwayWords)


@dataclass(slots=True)
class _Draft:
    """The picture while it grows."""

    gazetteer: Gazetteer
    positions: list[PositionReport] = field(default_factory=list)
    bearings: list[BearingReport] = field(default_factory=list)
    distances: list[DistanceReport] = field(default_factory=list)
    watches: list[WatchReport] = field(default_factory=list)
    ground: list[GroundReport] = field(default_factory=list)
    motions: list[MotionReport] = field(default_factory=list)
    notes: list[NoteReport] = field(default_factory=list)
    unread: list[UnreadReport] = field(default_factory=list)
    chosen: Mapping[Said, Position] = field(default_factory=dict)


def replay(
    said: Sequence[Said],
    *,
    title: str = "",
    area: Area | None = None,
    date: dt.date | None = None,
    unread: Iterable[UnreadReport] = (),
    chosen: Mapping[Said, Position] | None = None,
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

    Returns
    -------
    Picture
        A line that cannot be read is among `unread` with its reason.
    """
    draft = _Draft(Gazetteer(area), chosen=chosen or {})
    draft.unread.extend(unread)
    parsed: list[tuple[int, Said, Words]] = []
    for order, line in enumerate(said):
        try:
            parsed.append((order, line, words_of(line.text)))
        except FormatError as error:
            draft.unread.append(UnreadReport(line, str(error)))
    # The area first: it completes references. Then places: they do not move, so a later report of
    # one serves an earlier line. Then whereabouts, then bearings, which may start from any of them.
    title = _area_and_title(draft, parsed, title)
    stations = {key_of(line.sender) for _, line, words in parsed if _from_sender(line, words)}
    for kinds in ((PlaceWords,), _WHEREABOUTS, (BearingWords,), _EVIDENCE, (NoteWords,)):
        for order, line, words in parsed:
            if isinstance(words, kinds):
                try:
                    _take(draft, order, line, words, stations, date)
                except FormatError as error:
                    draft.unread.append(UnreadReport(line, str(error)))
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
        area=draft.gazetteer.area,
    )


def _from_sender(line: Said, words: Words) -> bool:
    """Whether the line says where its own sender is."""
    own = not line.subject or key_of(line.subject) == key_of(line.sender)
    return own and isinstance(words, _WHEREABOUTS)


def _area_and_title(draft: _Draft, parsed: list[tuple[int, Said, Words]], title: str) -> str:
    for _, line, words in parsed:
        if isinstance(words, IncidentWords):
            title = words.name
            draft.notes.append(NoteReport(line))
        elif isinstance(words, AreaWords):
            try:
                centre = spoken_reading(words.where, draft.gazetteer.area)[0].square.centre
            except FormatError as error:
                draft.unread.append(UnreadReport(line, str(error)))
                continue
            draft.gazetteer.area = Area(centre, words.radius_m)
            draft.notes.append(NoteReport(line))
    return title


def _take(
    draft: _Draft,
    order: int,
    line: Said,
    words: Words,
    stations: set[str],
    date: dt.date | None,
) -> None:
    """Put one line where it belongs."""
    if isinstance(words, NoteWords):
        draft.notes.append(NoteReport(line))
    elif isinstance(words, BearingWords):
        draft.bearings.append(_bearing(draft.gazetteer, order, line, words, date))
    elif isinstance(words, DistanceWords):
        draft.distances.append(distance_report(draft.gazetteer, order, line, words))
    elif isinstance(words, WatchWords):
        draft.watches.append(watch_report(draft.gazetteer, order, line, words))
    elif isinstance(words, GroundWords):
        draft.ground.append(ground_report(draft.gazetteer, order, line, words))
    elif isinstance(words, MotionWords):
        draft.motions.append(motion_report(line, words))
    elif isinstance(words, PlaceWords):
        if not line.subject:
            raise FormatError("a named place needs its name as the subject", line.text)
        report = _position(draft, order, line, PositionWords(words.where), "place", date)
        draft.gazetteer.add_place(report.name, report.reading.square)
        draft.positions.append(report)
    elif isinstance(words, _WHEREABOUTS):
        name = line.subject or line.sender
        role: Role = "station" if key_of(name) in stations else "subject"
        report = _position(draft, order, line, words, role, date)
        draft.gazetteer.add_sighting(
            name, order, line.time_utc, report.reading.square, doubtful=report.out_of_place
        )
        draft.positions.append(report)


def _position(
    draft: _Draft,
    order: int,
    line: Said,
    words: PositionWords | OffsetWords | HalfwayWords,
    role: Role,
    date: dt.date | None,
) -> PositionReport:
    gazetteer, name = draft.gazetteer, line.subject or line.sender
    if isinstance(words, OffsetWords):
        found, questions = _offset_readings(gazetteer, order, line, words, date)
    elif isinstance(words, HalfwayWords):
        found, questions = _halfway_reading(gazetteer, order, words)
    else:
        found, questions = _named_or_read(gazetteer, words.where)
    if place := draft.chosen.get(line):
        found = tuple(sorted(found, key=lambda each: not _same_place(each.square.centre, place)))
    questions += tuple(f"Assumed {why}: read it back." for why in found[0].assumed)
    fitting = [each for each in found if _fits(each, gazetteer.area)]
    if len(fitting) > 1 or (not fitting and len(found) > 1):
        questions += (_which_of(tuple(fitting) or found),)
    spoken = words.where if isinstance(words, PositionWords) else ""
    doubts = doubts_about(gazetteer, name, order, line, found, spoken)
    if doubts and isinstance(words, OffsetWords):
        doubts += _other_directions(gazetteer, order, line, words, date)
    sigma_m = words.sigma_m if isinstance(words, PositionWords) else 0.0
    return PositionReport(
        line, name, role, found[0], found[1:], questions + doubts, bool(doubts), sigma_m
    )


def _other_directions(
    gazetteer: Gazetteer, order: int, line: Said, words: OffsetWords, date: dt.date | None
) -> tuple[str, ...]:
    """Name the opposite direction and the other north, where they fit the area."""
    said = words.direction
    ways = [("the reciprocal", replace(said, degrees=(said.degrees + 180.0) % 360.0))]
    if said.north == "true":
        ways.append(("true for magnetic", replace(said, north="magnetic")))
    elif said.north == "magnetic":
        ways.append(("magnetic for true", replace(said, north="true")))
    fitting = []
    for name, direction in ways:
        other = replace(words, direction=direction)
        found, _ = _offset_readings(gazetteer, order, line, other, date)
        if gazetteer.area is not None and any(
            inside(r.square.centre, gazetteer.area) for r in found
        ):
            fitting.append(f"{direction.degrees:03.0f}° {direction.north or ''} ({name})".strip())
    if not fitting:
        return ()
    return (f"Ask for the direction and its north. What would fit: {'; or '.join(fitting)}.",)


def _named_or_read(gazetteer: Gazetteer, where: str) -> tuple[tuple[Reading, ...], tuple[str, ...]]:
    key = key_of(where)
    if key in gazetteer.places:
        _, square = gazetteer.places[key]
        return (Reading("place", square),), ()
    return spoken_reading(where, gazetteer.area), ()


def _same_place(one: Position, other: Position) -> bool:
    """Whether two places are the same but for rounding to a nanodegree."""
    lon_deg = (one.lon_deg - other.lon_deg + 180.0) % 360.0 - 180.0
    return abs(one.lat_deg - other.lat_deg) < 1e-8 and abs(lon_deg) < 1e-8


def _fits(found: Reading, area: Area | None) -> bool:
    return area is None or inside(found.square.centre, area)


def _which_of(found: tuple[Reading, ...]) -> str:
    apart = geodesic(found[0].square.centre, found[1].square.centre).distance_m
    marks = any("words were not said" in why for each in found for why in each.assumed)
    what = "the words degrees and minutes" if marks else "zone, letters or hemisphere"
    return (
        f"{len(found)} meanings fit, {length_in_words(apart)} apart: ask for the position again, "
        f"with {what}."
    )


def _offset_readings(
    gazetteer: Gazetteer, order: int, line: Said, words: OffsetWords, date: dt.date | None
) -> tuple[tuple[Reading, ...], tuple[str, ...]]:
    origin = gazetteer.find(words.where, order)
    bearing_true, other, questions = _true_bearing(words.direction, origin.position, line, date)
    point: tuple[str, ...] = ()
    if words.point:
        half_deg = words.direction.unit_deg / 2
        point = (f"{words.point} from {words.direction.north} north, give or take {half_deg:g}°",)
    found = [
        Reading("offset", sector(origin, words, direction), why)
        for direction, why in (
            (bearing_true, ("true north",) if other is not None else point),
            (other, ("magnetic north",)),
        )
        if direction is not None
    ]
    return tuple(found), origin.questions + questions


def _halfway_reading(
    gazetteer: Gazetteer, order: int, words: HalfwayWords
) -> tuple[tuple[Reading, ...], tuple[str, ...]]:
    """The middle between two places; either name may hold an "and" of its own."""
    error: FormatError | None = None
    for match in re.finditer(r"\s+and\s+", words.ends, re.IGNORECASE):
        try:
            first = gazetteer.find(words.ends[: match.start()], order)
            second = gazetteer.find(words.ends[match.end() :], order)
        except FormatError as caught:
            error = error or caught
            continue
        why = ("halfway give or take a twelfth of the way",)
        reading = Reading("offset", halfway_square(first, second), why)
        return (reading,), first.questions + second.questions
    raise error or FormatError(
        f"{words.ends!r} does not name two places: expected 'between' one place 'and' another",
        words.ends,
    )


def _true_bearing(
    direction: Direction, at: Position, line: Said, date: dt.date | None
) -> tuple[float, float | None, tuple[str, ...]]:
    """Turn a direction as said into a true bearing; a second one where the north was not stated."""
    if direction.north == "true":
        return direction.degrees, None, ()
    if direction.north == "grid":
        return normal_bearing_deg(direction.degrees + convergence_deg(at)), None, ()
    day = line.time_utc.date() if line.time_utc else date
    if day is None:
        raise FormatError(
            f"{line.text!r} needs a day for the magnetic declination: give the time of the report",
            line.text,
        )
    turn, warnings = _declination(at, day)
    magnetic = normal_bearing_deg(direction.degrees + turn)
    if direction.north == "magnetic":
        return magnetic, None, warnings
    asked = f"North not stated: ask. True and magnetic differ by {abs(turn):.0f}° here."
    return direction.degrees, magnetic, (asked, *warnings)


@lru_cache(maxsize=4096)
def _declination(at: Position, day: dt.date) -> tuple[float, tuple[str, ...]]:
    found = declination(at, day)
    return found.declination_deg, found.warnings


def _bearing(
    gazetteer: Gazetteer, order: int, line: Said, words: BearingWords, date: dt.date | None
) -> BearingReport:
    if not line.subject:
        raise FormatError("a bearing needs what it points at as the subject", line.text)
    origin = (
        gazetteer.own_place(line.sender, order)
        if words.where is None
        else gazetteer.find(words.where, order)
    )
    bearing_true, other, questions = _true_bearing(words.direction, origin.position, line, date)
    sigma = words.sigma_deg or default_sigma_deg(words.method, compass=words.compass)
    p_reciprocal, p_gross = wrong_chances(words.method, sense_confirmed=words.sense_confirmed)
    return BearingReport(
        said=line,
        name=line.subject,
        observer=origin.position,
        # The place is anywhere in its square: the spread of a uniform square, per axis.
        observer_sigma_m=origin.size_m / math.sqrt(12.0),
        observer_from=origin.words,
        bearing_deg=words.direction.degrees,
        north=words.direction.north,
        bearing_true_deg=bearing_true,
        other_true_deg=other,
        sigma_deg=sigma,
        sigma_stated=words.sigma_deg is not None,
        questions=origin.questions + questions,
        p_reciprocal=p_reciprocal,
        p_gross=p_gross,
        common=CommonError(words.shared_name, words.shared_deg) if words.shared_name else None,
    )
