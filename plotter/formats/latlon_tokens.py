"""Splitting a text into two angles: numbers, degree marks, letters, signs and separators."""

import re
from dataclasses import dataclass
from typing import Final, Literal

from plotter.errors import FormatError
from plotter.geodesy.angle import degrees_from_parts

__all__ = ["Angle", "split_angles"]

Axis = Literal["lat", "lon", ""]

_SAME_SIGN: Final = str.maketrans(
    {
        "º": "°", "˚": "°", "⁰": "°", "∘": "°", "*": "°",
        "’": "'", "‘": "'", "′": "'", "´": "'", "`": "'", "ʹ": "'",
        "”": '"', "“": '"', "″": '"', "ʺ": '"',
        "−": "-", "–": "-", "—": "-", "‐": "-", "‑": "-",
    }
)  # fmt: skip
_WORDS: Final = {
    "N": "N", "NORTH": "N", "S": "S", "SOUTH": "S", "E": "E", "EAST": "E", "W": "W", "WEST": "W",
    "D": "°", "DEG": "°", "DEGS": "°", "DEGREE": "°", "DEGREES": "°",
    "M": "'", "MIN": "'", "MINS": "'", "MINUTE": "'", "MINUTES": "'",
    "SEC": '"', "SECS": '"', "SECOND": '"', "SECONDS": '"',
    "LAT": "lat", "LATITUDE": "lat",
    "LON": "lon", "LONG": "lon", "LNG": "lon", "LONGITUDE": "lon",
    "MINUS": "-", "PLUS": "+",
    "AND": ",",
}  # fmt: skip
_TOKEN: Final = re.compile(
    r"\s*(?:(?P<number>\d+(?:\.\d*)?|\.\d+)|(?P<word>[A-Za-z]+)|(?P<mark>''|[^\sA-Za-z\d]))"
)
# RFC 5870: geo:48.2,16.3;u=40
_GEO_URI: Final = re.compile(r"geo:(-?[\d.]+),(-?[\d.]+)(?:,-?[\d.]+)?(?:;.*)?", re.IGNORECASE)
# ISO 6709 annex H: ±DD.D±DDD.D, ±DDMM.M±DDDMM.M, ±DDMMSS.S±DDDMMSS.S, height and solidus optional.
_ISO_6709: Final = re.compile(
    r"([+-])(\d+(?:\.\d+)?)([+-])(\d+(?:\.\d+)?)(?:[+-]\d+(?:\.\d+)?)?(?:CRS\w+)?/?"
)
_LETTER_AXIS: Final[dict[str, Axis]] = {"N": "lat", "S": "lat", "E": "lon", "W": "lon"}
_MARK_PLACE: Final = {"°": 0, "'": 1, '"': 2}


@dataclass(frozen=True, slots=True)
class Angle:
    """One angle as written.

    Parameters
    ----------
    value_deg : float
        Unsigned degrees.
    unit_deg : float
        One unit of the last written figure.
    sign : int
        +1 or −1 where a sign or letter says so, else 0.
    axis : {"lat", "lon", ""}
        Which it is, where a letter or word says so.
    written : str
        The number as written.
    assumed : tuple of str
        What its reading rests on.
    """

    value_deg: float
    unit_deg: float
    sign: int
    axis: Axis
    written: str
    assumed: tuple[str, ...] = ()


@dataclass(slots=True)
class _Group:
    """The tokens of one angle while they are collected."""

    numbers: list[str]
    places: list[int]
    sign: str = ""
    letter: str = ""
    label: Axis = ""


def split_angles(text: str) -> tuple[Angle, Angle] | None:
    """Two angles in the order written, or None where the text is not of this kind at all.

    Raises
    ------
    FormatError
        If it is of this kind but does not make two angles.
    """
    plain = text.translate(_SAME_SIGN).strip()
    if not plain.isascii():
        import unicodedata  # imported late: plain text needs none

        plain = unicodedata.normalize("NFKC", plain).translate(_SAME_SIGN)
    if match := _GEO_URI.fullmatch(plain):
        lat, lon = (_plain_number(part, text) for part in match.groups())
        return Angle(*lat, "lat", match[1]), Angle(*lon, "lon", match[2])
    if match := _ISO_6709.fullmatch(plain):
        return _iso_pair(match, text)
    tokens = _tokens(plain)
    if tokens is None:
        return None
    groups = _groups(tokens, text)
    if groups is None:
        return None
    first, second = groups
    # Where one of two bare numbers carries a minus, the other one is meant to be positive.
    if not (first.letter or second.letter) and "-" in (first.sign, second.sign):
        first.sign, second.sign = first.sign or "+", second.sign or "+"
    return _angle(first, text), _angle(second, text)


def _plain_number(part: str, text: str) -> tuple[float, float, int]:
    try:
        value, unit = degrees_from_parts((part.lstrip("-"),), text)
    except ValueError:
        raise FormatError(f"{part!r} in {text!r} is not a number", text) from None
    return value, unit, -1 if part.startswith("-") else 1


def _iso_pair(match: re.Match[str], text: str) -> tuple[Angle, Angle]:
    angles = []
    for sign, number, whole, axis in (
        (match[1], match[2], 2, "lat"),
        (match[3], match[4], 3, "lon"),
    ):
        parts = _unpack(number, whole)
        if parts is None:
            raise FormatError(
                f"{number!r} in {text!r} has not the figures of ISO 6709: two for latitude, three "
                "for longitude, then two each for minutes and seconds",
                text,
            )
        value, unit = degrees_from_parts(parts, text)
        name: Axis = "lat" if axis == "lat" else "lon"
        angles.append(Angle(value, unit, -1 if sign == "-" else 1, name, number))
    return angles[0], angles[1]


def _unpack(number: str, whole: int) -> tuple[str, ...] | None:
    """Split run-together figures into degrees, minutes, seconds; None if they do not fit."""
    figures, point, decimals = number.partition(".")
    tail = point + decimals
    if len(figures) <= whole:
        return (number,)
    if len(figures) == whole + 2:
        return figures[:whole], figures[whole:] + tail
    if len(figures) == whole + 4:
        return figures[:whole], figures[whole : whole + 2], figures[whole + 2 :] + tail
    return None


def _tokens(plain: str) -> list[str] | None:
    """Numbers, and single signs for everything else; None at the first foreign word."""
    tight = re.findall(r"(?<=\d),(?=\d)", plain)
    if "." not in plain and len(tight) == 2 and not re.search(r"\d,\d+,\d", plain):
        plain = re.sub(r"(?<=\d),(?=\d)", ".", plain)  # a decimal comma in each of two numbers
    # "29.5sN" is a unit and a hemisphere, not a word.
    plain = re.sub(r"(?<=[\d.])([dms])(?=[NSEW]\b)", r"\1 ", plain, flags=re.IGNORECASE)
    tokens: list[str] = []
    at = 0
    while at < len(plain):
        match = _TOKEN.match(plain, at)
        if match is None:
            break
        at = match.end()
        if match["number"]:
            tokens.append(match["number"])
        elif match["word"]:
            sign = _WORDS.get(match["word"].upper())
            if sign is None:
                return None
            # "29s" is seconds when minutes came just before, else a hemisphere.
            if match["word"] == "s" and tokens[-2:-1] == ["'"]:
                sign = '"'
            tokens.append(sign)
        elif match["mark"] == "''":
            tokens.append('"')
        elif match["mark"] in "°'\",;/:+-|=()[]":
            if match["mark"] not in "|=()[]":
                glued = plain[match.start() : at] == match["mark"]
                between = glued and at < len(plain) and plain[at].isdigit() and bool(tokens)
                joins = match["mark"] == "-" and between and _is_number(tokens[-1])
                tokens.append(":" if joins else match["mark"])
        else:
            return None
    return tokens


def _is_number(token: str) -> bool:
    return token[0].isdigit() or token[0] == "."


def _groups(tokens: list[str], text: str) -> tuple[_Group, _Group] | None:
    numbers = [token for token in tokens if _is_number(token)]
    if not numbers:
        return None
    if any(token in ("lat", "lon") for token in tokens):
        pieces = _split_before(tokens, ("lat", "lon"))
    elif any(token in _LETTER_AXIS for token in tokens):
        first = next(t for t in tokens if t in _LETTER_AXIS or _is_number(t))
        pieces = (
            _split_before(tokens, tuple(_LETTER_AXIS))
            if first in _LETTER_AXIS
            else _split_after(tokens, tuple(_LETTER_AXIS))
        )
    else:
        pieces = _split_unlettered(tokens)
    pieces = [piece for piece in pieces if any(_is_number(token) for token in piece)]
    if len(pieces) == 1:
        pieces = _split_unlettered(pieces[0])
    if len(pieces) != 2 or not all(any(_is_number(t) for t in piece) for piece in pieces):
        raise FormatError(
            f"{text!r} does not make one latitude and one longitude: expected two angles, as in "
            "48.8582N 2.2945E or 48 51 29N 2 17 40E",
            text,
        )
    groups = [_collect(piece, text) for piece in pieces]
    if any(len(group.numbers) > 3 for group in groups):
        raise FormatError(
            f"{text!r} has more than degrees, minutes and seconds in one angle: say latitude and "
            "longitude apart",
            text,
        )
    return groups[0], groups[1]


def _split_before(tokens: list[str], heads: tuple[str, ...]) -> list[list[str]]:
    pieces: list[list[str]] = [[]]
    for token in tokens:
        if token in heads:
            pieces.append([])
        pieces[-1].append(token)
    return pieces


def _split_after(tokens: list[str], tails: tuple[str, ...]) -> list[list[str]]:
    pieces: list[list[str]] = [[]]
    for token in tokens:
        pieces[-1].append(token)
        if token in tails:
            pieces.append([])
    return pieces


def _split_unlettered(tokens: list[str]) -> list[list[str]]:
    """By a separator that leaves both sides alike, else by a second degree mark, else in half."""
    for separator in (";", "/", ","):
        if tokens.count(separator) == 1:
            at = tokens.index(separator)
            return [tokens[:at], tokens[at + 1 :]]
    signs = [i for i, token in enumerate(tokens) if token in "+-" and i > 0]
    if len(signs) == 1:
        return [tokens[: signs[0]], tokens[signs[0] :]]
    marks = [i for i, token in enumerate(tokens) if token == "°"]
    if len(marks) == 2:
        return [tokens[: marks[1] - 1], tokens[marks[1] - 1 :]]
    places = [i for i, token in enumerate(tokens) if _is_number(token)]
    half = len(places) // 2
    if len(places) % 2:
        return [tokens]
    return [tokens[: places[half]], tokens[places[half] :]]


def _collect(piece: list[str], text: str) -> _Group:
    group = _Group([], [])
    for token in piece:
        if _is_number(token):
            group.numbers.append(token)
            group.places.append(len(group.places))
        elif token in _MARK_PLACE:
            if group.numbers and group.places[-1] != _MARK_PLACE[token]:
                raise FormatError(
                    f"{group.numbers[-1]!r} in {text!r} carries the wrong mark {token!r}: expected "
                    "degrees, then minutes, then seconds",
                    text,
                )
        elif token in _LETTER_AXIS:
            if group.letter and group.letter != token:
                raise FormatError(
                    f"one angle of {text!r} carries both {group.letter!r} and {token!r}: ask which",
                    text,
                )
            group.letter = token
        elif token in {"lat", "lon"}:
            group.label = "lat" if token == "lat" else "lon"
        elif token in "+-":
            if group.numbers:
                raise FormatError(f"a sign after the number in {text!r}: say the angle again", text)
            group.sign = token
    return group


def _angle(group: _Group, text: str) -> Angle:
    axis = _LETTER_AXIS[group.letter] if group.letter else group.label
    if group.letter and group.label and axis != group.label:
        raise FormatError(
            f"{text!r} calls an angle with the letter {group.letter!r} a "
            f"{'latitude' if group.label == 'lat' else 'longitude'}: ask which",
            text,
        )
    parts = tuple(group.numbers)
    if len(parts) == 1 and axis:
        whole = 2 if axis == "lat" else 3
        unpacked = _unpack(parts[0], whole)
        if unpacked is None or (axis == "lon" and len(parts[0].partition(".")[0]) in (4, 6)):
            # A leading zero of the longitude is often left unsaid.
            unpacked = _unpack(parts[0], 2) if axis == "lon" else None
        if unpacked is None:
            raise FormatError(
                f"{parts[0]!r} in {text!r} is neither degrees nor run-together degrees, minutes "
                "and seconds: ask for them apart",
                text,
            )
        parts = unpacked
    value, unit = degrees_from_parts(parts, text)
    sign, assumed = _sign(group, text)
    return Angle(value, unit, sign, axis, " ".join(group.numbers), assumed)


def _sign(group: _Group, text: str) -> tuple[int, tuple[str, ...]]:
    by_letter = 0 if not group.letter else -1 if group.letter in "SW" else 1
    by_sign = 0 if not group.sign else -1 if group.sign == "-" else 1
    if by_letter == 1 and by_sign == -1:
        raise FormatError(
            f"{text!r} has a minus sign and the letter {group.letter!r}: ask which side", text
        )
    if by_letter == -1 and by_sign == -1:
        return -1, (f"the minus sign only repeats the letter {group.letter}",)
    return by_letter or by_sign, ()
