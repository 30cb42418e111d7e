"""Standard forms that say order, sides and signs by themselves: geo URI, ISO 6709, WKT, JSON."""

import re
from typing import Final

from plotter.errors import FormatError
from plotter.formats.degrees.angles import ways_of
from plotter.formats.degrees.grammar import Angle, Number
from plotter.formats.degrees.lexicon import Axis
from plotter.formats.result import Reading
from plotter.formats.squares import enlarged, graticule_square

__all__ = ["stated_reading"]

_NUMBER: Final = r"[+-]?\d+(?:\.\d*)?(?:[eE][+-]?\d{1,2})?"
# RFC 5870: geo:48.2,16.3;u=40
_GEO: Final = re.compile(rf"geo:({_NUMBER}),({_NUMBER})(?:,({_NUMBER}))?((?:;[\w-]+(?:=[^;\s]*)?)*)", re.I)  # fmt: skip # noqa: E501
# ISO 6709 annex H: ±DD.D±DDD.D, ±DDMM.M±DDDMM.M, ±DDMMSS.S±DDDMMSS.S, height and solidus.
_ISO: Final = re.compile(
    r"([+-])(\d+(?:\.\d+)?)([+-])(\d+(?:\.\d+)?)([+-]\d+(?:\.\d+)?)?(CRSWGS_84)?/?"
)
# OGC well-known text: longitude first.
_WKT: Final = re.compile(
    rf"(?:SRID=4326;)?\s*POINT\s*Z?M?\s*\(\s*({_NUMBER})\s+({_NUMBER})(?:\s+({_NUMBER}))?(?:\s+{_NUMBER})?\s*\)",
    re.IGNORECASE,
)
# RFC 7946: longitude first.
_GEOJSON: Final = re.compile(
    rf'\{{\s*"type"\s*:\s*"Point"\s*,\s*"coordinates"\s*:\s*\[\s*({_NUMBER})\s*,\s*({_NUMBER})(?:\s*,\s*({_NUMBER}))?\s*\]\s*\}}'
)
_MEMBER: Final = re.compile(rf'["\']?(\w+)["\']?\s*:\s*["\']?({_NUMBER})["\']?')
_OBJECT: Final = re.compile(r"\{[^{}]*\}")
_NAMES: Final[dict[str, Axis]] = {
    "lat": "lat", "latitude": "lat", "lon": "lon", "lng": "lon", "long": "lon", "longitude": "lon",
}  # fmt: skip


def stated_reading(text: str) -> Reading | None:
    """The one reading of a text in a standard form; None for a text of another kind.

    Raises
    ------
    FormatError
        If it has the form but cannot be a place.

    Source
    ------
    RFC 5870 (geo URI), ISO 6709:2008 annex H, OGC 06-103r4 (well-known text), RFC 7946 (GeoJSON).
    """
    if match := _GEO.fullmatch(text):
        return _geo(match, text)
    if match := _ISO.fullmatch(text):
        return _iso(match, text)
    if match := _WKT.fullmatch(text) or _GEOJSON.fullmatch(text):
        return _pair(match[2], match[1], text, _height(match[3]))
    return _object(text)


def _height(said: str | None) -> tuple[str, ...]:
    return (f"height {said} m left out",) if said else ()


def _geo(match: re.Match[str], text: str) -> Reading:
    """A geo URI; its uncertainty, metres, is how far every side of the square is moved out."""
    named = [each for each in match[4].split(";") if each]
    sure = [each for each in named if re.fullmatch(r"(?i)u=\d+(?:\.\d+)?", each)]
    left = tuple(f"{each!r} left out" for each in named if each not in sure)
    found = _pair(match[1], match[2], text, _height(match[3]) + left)
    if not sure:
        return found
    said = f"good to {sure[0][2:]} m, as it says"
    square = enlarged(found.square, float(sure[0][2:]))
    return Reading(found.format, square, (*found.assumed, said))


def _object(text: str) -> Reading | None:
    """A JSON object with a latitude and a longitude by name."""
    if not _OBJECT.fullmatch(text):
        return None
    named: dict[Axis, str] = {}
    left = text[1:-1]
    for match in _MEMBER.finditer(text):
        axis = _NAMES.get(match[1].lower())
        if axis is None or axis in named:
            continue
        named[axis] = match[2]
        left = left.replace(match[0], "", 1)
    left = re.sub(r"^[\s,]+|[\s,]+$", "", left)
    if len(named) < 2:
        return None
    return _pair(named["lat"], named["lon"], text, (f"{left!r} left out",) if left else ())


def _pair(lat: str, lon: str, text: str, left: tuple[str, ...]) -> Reading:
    return _reading(_angle(lat, "lat"), _angle(lon, "lon"), text, left)


def _angle(written: str, axis: Axis) -> Angle:
    figures, _, power = written.lstrip("+-").lower().partition("e")
    whole, _, decimals = figures.partition(".")
    number = Number(whole.lstrip("0")[:4] or "0", decimals, exponent=int(power or 0))
    return Angle((number,), sign="-" if written.startswith("-") else "+", label=axis)


def _iso(match: re.Match[str], text: str) -> Reading:
    angles = []
    for sign, number, whole, axis in (
        (match[1], match[2], 2, "lat"),
        (match[3], match[4], 3, "lon"),
    ):
        figures = number.partition(".")[0]
        if len(figures) - whole not in (0, 2, 4):
            raise FormatError(
                f"{number!r} in {text!r} has not the figures of ISO 6709: two for latitude, three "
                "for longitude, then two each for minutes and seconds",
                text,
            )
        decimals = number.partition(".")[2]
        name: Axis = "lat" if axis == "lat" else "lon"
        angles.append(Angle((Number(figures, decimals),), sign=sign, label=name))
    return _reading(angles[0], angles[1], text, _height(match[5]))


def _reading(lat: Angle, lon: Angle, text: str, left: tuple[str, ...]) -> Reading:
    one, two = next(ways_of((lat, "lat"), (lon, "lon"), text))
    turn = -1 if two.turned else 1
    if two.turned and lon.sign == "-":
        raise FormatError(f"longitude in {text!r} is beyond 180 degrees: ask again for it", text)
    square = graticule_square(
        -one.value_deg if lat.sign == "-" else one.value_deg,
        turn * (-two.value_deg if lon.sign == "-" else two.value_deg),
        one.unit_deg,
        two.unit_deg,
    )
    return Reading("latlon", square, (*two.assumed, *left))
