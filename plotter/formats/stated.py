"""A stated place: latitude, longitude and their reference system in one text that says it all.

::

    +47.262000+014.601000CRSWGS_84/ words           degrees
    +4715.720+01436.060CRSWGS_84/                   degrees and minutes
    +47.262+014.601+535.0CRSWGS_84/                 with a height above the ellipsoid, metres
    +47.262+014.601CRSEPSG:4230/                    on another datum
    +47.262000+014.601000CRSWGS_84/ ±6 m words      no better known than that

This is the form in which the places of files travel: axes, signs and datum stand in it, so that
nothing outside of it, and no area, can turn it.
"""

import re
from decimal import Decimal, InvalidOperation
from typing import Final

from plotter.errors import FormatError
from plotter.formats.on_datum import shifted
from plotter.formats.result import Reading
from plotter.formats.squares import enlarged, graticule_square
from plotter.geodesy.datum import WGS84_EPSG
from plotter.geodesy.position import Square

__all__ = [
    "MOST_DECIMALS",
    "NOWHERE_ASSUMED",
    "decimal_of",
    "looks_stated",
    "stated_reading",
    "stated_text",
]

MOST_DECIMALS: Final = 9
"""Figures after the point of a degree that are written: a tenth of a millimetre."""

NOWHERE_ASSUMED: Final = "that 0° north 0° east is meant: what has no fix often says so"
"""What a place at 0° N 0° E rests on."""

_WGS84: Final = "WGS_84"
_LOOKS: Final = re.compile(r"\s*[+-]\d[\d.+-]*CRS", re.ASCII)
_NUMBER: Final = r"\d+(?:\.\d+)?"
_SHAPE: Final = re.compile(
    rf"\s*(?P<lat>[+-]{_NUMBER})(?P<lon>[+-]{_NUMBER})(?P<height>[+-]{_NUMBER})?"
    rf"CRS(?P<crs>WGS_84|EPSG:\d{{4,6}})/"
    rf"(?:\s+±(?P<good>{_NUMBER}) m(?=\s|$))?(?:\s+(?P<words>.*))?",
    re.ASCII | re.DOTALL,
)
_FIGURES: Final = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,4})?", re.ASCII)
_LONGEST_FIGURES: Final = 64


def decimal_of(text: str) -> Decimal | None:
    """A number as a file has it, exactly; None for what is none."""
    figures = text.strip()
    if len(figures) > _LONGEST_FIGURES or not _FIGURES.fullmatch(figures):
        return None
    try:
        return Decimal(figures)
    except InvalidOperation:
        return None


def looks_stated(text: str) -> bool:
    """Whether a text begins like a stated place, sound or not."""
    return _LOOKS.match(text) is not None


def stated_text(
    lat_deg: Decimal,
    lon_deg: Decimal,
    decimals: int,
    *,
    epsg: int = WGS84_EPSG,
    height_m: Decimal | None = None,
    good_to_m: float | None = None,
    words: str = "",
) -> str:
    """State a place.

    Parameters
    ----------
    lat_deg, lon_deg : Decimal
        Degrees; a longitude may run on to 360.
    decimals : int
        Figures after the point, 0 to 9: one unit of the last is what the place is known to.
    epsg : int
        Code of the geographic system that they are on.
    height_m : Decimal or None
        Above its ellipsoid.
    good_to_m : float or None
        How far the place may be off to every side besides.
    words : str
        What is said about it.

    Raises
    ------
    FormatError
        If there is no such place.

    Source
    ------
    ISO 6709:2008, annex H, text strings; from memory.

    Examples
    --------
    >>> stated_text(Decimal("47.262"), Decimal("-1.5e-05"), 6)
    '+47.262000-000.000015CRSWGS_84/'
    """
    if not lat_deg.is_finite() or abs(lat_deg) > 90:
        raise FormatError(f"latitude must be between -90 and 90 degrees, got {lat_deg}")
    if not lon_deg.is_finite() or abs(lon_deg) > 360:
        raise FormatError(f"longitude must be between -180 and 180 degrees, got {lon_deg}")
    if abs(lon_deg) > 180:
        lon_deg -= 360 if lon_deg > 0 else -360
    crs = _WGS84 if epsg == WGS84_EPSG else f"EPSG:{epsg}"
    places = max(0, min(decimals, MOST_DECIMALS))
    height = "" if height_m is None else _signed(height_m, 1, max(1, _decimals_of(height_m)))
    where = f"{_signed(lat_deg, 2, places)}{_signed(lon_deg, 3, places)}{height}CRS{crs}/"
    if good_to_m is None and words.lstrip().startswith("±"):
        good_to_m = 0.0  # so that the words are not taken for how good the place is
    good = "" if good_to_m is None else f"±{good_to_m:.6f}".rstrip("0").rstrip(".") + " m"
    return " ".join(filter(None, (where, good, words.strip())))


def _signed(value: Decimal, width: int, decimals: int) -> str:
    """A number with its sign, zeros before it and no exponent."""
    text = f"{abs(value):.{decimals}f}"
    whole, point, rest = text.partition(".")
    sign = "-" if value < 0 and text.strip("0.") else "+"
    return f"{sign}{whole.zfill(width)}{point}{rest}"


def _decimals_of(value: Decimal) -> int:
    exponent = value.as_tuple().exponent
    return min(max(0, -exponent), MOST_DECIMALS) if isinstance(exponent, int) else 0


def stated_reading(text: str) -> Reading:
    """The place that a text states: one reading, whatever else is known.

    Parameters
    ----------
    text : str
        For which `looks_stated` holds.

    Returns
    -------
    Reading
        Its height and the words after it are in `left_out`. On another datum the square reaches as
        far as the shift may be off, and the shift is in `assumed`; so is that 0° N 0° E is meant.

    Raises
    ------
    FormatError
        If it is no whole stated place, or there is no such place.

    Examples
    --------
    >>> found = stated_reading("+47.262000+014.601000CRSWGS_84/ stone hut")
    >>> found.square.centre.lon_deg, found.left_out
    (14.601, ('stone hut',))
    """
    match = _SHAPE.fullmatch(text)
    if match is None:
        raise FormatError(
            f"{text[:120]!r} begins like a stated place but is none: expected such as "
            "+47.262000+014.601000CRSWGS_84/ and then a blank before any words",
            text,
        )
    lat, lat_unit, lat_parts = _angle(match["lat"], 2, text)
    lon, lon_unit, lon_parts = _angle(match["lon"], 3, text)
    if lat_parts != lon_parts or abs(lat) > 90.0 or abs(lon) > 180.0:
        raise FormatError(
            f"{text[:120]!r} states no place on earth: expected a latitude of two figures and a "
            "longitude of three, with minutes in both or in neither",
            text,
        )
    square = graticule_square(lat, lon, lat_unit, lon_unit)
    square = _good_to(square, float(match["good"])) if match["good"] else square
    height = (f"height {match['height']} m",) if match["height"] else ()
    words = (match["words"].strip(),) if match["words"] and match["words"].strip() else ()
    where = match[0][: match.end("crs") + 1].strip()
    assumed = (NOWHERE_ASSUMED,) if lat == 0.0 and lon == 0.0 else ()
    found = Reading("latlon", square, assumed, where, (*height, *words))
    crs = match["crs"]
    if crs == _WGS84:
        return found
    moved = shifted(found, (crs, int(crs.removeprefix("EPSG:"))), text)
    return Reading(moved.format, moved.square, moved.assumed, found.rests_on, found.left_out)


def _good_to(square: Square, good_to_m: float) -> Square:
    """The square, no smaller than twice how far the place may be off."""
    return enlarged(square, max(0.0, good_to_m - square.size_m / 2.0))


def _angle(signed: str, degree_figures: int, text: str) -> tuple[float, float, int]:
    """Degrees, the size of one unit of the last figure, and how many parts there are."""
    whole, _, decimals = signed[1:].partition(".")
    parts, odd = divmod(len(whole) - degree_figures, 2)
    if odd or not 0 <= parts <= 2:
        raise FormatError(
            f"{signed!r} in {text[:120]!r} has {len(whole)} figures before the point: expected "
            f"{degree_figures}, or {degree_figures + 2} with minutes",
            text,
        )
    value = Decimal(f"{whole[:degree_figures] or 0}")
    for i in range(parts):
        start = degree_figures + 2 * i
        part = Decimal(whole[start : start + 2])
        if part >= 60:
            raise FormatError(f"{part} minutes or seconds in {text[:120]!r} cannot be", text)
        value += part / 60 ** (i + 1)
    if decimals:
        value += Decimal(f"0.{decimals}") / 60**parts
    unit = 10.0 ** -len(decimals) / 60.0**parts
    return float(-value if signed[0] == "-" else value), unit, parts + 1
