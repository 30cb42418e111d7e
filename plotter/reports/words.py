"""What kind of report a text is, and its parts as said: nothing is looked up, nothing assumed.

::

    place <position>                     a named place; the subject is its name
    area <length> around <position>      the area of operations
    incident <name>                      what the incident is called
    note <words>                         nothing to plot
    bearing <figure> [true|magnetic|grid] [± <degrees>] [class A|B|C|compass|loop] [sense confirmed]
            [shared error <degrees> by <name>] [from <where>]
    <length> on <figure> [true|magnetic|grid] from <where>
    <length> <point of the compass> [true|magnetic|grid] of <where>
    halfway between <where> and <where>
    [at] <position> [cep|r68|r95 <length>]
    $GPGGA,... or SENDER>...             a receiver's sentence, a packet, as they came in

More kinds, about the thing that is looked for, are in `plotter.reports.evidence_words`.
Figures before "from" and "of" may be said in words.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, TypeAlias

from plotter.errors import FormatError
from plotter.fix.sightings import circle_sigma_m
from plotter.formats.carried import is_data_line
from plotter.formats.reading import may_be_data_line
from plotter.reports.evidence_words import EvidenceWords, evidence_words
from plotter.reports.report import North
from plotter.units import degrees_from_mils, length_m
from plotter.voice.figures import in_figures
from plotter.voice.points import point_degrees

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

_NORTHS: Final[dict[str, North]] = {
    "true": "true", "t": "true",
    "magnetic": "magnetic", "mag": "magnetic", "m": "magnetic",
    "grid": "grid", "g": "grid",
}  # fmt: skip
_METHODS: Final = {
    "class a": "class A",
    "class b": "class B",
    "class c": "class C",
    "loop": "null or loop",
    "null": "null or loop",
}
_FIGURE: Final = r"\d+(?:\.\d+)?"
_HEADS: Final = re.compile(
    r"\s*(place|area|incident|note|at|position)\b\s*(?:is\b)?[:,]?\s*", re.IGNORECASE
)
_BEARING: Final = re.compile(
    rf"\s*bearing\b\D{{0,20}}?(?P<figure>{_FIGURE})\s*(?P<rest>.*)", re.IGNORECASE
)
_OFFSET: Final = re.compile(
    rf"\s*(?:at\s+)?(?P<length>{_FIGURE})\s*(?P<unit>[a-z]+(?:\s+miles?)?)\s+"
    rf"(?:on|at|bearing|on\s+bearing|on\s+a\s+bearing\s+of)\s+(?P<figure>{_FIGURE})\s*(?P<rest>.*)",
    re.IGNORECASE | re.DOTALL,
)
_POINT: Final = re.compile(
    rf"\s*(?:at\s+)?(?:about\s+)?(?P<length>{_FIGURE})\s*(?P<unit>[a-z]+(?:\s+miles?)?)\s+"
    r"(?:to\s+the\s+|due\s+)?(?P<point>[a-z][a-z \-]{0,30}?)"
    r"(?:\s+(?P<north>true|magnetic|mag|grid))?\s+(?:of|from)\s+(?P<where>.+)",
    re.IGNORECASE | re.DOTALL,
)
_HALFWAY: Final = re.compile(
    r"\s*(?:at\s+)?(?:half[\s-]*way|midway)\s+between\s+(?P<ends>.+)", re.IGNORECASE | re.DOTALL
)
_ORIGIN: Final = re.compile(r"\b(?:from|of|around)\b", re.IGNORECASE)
_AREA: Final = re.compile(
    rf"(?:radius\s+)?(?P<length>{_FIGURE})\s*(?P<unit>[a-z]+(?:\s+miles?)?)\s+(?:around|about|of|from)\s+"
    r"(?P<where>.+)",
    re.IGNORECASE | re.DOTALL,
)
_NORTH: Final = re.compile(
    r"(true|magnetic|mag|grid|[TMGtmg])\b(?:\s+north\b)?[,;]?\s*", re.IGNORECASE
)
_UNIT: Final = re.compile(r"(°|degrees?\b|deg\b|mils?\b)[,;]?\s*", re.IGNORECASE)
_SIGMA: Final = re.compile(
    rf"(?:±|\+\s*/?\s*-|plus\s+or\s+minus|plus\s+minus|sigma|within|give\s+or\s+take)\s*"
    rf"(?P<figure>{_FIGURE})\s*(?:°|degrees?\b|deg\b)?[,;]?\s*",
    re.IGNORECASE,
)
_METHOD: Final = re.compile(r"(?:by\s+)?(class\s+[abc]|compass|loop|null)\b[,;]?\s*", re.IGNORECASE)
_SENSE: Final = re.compile(r"sense\s+(?:is\s+)?confirmed[,;]?\s*", re.IGNORECASE)
_SHARED: Final = re.compile(
    rf"shared\s+error\s+(?P<figure>{_FIGURE})\s*(?:°|degrees?\b|deg\b)?\s+(?:by|of|in)\s+"
    r"(?P<name>.+?)(?=\s*[,;]|\s+from\s|\s*$)[,;]?\s*",
    re.IGNORECASE,
)
_CIRCLE: Final = re.compile(
    rf"[,\s]+(?P<kind>cep|r68|r95)\s*:?\s*(?P<length>{_FIGURE})\s*(?P<unit>[a-z]+(?:\s+miles?)?)\s*",
    re.IGNORECASE,
)
_FROM: Final = re.compile(r"(?:from|of)\s+(?P<where>.+)", re.IGNORECASE | re.DOTALL)


@dataclass(frozen=True, slots=True)
class Direction:
    """A direction as said.

    Parameters
    ----------
    degrees : float
        [0, 360).
    unit_deg : float
        One unit of its last figure.
    north : {"true", "magnetic", "grid"} or None
        None where it was not stated.
    """

    degrees: float
    unit_deg: float
    north: North | None


@dataclass(frozen=True, slots=True)
class PositionWords:
    """A position in any format, or the name of a place; its own error where one was given."""

    where: str
    sigma_m: float = 0.0


@dataclass(frozen=True, slots=True)
class PlaceWords:
    """A named place and where it is."""

    where: str


@dataclass(frozen=True, slots=True)
class OffsetWords:
    """A length and a direction from somewhere.

    Parameters
    ----------
    distance_m : float
        The length.
    unit_m : float
        One unit of its last figure; with a point of the compass, of its last figure but zeros.
    direction : Direction
        The direction; a point of the compass has the spacing of such points as its unit.
    where : str
        From where.
    point : str
        The point of the compass as said, empty for figures.
    """

    distance_m: float
    unit_m: float
    direction: Direction
    where: str
    point: str = ""


@dataclass(frozen=True, slots=True)
class HalfwayWords:
    """In the middle between two places: `ends` holds both and the word between them, as said."""

    ends: str


@dataclass(frozen=True, slots=True)
class BearingWords:
    """A bearing; `where` is None for the sender's own place, `sigma_deg` where none was given."""

    direction: Direction
    sigma_deg: float | None
    method: str
    compass: bool
    where: str | None
    sense_confirmed: bool = False
    shared_name: str = ""
    shared_deg: float = 0.0


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
    head = _HEADS.match(text)
    kind = head[1].lower() if head else ""
    rest = text[head.end() :].strip() if head else text.strip()
    if kind in _HEADED:
        return _HEADED[kind](rest)
    if kind == "area":
        return _area(_figures_first(rest), text)
    if re.match(r"\s*bearing\b", text, re.IGNORECASE):
        return _bearing(text)
    if (evidence := evidence_words(text)) is not None:
        return evidence
    if match := _HALFWAY.fullmatch(rest):
        return HalfwayWords(match["ends"].strip())
    figures = _figures_first(rest) if _ORIGIN.search(rest) else rest
    if match := _OFFSET.fullmatch(figures):
        return _offset(match, text)
    if (match := _POINT.fullmatch(figures)) and (point := point_degrees(match["point"])):
        return _offset_to_point(match, *point)
    if circle := _CIRCLE.search(rest):
        if circle.end() < len(rest) or not circle.start():
            raise FormatError(
                f"cannot read the error of {text!r}: expected it last, as in 'r95 200 m'", text
            )
        radius_m = length_m(float(circle["length"]), circle["unit"])
        sigma_m = circle_sigma_m(radius_m, circle["kind"].lower())
        return PositionWords(rest[: circle.start()], sigma_m)
    return PositionWords(rest)


def _figures_first(text: str) -> str:
    """The same text with figures for number words before the words that say from where."""
    stop = _ORIGIN.search(text)
    at = stop.start() if stop else len(text)
    return in_figures(text[:at]) + text[at:]


def _offset_to_point(match: re.Match[str], degrees: float, spacing_deg: float) -> OffsetWords:
    # Who gives a point of the compass estimates: 600 m is one figure, not three.
    figures = match["length"]
    whole = figures.partition(".")[0]
    zeros = len(whole) - len(whole.rstrip("0")) if "." not in figures else 0
    unit = 10.0 ** (min(zeros, len(whole) - 1) - len(figures.partition(".")[2]))
    north = _NORTHS[match["north"].lower()] if match["north"] else "true"
    return OffsetWords(
        length_m(float(figures), match["unit"]),
        length_m(unit, match["unit"]),
        Direction(degrees, spacing_deg, north),
        match["where"].strip(),
        match["point"].strip(),
    )


def _area(rest: str, text: str) -> AreaWords:
    match = _AREA.fullmatch(rest)
    if match is None:
        raise FormatError(
            f"cannot read {text!r} as an area: expected 'area 30 km around' and a position", text
        )
    return AreaWords(length_m(float(match["length"]), match["unit"]), match["where"].strip())


def _offset(match: re.Match[str], text: str) -> OffsetWords:
    direction, rest = _direction(match["figure"], match["rest"], text)
    origin = _FROM.fullmatch(rest)
    if origin is None:
        raise FormatError(
            f"{text!r} does not say from where: expected 'from' and a place or a position", text
        )
    unit = length_m(10.0 ** -len(match["length"].partition(".")[2]), match["unit"])
    return OffsetWords(
        length_m(float(match["length"]), match["unit"]), unit, direction, origin["where"].strip()
    )


def _bearing(text: str) -> BearingWords:
    match = _BEARING.fullmatch(_figures_first(text.strip()))
    if match is None:
        raise FormatError(
            f"cannot read {text!r} as a bearing: expected figures and a north, as in 'bearing 245 "
            "magnetic'",
            text,
        )
    direction, rest = _direction(match["figure"], match["rest"], text)
    sigma: float | None = None
    method, compass = "hand-held directional", direction.north == "magnetic"
    confirmed, shared = False, ("", 0.0)
    while rest:
        if found := _SIGMA.match(rest):
            sigma = float(found["figure"])
            if not 0 < sigma <= 90:
                raise FormatError(
                    f"an error of {sigma:g} degrees in {text!r} is not usable: expected 0.1 to 90",
                    text,
                )
        elif found := _METHOD.match(rest):
            word = " ".join(found[1].lower().split())
            method, compass = _METHODS.get(word, method), compass or word == "compass"
        elif found := _SENSE.match(rest):
            confirmed = True
        elif found := _SHARED.match(rest):
            shared = (found["name"].strip(), float(found["figure"]))
            if not 0 < shared[1] <= 90:
                raise FormatError(
                    f"a shared error of {shared[1]:g} degrees in {text!r} is not usable: expected "
                    "0.1 to 90",
                    text,
                )
        else:
            break
        rest = rest[found.end() :]
    where = None
    if rest:
        origin = _FROM.fullmatch(rest)
        if origin is None:
            raise FormatError(
                f"cannot read {rest!r} in {text!r}: expected true, magnetic or grid, an error like "
                "± 5, 'sense confirmed', 'shared error 5 by' its name, or 'from' and a place",
                text,
            )
        where = origin["where"].strip()
        if where.lower() in ("own place", "own position", "here", "me", "us"):
            where = None
    return BearingWords(direction, sigma, method, compass, where, confirmed, *shared)


def _direction(figure: str, rest: str, text: str) -> tuple[Direction, str]:
    """Direction with its unit and north, and what follows them."""
    value = float(figure)
    unit_deg = 10.0 ** -len(figure.partition(".")[2])
    north: North | None = None
    mils = False
    for _ in range(2):
        if found := _UNIT.match(rest):
            mils = found[1].lower().startswith("mil")
        elif found := _NORTH.match(rest):
            north = _NORTHS[found[1].lower()]
        else:
            break
        rest = rest[found.end() :]
    if mils:
        if value > 6400:
            raise FormatError(f"{figure} mils in {text!r} is more than a circle (6400)", text)
        value, unit_deg = degrees_from_mils(value), degrees_from_mils(unit_deg)
    if value > 360:
        raise FormatError(
            f"bearing {figure} in {text!r} is more than 360 degrees: ask for it again (say mils if "
            "mils are meant)",
            text,
        )
    return Direction(value % 360.0, unit_deg, north), rest.strip()
