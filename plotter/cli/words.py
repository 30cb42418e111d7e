"""Readings and lengths as lines of text for a terminal."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from plotter.formats.reading import in_all_formats_of
from plotter.formats.result import Reading, asks_of, said_beside

if TYPE_CHECKING:
    from plotter.voice.doubt import Weighed

__all__ = [
    "bearing_words",
    "doubt_lines",
    "length_words",
    "picture_lines",
    "reading_data",
    "reading_lines",
]

_SHOWN = 3

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


def ask_lines(found: Sequence[Reading]) -> list[str]:
    """What to ask about the words beside a position, before the position itself."""
    if asks := asks_of(found):
        return [f"{ask}." for ask in asks]
    talk = said_beside(found)
    return [f"Said beside it: {talk}. If that changes the place, ask."] if talk else []


def doubt_lines(found: "Weighed") -> list[str]:
    """What to do about a text, first, and why."""
    doubts = found.doubt
    to_do = doubts.ask or doubts.stake
    lines = [to_do or "Nothing speaks against it: read it back."]
    if doubts.against:
        lines += [f"Doubted: {words}" for words in doubts.against.words()]
    if found.error:
        lines.append(f"As said it cannot be read: {found.error}")
    if doubts.stake and doubts.stake != to_do:
        lines.append(doubts.stake)
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
        "ask": list(found.asks),
        "as": in_all_formats_of(found),
    }


def picture_lines(found: "Weighed") -> list[str]:
    """Of a hundred such messages, how many would have meant what: the lines add up to all."""
    doubts = found.doubt
    lines = ["of 100 such messages so many would mean:"]
    for each in doubts.alternatives[:_SHOWN]:
        texts = in_all_formats_of(each.reading)
        near = f", or within {length_words(each.within_m)}" if each.within_m >= 1.0 else ""
        lines.append(
            f"  {_share(each.probability):>4}  {texts['mgrs']:16} {texts['latlon']:24} "
            f"{each.mistake}{near}"
        )
    for reading, share in zip(found.readings, doubts.as_said, strict=True):
        texts = in_all_formats_of(reading)
        lines.append(f"  {_share(share):>4}  {texts['mgrs']:16} {texts['latlon']:24} as said")
    rest = doubts.other + sum(each.probability for each in doubts.alternatives[_SHOWN:])
    lines.append(f"  {_share(rest):>4}  something else")
    return lines


def _share(probability: float) -> str:
    """Messages of a hundred; never none and never all, as nothing here is certain."""
    hundredths = 100.0 * probability
    return "<1" if hundredths < 1.0 else ">99" if hundredths > 99.0 else f"{hundredths:.0f}"
