"""Readings and lengths as lines of text for a terminal."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from plotter.formats.reading import in_all_formats_of
from plotter.formats.result import Reading

if TYPE_CHECKING:
    from plotter.voice.doubt import Alternative

__all__ = [
    "alternative_lines",
    "bearing_words",
    "length_words",
    "reading_data",
    "reading_lines",
]

_TITLES = {
    "place": "a name that is known",
    "latlon": "latitude longitude",
    "utm": "UTM",
    "mgrs": "MGRS",
    "maidenhead": "Maidenhead",
    "ups": "UPS",
    "gars": "GARS",
    "georef": "GEOREF",
    "olc": "Open Location Code",
    "osgb": "the British grid",
    "irish": "the Irish grid",
    "rd": "the Dutch grid RD",
    "lv95": "the Swiss grid LV95",
    "lv03": "the Swiss grid LV03",
    "sweref99tm": "the Swedish grid SWEREF 99 TM",
    "tm35fin": "the Finnish grid ETRS-TM35FIN",
    "nztm": "the New Zealand grid NZTM",
    "itm": "the Irish grid ITM",
    "mga": "the Australian grid MGA",
    "epsg": "an EPSG grid",
}


def length_words(metres: float) -> str:
    """Length with a unit that suits it.

    Examples
    --------
    >>> length_words(1234.5), length_words(12345), length_words(12)
    ('1.23 km', '12.3 km', '12 m')
    """
    if metres < 1_000:
        return f"{metres:.0f} m" if metres >= 10 else f"{round(metres, 2):g} m"
    kilometres = metres / 1_000
    return f"{kilometres:.2f} km" if kilometres < 10 else f"{kilometres:.1f} km"


def bearing_words(bearing_deg: float, north: str) -> str:
    """Bearing with its north, three figures before the point.

    Examples
    --------
    >>> bearing_words(7.25, "magnetic")
    '007.2° magnetic'
    """
    shown = f"{bearing_deg:05.1f}"
    return f"{'000.0' if shown == '360.0' else shown}° {north}"


def reading_lines(found: Reading) -> list[str]:
    """One reading: what it was read as, what it assumes, and the place in every format."""
    title = _TITLES.get(found.format, found.format)
    lines = [f"read as {title}: a square of {length_words(found.square.size_m)}"]
    lines += [f"  assumed             {why}" for why in found.assumed]
    lines += [f"  {_TITLES[name]:19} {text}" for name, text in in_all_formats_of(found).items()]
    return lines


def alternative_lines(alternatives: "Sequence[Alternative]") -> list[str]:
    """What else may have been meant, a line each, with the slip that would explain it."""
    lines = []
    for each in alternatives:
        texts = in_all_formats_of(each.reading)
        lines.append(
            f"  {each.probability:4.0%}  {texts['mgrs']:16} {texts['latlon']:24} {each.mistake}"
        )
    return lines


def reading_data(found: Reading) -> dict[str, object]:
    """One reading as JSON data."""
    centre = found.square.centre
    return {
        "format": found.format,
        "lat_deg": centre.lat_deg,
        "lon_deg": centre.lon_deg,
        "size_m": found.square.size_m,
        "assumed": list(found.assumed),
        "as": in_all_formats_of(found),
    }
