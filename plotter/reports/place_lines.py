"""From the words about somebody's place to every square they can mean, and to whose place it is."""

import datetime as dt
import math
import re
from collections.abc import Collection
from dataclasses import dataclass, replace
from functools import cache
from itertools import islice
from typing import Final

from plotter.errors import FormatError
from plotter.formats.carried import is_data_line
from plotter.formats.result import Reading
from plotter.formats.zones import inside
from plotter.reports.bearing_lines import true_bearing
from plotter.reports.lengths import length_in_words
from plotter.reports.names import is_own_place, key_of
from plotter.reports.offset_words import HalfwayWords, OffsetWords
from plotter.reports.relative import halfway_square, sector
from plotter.reports.report import Said
from plotter.reports.subjects import Subject, changes_nothing, subject_of
from plotter.reports.whereabouts import Moment, Whereabouts
from plotter.reports.words import PositionWords
from plotter.voice.moves import asks_about, asks_about_figures
from plotter.voice.spoken import spoken_reading
from plotter.voice.tables import language

__all__ = ["Meanings", "meanings_of", "other_directions", "starts_from_sender"]

_AT: Final = re.compile(r"(?:^|\s)(?:at|in)\s+", re.IGNORECASE)
_TAKEN_BACK: Final = re.compile(
    r"\b(?:not|never|no longer|left|leaving|was|were|tomorrow|later|will be|correction|"
    r"disregard|cancel)\b",
    re.IGNORECASE,
)
_COUNT: Final = re.compile(r"(?<![\w.,:])\d{1,3}(?=\s+[^\W\d_]{2})")
_CUT: Final = re.compile(r"[,;.](?=\s|$)")
_LONGEST: Final = 1_000
_LONGEST_NAME: Final = 40
_MOST_CUTS: Final = 6
# "Casualty 2 400 m": the second one, or 2 400 metres.
_THOUSANDS: Final = re.compile(
    r"[^\W\d]\s+\d{1,3}\s\d{3}\s*(?:m|km|met|ft|feet|yards)\w*\b", re.IGNORECASE
)
_EVIDENCE: Final = re.compile(
    r"\b(?:bearing|bears|heard|hear|hears|no\s+signal|signal|distance|true|magnetic)\b",
    re.IGNORECASE,
)
_AND: Final = re.compile(r"\s+and\s+", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Meanings:
    """What words about a place can mean.

    Parameters
    ----------
    found : tuple of Reading
        Every square, the likeliest first; at least one.
    questions : tuple of str
        What to ask.
    subject : Subject or None
        Whose place it is; None where nothing was said beside it.
    sigma_m : float
        One standard deviation per axis that was stated beside the square; 0 where none was.
    spoken : str
        The position as said, to look for slips in; empty where it was not given in characters.
    """

    found: tuple[Reading, ...]
    questions: tuple[str, ...] = ()
    subject: Subject | None = None
    sigma_m: float = 0.0
    spoken: str = ""


def meanings_of(
    known: Whereabouts,
    moment: Moment,
    line: Said,
    words: PositionWords | OffsetWords | HalfwayWords,
    date: dt.date | None,
    names: Collection[str],
) -> Meanings:
    """Everything that words about a place can mean.

    Parameters
    ----------
    known : Whereabouts
        Named places, and who was last where.
    moment : Moment
        When the words were said.
    line : Said
        The report.
    words : PositionWords, OffsetWords or HalfwayWords
        Its parts.
    date : datetime.date or None
        Day for the magnetic declination of a report without a time.
    names : collection of str
        Whom the words may name.

    Raises
    ------
    FormatError
        If they cannot be read.
    """
    if isinstance(words, OffsetWords):
        found, questions = _offset_readings(known, moment, line, words, date)
        across_m = words.distance_m * math.tan(math.radians(min(words.sigma_deg, 89.0)))
        subject = _not_itself(words, line, _subject(words.before, "", line, names))
        found = _asked(found, _asks_before_way(known, words.before, line))
        return Meanings(found, questions, subject, max(words.sigma_m, across_m))
    if isinstance(words, HalfwayWords):
        found, questions = _halfway_reading(known, moment, line, words)
        subject = _not_itself(words, line, _subject(words.before, "", line, names))
        found = _asked(found, _asks_before_way(known, words.before, line))
        return Meanings(found, questions, subject)
    return _position(known, moment, line, words, names)


def _asked(found: tuple[Reading, ...], asks: tuple[str, ...]) -> tuple[Reading, ...]:
    return tuple(replace(each, asks=(*each.asks, *asks)) for each in found) if asks else found


def _asks_before_way(known: Whereabouts, before: str, line: Said) -> tuple[str, ...]:
    """What to ask of words before a way: another place, a number, who tells, a correction."""
    before = before.strip(" ,.;")
    if not before:
        return ()
    asks = (*asks_about(before, lead=True), *_names_beside(known, before, ""))
    rest = _COUNT.sub("", before)
    if any(character.isdigit() for character in rest):
        asks += (asks_about_figures(before),)
    if grouped := _THOUSANDS.search(line.text):
        told = grouped[0].strip()
        asks += (f"{told!r} may be a number and a length, or one length: ask for the length alone",)
    said = key_of(before)
    for name in known.names():
        told = rf"(?<!\w){re.escape(key_of(name))}(?!\w)"
        own = key_of(name) == key_of(line.sender)
        if own or not re.search(told, said) or re.search(rf"{told}(?: is| are)?$", said):
            continue
        asks += (f"{name!r} was named before the way: ask whose place it is, and from where",)
    return asks[:2]


def starts_from_sender(words: OffsetWords | HalfwayWords, line: Said) -> bool:
    """Whether words tell a way from the place of whoever says them: "300 m north of us"."""
    ends = [words.where] if isinstance(words, OffsetWords) else _AND.split(words.ends)
    return any(is_own_place(end) or key_of(end) == key_of(line.sender) for end in ends)


def _not_itself(
    words: OffsetWords | HalfwayWords, line: Said, subject: Subject | None
) -> Subject | None:
    """Nobody is north of himself: with a way from the sender something else is there."""
    itself = subject is None or subject.whose == "sender"
    if line.subject or not itself or not starts_from_sender(words, line):
        return subject
    said = line.text.strip(" .,;")
    return Subject(
        "unclear", said[:_LONGEST_NAME], said=said, question=f"Who or what is there: {said!r}?"
    )


def _position(
    known: Whereabouts,
    moment: Moment,
    line: Said,
    words: PositionWords,
    names: Collection[str],
) -> Meanings:
    where = words.where.strip()
    if is_data_line(where):
        # What came in as data says whose it is in fields, and has no slips of the tongue.
        return Meanings(spoken_reading(where, known.area), sigma_m=words.sigma_m)
    said_error = (f"good to {_metres(words.sigma_m)} as said",) if words.sigma_m else ()
    if named := _named(known, where, line.sender):
        name, before, after = named
        if taken := _TAKEN_BACK.search(before):
            raise FormatError(
                f"{where!r} says {taken[0].strip()!r} before the place: ask where it is now", where
            )
        origin = known.find(name, moment, line.sender)
        squares = (origin.square, *origin.others)
        as_of = () if known.is_place(name) else (origin.as_of,)
        asks = (*_asks_beside(known, name, before, after), *_evidence_beside(line, after, words))
        found = tuple(
            Reading("place", square, (*as_of, *said_error), asks=asks) for square in squares
        )
        beside = (f"{words.head} {before}", f"{after}, {words.after}")
        subject = _subject(*beside, line, names)
        return Meanings(found, origin.questions, subject, words.sigma_m or origin.sigma_m, where)
    try:
        found = spoken_reading(words.where, known.area)
    except FormatError:
        if words.head == "at" and not any(character.isdigit() for character in where):
            known.find(where, moment, line.sender)  # its error names the places that are known
        raise
    before, after = _beside(words.where, found[0])
    named_too = (*_names_beside(known, before, after), *_evidence_beside(line, after, words))
    found = tuple(
        replace(each, assumed=(*each.assumed, *said_error), asks=(*each.asks, *named_too))
        for each in found
    )
    subject = _subject(f"{words.head} {before}", f"{after}, {words.after}", line, names)
    questions: tuple[str, ...] = ()
    if subject is not None and subject.whose == "sender" and not changes_nothing(after):
        # "Strike that", "300 m beyond", "yesterday": nobody is moved by half of what was said.
        questions = (f"After the position was said {after.strip(' ,.;')!r}: ask what it changes.",)
    return Meanings(found, questions, subject, words.sigma_m, words.where)


def _asks_beside(known: Whereabouts, name: str, before: str, after: str) -> tuple[str, ...]:
    """What to ask about words beside a place's name: another place, figures, a correction."""
    parts = tuple(part.strip(" ,.;") for part in (before, after))
    asks = (*asks_about(parts[0], lead=True), *asks_about(parts[1]))
    if asks:
        return asks
    counted = tuple(_COUNT.sub("", part) for part in parts)
    figures = tuple(
        asks_about_figures(part)
        for part, rest in zip(parts, counted, strict=True)
        if any(character.isdigit() for character in rest)
    )
    # "Child at the mill, we are at the mill": two are there, and one of them would be lost.
    again = re.search(
        rf"(?<!\w){re.escape(key_of(name))}(?!\w)", f"{key_of(before)} {key_of(after)}"
    )
    return figures or _names_beside(known, before, after, but="" if again else name)


def _evidence_beside(line: Said, after: str, words: PositionWords) -> tuple[str, ...]:
    """Ask where a bearing or a watch was told behind a place of something else than the sender."""
    if not line.subject or not _EVIDENCE.search(f"{after} {words.after} {line.text}"):
        return ()
    return (
        f"a bearing or a watch may be meant by {line.text!r}: ask for it alone, from which place",
    )


def _names_beside(known: Whereabouts, before: str, after: str, but: str = "") -> tuple[str, ...]:
    """Ask which is meant where a named place is told of beside a position."""
    beside = f" {key_of(before)} {key_of(after)} "
    found = [
        name
        for name in known.names()
        if known.is_place(name)
        and key_of(name) != key_of(but)
        and re.search(rf"(?<!\w){re.escape(key_of(name))}(?!\w)", beside)
    ]
    return tuple(
        f"{name!r} was named beside the position: ask who or what is at which of them"
        for name in found[:1]
    )


def _metres(sigma_m: float) -> str:
    """A stated error, one standard deviation along each axis."""
    return f"± {length_in_words(sigma_m)}"


def _named(known: Whereabouts, where: str, sender: str) -> tuple[str, str, str] | None:
    """Name of a known place or thing in the words, what is said before it, and what after it."""
    if known.is_place(where):
        return where, "", ""
    if len(where) > _LONGEST:
        return None
    joints = [match.end() for match in _AT.finditer(where)]
    for start in (0, *joints[: -_MOST_CUTS - 1 : -1]):
        for cut in (*islice(_CUT.finditer(where, start), _MOST_CUTS), None):
            end = cut.start() if cut else len(where)
            name = where[start:end].strip()
            if not name:
                continue
            # Somebody's name alone is a call; "at the bridge" says where.
            other = start > 0 and known.knows(name) and key_of(name) != key_of(sender)
            if known.is_place(name) or other:
                return name, where[:start], where[end:]
    return None


def _beside(text: str, found: Reading) -> tuple[str, str]:
    """The words before and after the part of a text that a position was read from."""
    core = found.rests_on or text
    at = text.find(core)
    if at < 0:
        return "; ".join(found.left_out), ""
    before, after = text[:at], text[at + len(core) :]
    # "He is at 47N 8E": the words that open a position say whose it is.
    if opener := _openers().match(core):
        before += opener[0]
    return before, after


@cache
def _openers() -> re.Pattern[str]:
    phrases = (
        " ".join(phrase)
        for phrase, meaning in language("english").phrases.items()
        if meaning.kind == "opener"
    )
    longest = sorted(phrases, key=len, reverse=True)
    words = "|".join(re.escape(each).replace(r"\ ", r"\s+") for each in longest)
    return re.compile(rf"\s*(?:{words})\b", re.IGNORECASE)


def _subject(before: str, after: str, line: Said, names: Collection[str]) -> Subject | None:
    if not before.strip(" ,;.") and not after.strip(" ,;."):
        return None
    subject = subject_of(before, after, line.sender, names)
    return subject if subject.said else None


def _offset_readings(
    known: Whereabouts, moment: Moment, line: Said, words: OffsetWords, date: dt.date | None
) -> tuple[tuple[Reading, ...], tuple[str, ...]]:
    origin = known.find(words.where, moment, line.sender)
    bearing, other, questions = true_bearing(words.direction, origin.position, line, date)
    point: tuple[str, ...] = ()
    if words.point:
        half_deg = words.direction.unit_deg / 2
        point = (f"{words.point} from {words.direction.north} north, give or take {half_deg:g}°",)
    found = [
        Reading("offset", sector(origin, words, direction), why)
        for direction, why in (
            (bearing, ("true north",) if other is not None else point),
            (other, ("magnetic north",)),
        )
        if direction is not None
    ]
    return tuple(found), origin.questions + questions


def _halfway_reading(
    known: Whereabouts, moment: Moment, line: Said, words: HalfwayWords
) -> tuple[tuple[Reading, ...], tuple[str, ...]]:
    """The middle between two places; either name may hold an "and" of its own."""
    error: FormatError | None = None
    for match in _AND.finditer(words.ends):
        try:
            first = known.find(words.ends[: match.start()], moment, line.sender)
            second = known.find(words.ends[match.end() :], moment, line.sender)
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


def other_directions(
    known: Whereabouts, moment: Moment, line: Said, words: OffsetWords, date: dt.date | None
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
        found, _ = _offset_readings(known, moment, line, other, date)
        if known.area is not None and any(inside(r.square.centre, known.area) for r in found):
            fitting.append(f"{direction.degrees:03.0f}° {direction.north or ''} ({name})".strip())
    if not fitting:
        return ()
    return (f"Ask for the direction and its north. What would fit: {'; or '.join(fitting)}.",)
