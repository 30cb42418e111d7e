"""The quantities of a report as said: numbers, lengths, directions, errors, shares, radii, speeds.

One grammar for every kind of report. Each function looks for its quantity at one place of a text
and gives it with the place where it ends, or None where it is not there: whoever takes a report
apart goes on from that place, so that nothing between two quantities is lost. Numbers are typed or
spoken ("two decimal four", "2,4", "two and a half", "a hundred and fifty"); an error is everywhere
one standard deviation.
"""

import re
from dataclasses import dataclass
from itertools import islice
from typing import Final, Literal

from plotter.errors import FormatError
from plotter.reports.numbers import Number, number_at
from plotter.units import (
    METRES_PER_NAUTICAL_MILE,
    METRES_PER_STATUTE_MILE,
    degrees_from_mils,
    length_m,
    length_words,
)
from plotter.voice.points import point_degrees

__all__ = [
    "Direction",
    "Length",
    "North",
    "angle_error_at",
    "direction_at",
    "length_at",
    "length_error_at",
    "origin_at",
    "percent_at",
    "point_at",
    "radius_at",
    "refuse_unknown_unit",
    "share_at_end",
    "skip_pause",
    "speed_at",
    "times_at",
    "unknown_unit",
    "usable_angle",
]

North = Literal["true", "magnetic", "grid"]

_NORTHS: Final[dict[str, North]] = {
    "true": "true", "t": "true",
    "magnetic": "magnetic", "mag": "magnetic", "m": "magnetic",
    "grid": "grid", "g": "grid",
}  # fmt: skip
_ABOUT: Final = re.compile(r"(?:about|approximately|approx\.?|roughly|some)\s+", re.IGNORECASE)
_PAUSE: Final = re.compile(r"(?:[\s,;]+(?:(?:and|with)\s+)?)?")
_GAP: Final = re.compile(r"-|\s*")
# "Half a kilometre", "three quarters of a mile".
_OF_A: Final = re.compile(r"(?:of\s+)?an?\s+", re.IGNORECASE)
_TWO_WORDS: Final = re.compile(r"[a-z]+\s+miles?\b", re.IGNORECASE)
_ONE_WORD: Final = re.compile(r"[a-z]+", re.IGNORECASE)
_UNIT_LIKE: Final = re.compile(r"\s*([a-z]+(?:\s+miles?)?)", re.IGNORECASE)
_TO_THE: Final = re.compile(r"(?:to\s+the|due|towards?(?:\s+the)?)\s+", re.IGNORECASE)
_POINT_WORD: Final = re.compile(r"[a-z]+\b", re.IGNORECASE)
_POINT: Final = re.compile(r"[A-Za-z]+(?:[\s-]+[A-Za-z]+)*")
_NORTH: Final = re.compile(
    r"\s*,?\s*(true|magnetic|mag|grid|[TMG])\b(?:\s+north\b)?", re.IGNORECASE
)
_ANGLE_UNIT: Final = re.compile(r"\s*(°|degrees?\b|degs?\b|mils?\b)", re.IGNORECASE)
_ERROR: Final = re.compile(
    r"(?:±|\+\s*/?\s*[-−–]|plus\s+(?:or\s+|and\s+)?minus|give\s+or\s+take|within|sigma"
    r"|(?:with\s+)?an\s+error\s+of|error(?:\s+of)?|good\s+to|accurate\s+to)\s*",
    re.IGNORECASE,
)
_FROM: Final = re.compile(r"(?:from|of)\s+(?=\S)", re.IGNORECASE)
_AROUND: Final = re.compile(
    r"\s+(?:around|round|about|of|from|centred\s+on|centered\s+on)\s+(?=\S)", re.IGNORECASE
)
_RADIUS_BEFORE: Final = re.compile(r"(?:a\s+)?radius(?:\s+of|\s+is)?\s+", re.IGNORECASE)
_RADIUS_AFTER: Final = re.compile(r"\s+(?:in\s+)?radius\b", re.IGNORECASE)
_PERCENT: Final = re.compile(r"\s*(?:%|per\s*cent\b|pct\b)", re.IGNORECASE)
_TIMES: Final = re.compile(r"\s*(?:times\b|×|x\b)", re.IGNORECASE)
_SPEED: Final = re.compile(
    r"\s*(m/s|met(?:re|er)s?\s+(?:per|a)\s+second|km/h|kmh|kph"
    r"|kilomet(?:re|er)s?\s+(?:per|an)\s+hour|kn|knots?|mph|miles\s+(?:per|an)\s+hour)(?![a-z])",
    re.IGNORECASE,
)
_METRES_PER_SECOND: Final = {
    "km": 1 / 3.6, "ki": 1 / 3.6, "kp": 1 / 3.6,
    "kn": METRES_PER_NAUTICAL_MILE / 3600.0,
    "mp": METRES_PER_STATUTE_MILE / 3600.0, "mi": METRES_PER_STATUTE_MILE / 3600.0,
}  # fmt: skip
_MOST_ERROR_DEG: Final = 90.0
_MOST_POINT_WORDS: Final = 5


@dataclass(frozen=True, slots=True)
class Length:
    """A length as said.

    Parameters
    ----------
    metres : float
        The length.
    unit_m : float
        One unit of its last figure.
    rough_unit_m : float
        One unit of its last figure that is not zero: who estimates gives 600 m one figure.
    """

    metres: float
    unit_m: float
    rough_unit_m: float


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


def skip_pause(text: str, at: int) -> int:
    """Where the next clause begins: behind spaces, commas, and an "and" or "with" after them."""
    match = _PAUSE.match(text, at)
    return match.end() if match else at


def length_at(text: str, at: int) -> tuple[Length, int] | None:
    """A number and a unit of length, with or without an "about" before them.

    Raises
    ------
    FormatError
        If the number can be two.

    Examples
    --------
    >>> length_at("two decimal four km on", 0)
    (Length(metres=2400.0, unit_m=100.0, rough_unit_m=100.0), 19)
    >>> length_at("2 cubits", 0) is None
    True
    """
    start = at
    if about := _ABOUT.match(text, at):
        start = about.end()
    found = number_at(text, start, grouped=True, article=True)
    if found is None:
        return None
    number, end = found
    unit = _unit_at(text, end)
    if unit is None:
        return None
    word, end = unit
    metres = length_m(number.value, word)
    return Length(metres, length_m(number.unit, word), length_m(_rough_unit(number), word)), end


def _unit_at(text: str, at: int) -> tuple[str, int] | None:
    gap = _GAP.match(text, at)
    start = gap.end() if gap else at
    if lead := _OF_A.match(text, start):
        start = lead.end()
    for pattern in (_TWO_WORDS, _ONE_WORD):
        if match := pattern.match(text, start):
            word = " ".join(match[0].lower().split())
            if word in length_words():
                return word, match.end()
    return None


def _rough_unit(number: Number) -> float:
    """One unit of the last figure that is not a zero before the point."""
    whole = f"{number.value:.0f}"
    if number.unit != 1.0 or number.value == 0.0:
        return number.unit
    return float(10.0 ** min(len(whole) - len(whole.rstrip("0")), len(whole) - 1))


def direction_at(text: str, at: int) -> tuple[Direction, int] | None:
    """Figures with their unit and their north, in either order.

    Raises
    ------
    FormatError
        If they are more than a circle.

    Examples
    --------
    >>> direction_at("two four five degrees magnetic from", 0)
    (Direction(degrees=245.0, unit_deg=1.0, north='magnetic'), 30)
    """
    start = at
    if about := _ABOUT.match(text, at):
        start = about.end()
    found = number_at(text, start)
    if found is None:
        return None
    number, end = found
    figures = text[start:end]
    north: North | None = None
    unit = ""
    for _ in range(2):
        if not unit and (match := _ANGLE_UNIT.match(text, end)):
            unit = match[1].lower()
        elif north is None and (match := _NORTH.match(text, end)):
            north = _NORTHS[match[1].lower()]
        else:
            break
        end = match.end()
    value, unit_deg = number.value, number.unit
    if unit.startswith("mil"):
        if value > 6400:
            raise FormatError(f"{figures} mils in {text!r} is more than a circle (6400)", text)
        value, unit_deg = degrees_from_mils(value), degrees_from_mils(unit_deg)
    if value > 360:
        raise FormatError(
            f"bearing {figures} in {text!r} is more than 360 degrees: ask for it again (say mils "
            "if mils are meant)",
            text,
        )
    return Direction(value % 360.0, unit_deg, north), end


def point_at(text: str, at: int) -> tuple[Direction, str, int] | None:
    """A point of the compass, with a north where one is stated; the point as said.

    The unit of the direction is the spacing of points of its rank; where no north is stated it is
    true north.

    Examples
    --------
    >>> point_at("north-east of the bridge", 0)
    (Direction(degrees=45.0, unit_deg=45.0, north='true'), 'north-east', 10)
    """
    start = at
    if lead := _TO_THE.match(text, at):
        start = lead.end()
    words = list(islice(_POINT_WORD.finditer(text, start), _MOST_POINT_WORDS))
    for last in reversed(words):
        said = text[start : last.end()]
        point = point_degrees(said) if _POINT.fullmatch(said) else None
        if point is not None:
            end = last.end()
            north: North = "true"
            if match := _NORTH.match(text, end):
                north, end = _NORTHS[match[1].lower()], match.end()
            return Direction(*point, north), said, end
    return None


def length_error_at(text: str, at: int) -> tuple[Length, int] | None:
    """An error of a length: "± 200 m", "give or take two hundred metres", "within 200 m" ...

    Examples
    --------
    >>> length_error_at("plus or minus 200 m", 0)[0].metres
    200.0
    """
    mark = _ERROR.match(text, at)
    return length_at(text, mark.end()) if mark else None


def angle_error_at(text: str, at: int) -> tuple[float, int] | None:
    """An error of a direction, in degrees: "± 5", "plus or minus five degrees", "sigma 80 mils".

    Raises
    ------
    FormatError
        If it is not above 0 or more than 90°.

    Examples
    --------
    >>> angle_error_at("give or take five degrees from the hut", 0)
    (5.0, 25)
    """
    mark = _ERROR.match(text, at)
    return _angle_at(text, mark.end(), "an error") if mark else None


def usable_angle(text: str, at: int, what: str) -> tuple[float, int] | None:
    """Degrees of an error without a word before them; `what` it is, for the message."""
    return _angle_at(text, at, what)


def _angle_at(text: str, at: int, what: str) -> tuple[float, int] | None:
    found = number_at(text, at)
    if found is None:
        return None
    number, end = found
    value = number.value
    if unit := _ANGLE_UNIT.match(text, end):
        end = unit.end()
        if unit[1].lower().startswith("mil"):
            value = degrees_from_mils(value)
    if not 0 < value <= _MOST_ERROR_DEG:
        raise FormatError(
            f"{what} of {value:g} degrees in {text!r} is not usable: expected 0.1 to 90", text
        )
    return value, end


def origin_at(text: str, at: int) -> str | None:
    """From where: all that follows "from" or "of"; None where no such word stands here.

    Examples
    --------
    >>> origin_at("from the chapel", 0)
    'the chapel'
    """
    match = _FROM.match(text, at)
    return text[match.end() :].strip() if match else None


def radius_at(text: str, at: int) -> tuple[float, int] | None:
    """A radius in metres and the word "around", up to where the place begins.

    Examples
    --------
    >>> radius_at("radius of five km around the hut", 0)
    (5000.0, 25)
    """
    before = _RADIUS_BEFORE.match(text, at)
    found = length_at(text, before.end() if before else at)
    if found is None:
        return None
    length, end = found
    if before is None and (after := _RADIUS_AFTER.match(text, end)):
        end = after.end()
    around = _AROUND.match(text, end)
    return (length.metres, around.end()) if around else None


def refuse_unknown_unit(text: str, at: int, whole: str) -> None:
    """Refuse a radius whose unit is not known.

    Raises
    ------
    FormatError
        If a number, any word and "around" stand here.
    """
    number = number_at(text, at, grouped=True)
    word = _UNIT_LIKE.match(text, number[1]) if number else None
    if word is not None and _AROUND.match(text, word.end()):
        raise unknown_unit(word[1], whole)


def unknown_unit(word: str, whole: str) -> FormatError:
    """Say that a word is no unit of length."""
    return FormatError(
        f"unknown unit of length {word!r} in {whole!r}; use m, km, nm, miles, yards or feet", whole
    )


def percent_at(text: str, at: int) -> tuple[float, int] | None:
    """A share from 0 to 1, said in per cent.

    Examples
    --------
    >>> percent_at("seventy per cent", 0)
    (0.7, 16)
    """
    found = number_at(text, at)
    unit = _PERCENT.match(text, found[1]) if found else None
    return (found[0].value / 100.0, unit.end()) if found and unit else None


def times_at(text: str, at: int) -> tuple[float, int] | None:
    """A factor: "3 times", "three times".

    Examples
    --------
    >>> times_at("three times", 0)
    (3.0, 11)
    """
    found = number_at(text, at)
    unit = _TIMES.match(text, found[1]) if found else None
    return (found[0].value, unit.end()) if found and unit else None


def share_at_end(text: str) -> tuple[str, float, str]:
    """A text without the share or factor at its end, that figure, and its unit.

    Returns
    -------
    rest : str
        What stands before it.
    value : float
        The share from 0 to 1, or the factor; 0 where there is none.
    unit : {"%", "times", ""}
        Which it is.

    Examples
    --------
    >>> share_at_end("500 m around hut two, seventy per cent")
    ('500 m around hut two', 0.7, '%')
    """
    stripped = text.rstrip(" \t\n.,;")
    for match in re.finditer(r"(?:(?<=[\s,:])|^)(?=[\w.,])", stripped):
        for reader, unit in ((percent_at, "%"), (times_at, "times")):
            found = reader(stripped, match.start())
            if found and found[1] == len(stripped):
                return stripped[: match.start()].rstrip(" \t\n,;:"), found[0], unit
    return text.strip(), 0.0, ""


def speed_at(text: str, at: int) -> tuple[float, int] | None:
    """A speed in metres per second.

    Examples
    --------
    >>> speed_at("3.6 km/h", 0)
    (1.0, 8)
    """
    found = number_at(text, at)
    unit = _SPEED.match(text, found[1]) if found else None
    if found is None or unit is None:
        return None
    word = unit[1].lower()
    factor = 1.0 if word.startswith(("m/", "met")) else _METRES_PER_SECOND[word[:2]]
    return found[0].value * factor, unit.end()
