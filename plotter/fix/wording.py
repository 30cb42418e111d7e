"""How the findings say bearings, distances, areas, chances and names."""

import math
from collections.abc import Sequence

from plotter.fix.evidence import Bearing
from plotter.fix.listening import Listening
from plotter.fix.model import Evidence
from plotter.fix.ranges import Range
from plotter.fix.sightings import Sighting
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Position

__all__ = [
    "area_words",
    "bearing_words",
    "distance_words",
    "given_words",
    "name_of",
    "off_words",
    "percent_words",
    "place_words",
    "report_words",
    "shape_name",
    "span_words",
    "stand_words",
]


def bearing_words(bearing_true_deg: float) -> str:
    """Say a true bearing: three figures and the north.

    Examples
    --------
    >>> bearing_words(359.7)
    '000° true'
    """
    return f"{round(bearing_true_deg) % 360:03d}° true"


def given_words(bearing: Bearing) -> str:
    """Say a bearing as its sender did, with the true one beside it where that is another."""
    true = bearing_words(bearing.bearing_true_deg)
    if bearing.as_said in ("", true):
        return true
    if bearing.other_true_deg is not None:
        return bearing.as_said
    return f"{bearing.as_said} ({true})"


def off_words(degrees: float) -> str:
    """Say by how much a bearing is off, with its sign.

    Examples
    --------
    >>> off_words(-0.04), off_words(2.26)
    ('+0.0°', '+2.3°')
    """
    return f"{round(degrees, 1) + 0.0:+.1f}°"


def _two_figures(value: float) -> str:
    if value == 0.0:
        return "0"
    rounded = round(value, 1 - math.floor(math.log10(abs(value))))
    digits = max(1 - math.floor(math.log10(abs(rounded))), 0)
    return f"{rounded:.{digits}f}"


def distance_words(metres: float) -> str:
    """Say a distance to two figures.

    Examples
    --------
    >>> distance_words(4123.0), distance_words(87.2), distance_words(23456.0)
    ('4.1 km', '87 m', '23 km')
    """
    if metres < 995.0:
        return f"{_two_figures(metres)} m"
    return f"{_two_figures(metres / 1000.0)} km"


def span_words(near_m: float, middle_m: float, far_m: float) -> str:
    """Say three distances in one unit.

    Examples
    --------
    >>> span_words(800.0, 12000.0, 57000.0)
    '0.80, 12 and 57 km'
    """
    unit_m, unit = (1.0, "m") if far_m < 995.0 else (1000.0, "km")
    near, middle, far = (_two_figures(d / unit_m) for d in (near_m, middle_m, far_m))
    return f"{near}, {middle} and {far} {unit}"


def area_words(km2: float) -> str:
    """Say an area to two figures, in hectares where it is small.

    Examples
    --------
    >>> area_words(2.534), area_words(0.057)
    ('2.5 km²', '5.7 ha')
    """
    return f"{_two_figures(km2)} km²" if km2 >= 0.995 else f"{_two_figures(100.0 * km2)} ha"


def percent_words(chance: float) -> str:
    """Say a chance without claiming certainty.

    Examples
    --------
    >>> percent_words(0.134), percent_words(0.9999), percent_words(0.0001)
    ('13 %', 'over 99 %', 'under 1 %')
    """
    if chance > 0.99:
        return "over 99 %"
    return "under 1 %" if chance < 0.01 else f"{100.0 * chance:.0f} %"


def report_words(report: Evidence) -> str:
    """Say a report as its sender did.

    Examples
    --------
    >>> from plotter.geodesy.position import Position
    >>> report_words(Range(Position(47.0, 8.0), 2400.0))
    'a distance of 2.4 km'
    """
    if isinstance(report, Bearing):
        return given_words(report)
    if isinstance(report, Range):
        return f"a distance of {distance_words(report.distance_m)}"
    if isinstance(report, Listening):
        return "heard" if report.heard else "not heard"
    return "a place"


def name_of(reports: Sequence[Evidence], index: int) -> str:
    """Name the sender of a report, and what was reported too where there are several of his."""
    report = reports[index]
    if not report.sender:
        return f"Observer {index + 1}"
    if sum(each.sender == report.sender for each in reports) == 1:
        return report.sender
    if isinstance(report, Bearing):
        return f"{report.sender} on {given_words(report)}"
    return f"{report.sender} with {report_words(report)}"


def shape_name(shape: str) -> str:
    """Say in a table that no point describes an answer.

    Examples
    --------
    >>> shape_name("wedge")
    'a direction, no point'
    """
    name = {"wedge": "direction", "disc": "wide area"}.get(shape, shape)
    return "nothing known" if shape == "nothing" else f"a {name}, no point"


def stand_words(reports: Sequence[Evidence], index: int) -> str:
    """Name the place where a report was made, with its time: its sender may have gone on since."""
    report = reports[index]
    name = report.sender or f"Observer {index + 1}"
    if isinstance(report, Sighting):
        name = f"the place that {name} gave"
    return name if report.time_utc is None else f"{name} (at {report.time_utc:%H:%M} UTC)"


def place_words(reports: Sequence[Evidence], place: Position, *, without: int | None = None) -> str:
    """Say where a place is, from the nearest observer; `without` is one not to speak of."""
    spoken_of = [(i, each) for i, each in enumerate(reports) if i != without]
    # Who reports a place need not stand there.
    observers = [each for each in spoken_of if not isinstance(each[1], Sighting)] or spoken_of
    lines = {i: geodesic(each.observer, place) for i, each in observers}
    index = min(lines, key=lambda i: lines[i].distance_m)
    line = lines[index]
    name = stand_words(reports, index)
    if line.distance_m < 1.0:
        return f"at {name}"
    bearing = bearing_words(line.bearing_true_deg)
    return f"{distance_words(line.distance_m)} from {name} on {bearing}"
