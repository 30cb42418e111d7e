"""What kind of report a text is, and its parts as said: nothing is looked up, nothing assumed.

::

    place <position>                     a named place; the subject is its name
    area <radius> around <position>      the area of operations
    incident <name>                      what the incident is called
    note <words>                         nothing to plot
    bearing <direction> [± <degrees> [exact]] [class A|B|C|compass|loop] [sense confirmed]
            [shared error <degrees> by <name>] [from <where>]
    <length> [± <length>] on <direction> [± <degrees>] from <where>
    <length> [± <length>] <point of the compass> [true|magnetic|grid] of <where>
    halfway between <where> and <where>
    [at] <position> [cep|r68|r95|± <length>]
    $GPGGA,... or SENDER>...             a receiver's sentence, a packet, as they came in

More kinds, about the thing that is looked for, are in `plotter.reports.evidence_words`. Lengths,
directions, errors and shares are everywhere those of `plotter.reports.quantities`, typed or spoken.
Before a length and a direction, a middle, or a position there may be words about who is there.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Final, TypeAlias

from plotter.errors import FormatError
from plotter.fix.sightings import circle_sigma_m
from plotter.formats.carried import is_data_line
from plotter.formats.reading import may_be_data_line
from plotter.reports.bearing_words import BearingWords, bearing_words, begins_as_bearing
from plotter.reports.evidence_words import EvidenceWords, evidence_words
from plotter.reports.looks import looks_like_a_report
from plotter.reports.offset_words import HalfwayWords, OffsetWords, halfway_words, offset_words
from plotter.reports.quantities import (
    Direction,
    length_at,
    length_error_at,
    radius_at,
    refuse_unknown_unit,
)
from plotter.voice.tables import language

__all__ = [
    "AreaWords",
    "BearingWords",
    "Direction",
    "HalfwayWords",
    "IncidentWords",
    "NoteWords",
    "OffsetWords",
    "PlaceWords",
    "PositionWords",
    "Words",
    "words_of",
]

_QUESTION: Final = re.compile(
    r"(?i)\W*(?:\w+[, ]+){0,3}?(?:are|is|am|was|were|where|what|which|who|when|how|why|do|does|did|"
    r"can|could|have|has|will|would|shall|should|confirm|request|say|any|you)\b"
)
_HEADS: Final = re.compile(
    r"\s*(place|area|incident|note|at|position)\b\s*(?:is\b)?[:,]?\s*", re.IGNORECASE
)
_CIRCLE: Final = re.compile(r"[,\s]+(?P<kind>cep|r68|r95)\s*:?\s*(?=\S)", re.IGNORECASE)
_LAST_ERROR: Final = re.compile(
    r"[,\s]+(?=±|\+\s*/?\s*[-−–]|plus\s|give\s|within\s|sigma\s|with\s+an\s+error\s|an\s+error\s"
    r"|error\s|good\s+to\s|accurate\s+to\s)",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class PositionWords:
    """A position in any format, or the name of a place.

    Parameters
    ----------
    where : str
        The words that hold the position, and any about who or what is there.
    sigma_m : float
        Its own error where one was given, one standard deviation per axis.
    head : str
        "at" or "position" where it began so.
    after : str
        What was said after the error.
    """

    where: str
    sigma_m: float = 0.0
    head: str = ""
    after: str = ""


@dataclass(frozen=True, slots=True)
class PlaceWords:
    """A named place and where it is."""

    where: str


@dataclass(frozen=True, slots=True)
class AreaWords:
    """The area of operations."""

    radius_m: float
    where: str


@dataclass(frozen=True, slots=True)
class IncidentWords:
    """What the incident is called."""

    name: str


@dataclass(frozen=True, slots=True)
class NoteWords:
    """Words with nothing to plot."""

    text: str


Words: TypeAlias = (
    PositionWords
    | PlaceWords
    | OffsetWords
    | HalfwayWords
    | BearingWords
    | AreaWords
    | IncidentWords
    | NoteWords
    | EvidenceWords
)


_HEADED: Final[dict[str, Callable[[str], Words]]] = {
    "note": NoteWords,
    "incident": IncidentWords,
    "place": PlaceWords,
}


def words_of(text: str) -> Words:
    """Take a report apart.

    Parameters
    ----------
    text : str
        The report as heard.

    Returns
    -------
    Words
        Whatever is none of the other kinds is a position; whether it can be read as one shows
        later.

    Raises
    ------
    FormatError
        If it begins like a bearing, an area or an offset but cannot be one.

    Examples
    --------
    >>> words_of("bearing 245 magnetic from the chapel").direction
    Direction(degrees=245.0, unit_deg=1.0, north='magnetic')
    """
    if not text.strip():
        raise FormatError("the report is empty: ask for it again", text)
    if may_be_data_line(text) and is_data_line(text):
        return PositionWords(text)
    if text.rstrip().endswith("?"):
        # A question says where nobody is; "52.4300N 30.0900W?" may be a place that is not sure.
        if looks_like_a_report(text) and not _QUESTION.match(text):
            raise FormatError(
                f"{text!r} ends with a question mark: ask whether it is a question, or a place "
                "that is not sure, and of which part",
                text,
            )
        return NoteWords(text)
    head = _HEADS.match(text)
    kind = head[1].lower() if head else ""
    rest = text[head.end() :].strip() if head else text.strip()
    if kind in _HEADED:
        return _HEADED[kind](rest)
    if kind == "area":
        return _area(_without_ender(rest), text)
    said = _without_ender(text)
    if begins_as_bearing(said):
        return bearing_words(said)
    if (evidence := evidence_words(said)) is not None:
        return evidence
    plain = _without_ender(rest)
    if halfway := halfway_words(plain):
        return halfway
    if offset := offset_words(plain, text):
        return offset
    return _position(rest, text, kind)


def _position(rest: str, text: str, kind: str) -> PositionWords:
    """A position with the error that was given for it, and what follows that."""
    if match := _CIRCLE.search(rest):
        found = length_at(rest, match.end())
        after = rest[found[1] :] if found else ""
        if found is None or not match.start() or not _ends(after):
            raise FormatError(
                f"cannot read the error of {text!r}: expected it last, as in 'r95 200 m'", text
            )
        sigma_m = circle_sigma_m(found[0].metres, match["kind"].lower())
        return PositionWords(rest[: match.start()], sigma_m, kind, after.strip(" ,.;"))
    for match in _LAST_ERROR.finditer(rest):
        found = length_error_at(rest, match.end())
        if found and match.start() and found[0].metres > 0 and _ends(rest[found[1] :]):
            after = rest[found[1] :].strip(" ,.;")
            return PositionWords(rest[: match.start()], found[0].metres, kind, after)
    return PositionWords(rest, 0.0, kind)


def _ends(after: str) -> bool:
    """Whether words after a quantity begin something else: after a comma or a full stop."""
    return not after.strip() or after.lstrip()[0] in ",.;"


def _area(rest: str, text: str) -> AreaWords:
    found = radius_at(rest, 0)
    where = rest[found[1] :].strip() if found else ""
    if found is None or not where:
        refuse_unknown_unit(rest, 0, text)
        raise FormatError(
            f"cannot read {text!r} as an area: expected 'area 30 km around' and a position", text
        )
    return AreaWords(found[0], where)


def _without_ender(text: str) -> str:
    """A text without the procedure words that end a message."""
    words = text.strip()
    while match := _enders().search(words):
        words = words[: match.start()].rstrip()
    return words


@cache
def _enders() -> re.Pattern[str]:
    phrases = (
        " ".join(phrase)
        for phrase, meaning in language("english").phrases.items()
        if meaning.kind == "ender"
    )
    words = "|".join(re.escape(each).replace(r"\ ", r"\s+") for each in sorted(phrases, key=len))
    return re.compile(rf"(?<=\S)[\s,;.]+(?:{words})[\s.!]*$", re.IGNORECASE)
