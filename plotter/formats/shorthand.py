"""What operators leave out on a channel they share: degrees, whole parts, a locator's field.

Only an area of operations can complete it, and what was completed is always said. Figures that
also read as they stand keep that meaning beside the completed one, and are asked about.
"""

import itertools
import re
from collections.abc import Iterator
from typing import Final

from plotter.errors import FormatError
from plotter.formats.maidenhead import format_maidenhead, parse_maidenhead
from plotter.formats.result import Reading
from plotter.formats.squares import graticule_square
from plotter.formats.zones import area_probes
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Area

__all__ = ["completed_readings"]

_MINUTES: Final = re.compile(
    r"(?P<a>\d{1,2}\.\d{1,4})\s*(?P<mark>['′m]|min(?:utes)?)?\s*(?P<ns>[NSns]?)[\s,;/]+"
    r"(?P<b>\d{1,2}\.\d{1,4})\s*(?:['′m]|min(?:utes)?)?\s*(?P<ew>[EWew]?)"
)
# Two figures each before the point and few behind, as minutes are said.
_BARE_MINUTES: Final = re.compile(r"\d\d\.\d{1,3}\s*[NSns]?\s+\d\d\.\d{1,3}\s*[EWew]?")
_DECIMALS: Final = re.compile(r"(?:0?\.|point )(?P<a>\d{2,6})[\s,;/]+(?:0?\.|point )(?P<b>\d{2,6})")
_LOCATOR: Final = re.compile(r"\d\d[A-Xa-x]{2}(?:\d\d)?")
_OF_AREA: Final = "from the area of operations"


def completed_readings(text: str, area: Area) -> list[Reading]:
    """Places inside an area that a shortened text names; none for a text of another kind.

    Parameters
    ----------
    text : str
        Minutes alone (``25.759 20.405``), decimals alone (``.4497 .2725``), the last four or six
        characters of a locator (``81tn``).
    area : Area
        The area of operations.
    """
    plain = text.strip().rstrip(".;,")
    found = [*_minutes(plain, area), *_decimals(plain, area), *_locators(plain, area)]
    return [each for each in dict.fromkeys(found) if _touches(each, area)]


def _touches(found: Reading, area: Area) -> bool:
    """Whether any of a square may lie in the area."""
    away = geodesic(area.centre, found.square.centre).distance_m
    return away <= area.radius_m + found.square.size_m


def _degrees(area: Area) -> Iterator[tuple[str, int, str, int]]:
    """Whole degrees, each with its side, that an area has."""
    rim = area_probes(area)
    seen = set()
    for place in rim:
        seen.add((_side(place.lat_deg, "NS"), int(abs(place.lat_deg)), _side(place.lon_deg, "EW"),
                  int(abs(place.lon_deg))))  # fmt: skip
    lats = sorted({(ns, lat) for ns, lat, _, _ in seen})
    lons = sorted({(ew, lon) for _, _, ew, lon in seen})
    for (ns, lat), (ew, lon) in itertools.islice(itertools.product(lats, lons), 64):
        yield ns, lat, ew, lon


def _side(value_deg: float, letters: str) -> str:
    return letters[value_deg < 0]


def _minutes(text: str, area: Area) -> Iterator[Reading]:
    match = _MINUTES.fullmatch(text)
    if match is not None and not match["mark"] and not _BARE_MINUTES.fullmatch(text):
        return  # "48.8582, 2.2945" is degrees, however far away
    if match is None or float(match["a"]) >= 60.0 or float(match["b"]) >= 60.0:
        return
    units = [10.0 ** -len(match[name].partition(".")[2]) / 60.0 for name in "ab"]
    for ns, lat, ew, lon in _degrees(area):
        if match["ns"].upper() not in ("", ns) or match["ew"].upper() not in ("", ew):
            continue
        yield _angle_reading(
            ns, lat + float(match["a"]) / 60.0, ew, lon + float(match["b"]) / 60.0, units,
            f"minutes alone: degrees {lat}{ns} and {lon}{ew}, {_OF_AREA}",
        )  # fmt: skip


def _decimals(text: str, area: Area) -> Iterator[Reading]:
    match = _DECIMALS.fullmatch(text)
    if match is None:
        return
    units = [10.0 ** -len(match[name]) for name in "ab"]
    for ns, lat, ew, lon in _degrees(area):
        yield _angle_reading(
            ns, float(f"{lat}.{match['a']}"), ew, float(f"{lon}.{match['b']}"), units,
            f"decimals alone: degrees {lat}{ns} and {lon}{ew}, {_OF_AREA}",
        )  # fmt: skip


def _angle_reading(
    ns: str, lat: float, ew: str, lon: float, units: list[float], why: str
) -> Reading:
    square = graticule_square(
        -lat if ns == "S" else lat, -lon if ew == "W" else lon, units[0], units[1]
    )
    return Reading("latlon", square, (why,))


def _locators(text: str, area: Area) -> Iterator[Reading]:
    if not _LOCATOR.fullmatch(text):
        return
    for field in dict.fromkeys(format_maidenhead(place, 4)[:2] for place in area_probes(area)):
        try:
            square = parse_maidenhead(field + text)
        except FormatError:
            continue
        yield Reading("maidenhead", square, (f"field {field}, {_OF_AREA}",))
