"""Standard forms that say order, sides and signs by themselves: geo URI, ISO 6709, WKT, JSON."""

import re
from dataclasses import dataclass
from typing import Final

from plotter.errors import FormatError
from plotter.formats.degrees.angles import ways_of
from plotter.formats.degrees.grammar import Angle, Number
from plotter.formats.degrees.lexicon import Axis
from plotter.formats.result import Reading
from plotter.formats.squares import enlarged, graticule_square

__all__ = ["Stated", "stated_angles", "stated_reading"]

_NUMBER: Final = r"[+-]?\d+(?:\.\d*)?(?:[eE][+-]?\d{1,2})?"
# RFC 5870: geo:48.2,16.3;u=40
_GEO: Final = re.compile(
    rf"geo:({_NUMBER}),({_NUMBER})(?:,({_NUMBER}))?((?:;[\w-]+(?:=[^;\s]*)?)*)", re.IGNORECASE
)
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


@dataclass(frozen=True, slots=True)
class Stated:
    """Two angles of a standard form.

    Parameters
    ----------
    lat, lon : Angle
        Each with its sign.
    assumed : tuple of str
        What the form says besides and is left out: a height, other members.
    good_m : float
        How far it says that it may be off, metres; 0 where it does not say.
    """

    lat: Angle
    lon: Angle
    assumed: tuple[str, ...] = ()
    good_m: float = 0.0


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
    found = stated_angles(text)
    if found is None:
        return None
    one, two = next(ways_of((found.lat, "lat"), (found.lon, "lon"), text))
    if two.turned and found.lon.sign == "-":
        raise FormatError(f"longitude in {text!r} is beyond 180 degrees: ask again for it", text)
    square = graticule_square(
        -one.value_deg if found.lat.sign == "-" else one.value_deg,
        -two.value_deg if (found.lon.sign == "-") != two.turned else two.value_deg,
        one.unit_deg,
        two.unit_deg,
    )
    assumed = (*two.assumed, *found.assumed)
    if found.good_m:
        square = enlarged(square, found.good_m)
        assumed = (*assumed, f"good to {found.good_m:g} m, as it says")
    return Reading("latlon", square, assumed)


def stated_angles(text: str) -> Stated | None:
    """The angles of a text in a standard form; None for a text of another kind.

    Raises
    ------
    FormatError
        If its figures are not those of the form.
    """
    if match := _GEO.fullmatch(text):
        return _geo(match)
    if match := _ISO.fullmatch(text):
        return _iso(match, text)
    if match := _WKT.fullmatch(text) or _GEOJSON.fullmatch(text):
        return Stated(_angle(match, 2, "lat"), _angle(match, 1, "lon"), _height(match[3]))
    return _object(text)


def _height(said: str | None) -> tuple[str, ...]:
    return (f"height {said} m left out",) if said else ()


def _geo(match: re.Match[str]) -> Stated:
    """A geo URI; its uncertainty, metres, is how far every side of the square is moved out."""
    named = [each for each in match[4].split(";") if each]
    sure = [each for each in named if re.fullmatch(r"(?i)u=\d+(?:\.\d+)?", each)]
    for each in named:
        if re.match(r"(?i)crs=(?!wgs84$)", each):
            raise FormatError(
                f"{match[0]!r} is on another system ({each}): ask for the position on WGS 84",
                match[0],
            )
    left = tuple(f"{each!r} left out" for each in named if each not in sure)
    lat, lon = _angle(match, 1, "lat"), _angle(match, 2, "lon")
    return Stated(lat, lon, _height(match[3]) + left, float(sure[0][2:]) if sure else 0.0)


def _object(text: str) -> Stated | None:
    """A JSON object with a latitude and a longitude by name."""
    if not _OBJECT.fullmatch(text):
        return None
    named: dict[Axis, Angle] = {}
    left = text[1:-1]
    for match in _MEMBER.finditer(text):
        axis = _NAMES.get(match[1].lower())
        if axis is None or axis in named:
            continue
        named[axis] = _angle(match, 2, axis)
        left = left.replace(match[0], "", 1)
    left = re.sub(r"^[\s,]+|[\s,]+$", "", left)
    if len(named) < 2:
        return None
    return Stated(named["lat"], named["lon"], (f"{left!r} left out",) if left else ())


def _angle(match: re.Match[str], group: int, axis: Axis) -> Angle:
    written = match[group]
    sign = written[:1] if written[:1] in "+-" else ""
    figures, _, power = written[len(sign) :].lower().partition("e")
    whole, _, decimals = figures.partition(".")
    # A writer's leading zeros are no degrees and minutes run together.
    zeros = max(len(whole) - 3, 0) if whole[:-3].strip("0") == "" else 0
    at = match.start(group) + len(sign) + zeros
    number = Number(whole[zeros:], decimals, at, exponent=int(power or 0))
    return Angle((number,), sign="-" if sign == "-" else "+", label=axis)


def _iso(match: re.Match[str], text: str) -> Stated:
    angles: list[Angle] = []
    axes: tuple[tuple[int, int, Axis], ...] = ((1, 2, "lat"), (3, 3, "lon"))
    for group, whole, axis in axes:
        number = match[group + 1]
        figures, _, decimals = number.partition(".")
        if len(figures) - whole not in (0, 2, 4):
            raise FormatError(
                f"{number!r} in {text!r} has not the figures of ISO 6709: two for latitude, three "
                "for longitude, then two each for minutes and seconds",
                text,
            )
        part = Number(figures, decimals, match.start(group + 1))
        angles.append(Angle((part,), sign=match[group], label=axis))
    return Stated(angles[0], angles[1], _height(match[5]))
