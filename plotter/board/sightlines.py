"""Lines of bearing on the ground: the geodesic, its wedge of one standard deviation, its label."""

from collections.abc import Mapping, Sequence

import numpy as np

from plotter.board.ground import path_beside
from plotter.board.paths import Path, Ring
from plotter.board.values import BearingMark
from plotter.board.words import bearing_in_words
from plotter.fix.result import BearingVerdict, Fix
from plotter.geodesy.geodesic import direct_arrays, inverse_arrays
from plotter.geodesy.position import Position
from plotter.reports.report import BearingReport

__all__ = ["bearing_marks", "doubtful_bearings"]

_POINTS = 33
_ARC_POINTS = 9
# A line is drawn past the best point, so that the crossing is seen as one, but not round the world.
_BEYOND = 1.6
_LEAST_REACH_M = 2_000.0
_GREATEST_REACH_M = 2_000_000.0
_LIKELY_WRONG = 0.5


def doubtful_bearings(
    reports: Sequence[BearingReport], fixes: Mapping[str, Fix]
) -> tuple[bool, ...]:
    """Tell which bearings are to be drawn as doubtful.

    A bearing is doubtful where its north was not stated, where there is something to ask about
    it, or where the fix finds it more likely wrong than right.

    Parameters
    ----------
    reports : sequence of BearingReport
        In order.
    fixes : mapping of str to Fix
        By subject.

    Returns
    -------
    tuple of bool
        One for each report.
    """
    verdicts = {name: _by_report(name, reports, fix) for name, fix in fixes.items()}
    found = []
    for index, report in enumerate(reports):
        verdict = verdicts.get(report.name, {}).get(index)
        found.append(
            report.north is None
            or bool(report.questions)
            or (verdict is not None and verdict.p_good < _LIKELY_WRONG)
        )
    return tuple(found)


def _by_report(name: str, reports: Sequence[BearingReport], fix: Fix) -> dict[int, BearingVerdict]:
    """Find each verdict's report: by order where the numbers agree, else by a sender of its own."""
    indices = [index for index, report in enumerate(reports) if report.name == name]
    if len(indices) == len(fix.bearings):
        return dict(zip(indices, fix.bearings, strict=True))
    senders = [verdict.sender for verdict in fix.bearings]
    return {
        index: fix.bearings[senders.index(reports[index].said.sender)]
        for index in indices
        if senders.count(reports[index].said.sender) == 1
    }


def bearing_marks(
    reports: Sequence[BearingReport],
    entries: Sequence[int],
    fixes: Mapping[str, Fix],
    *,
    span_m: float,
    reference_deg: float,
) -> tuple[BearingMark, ...]:
    """Draw bearings on the ground; one whose north was not stated gives two lines.

    Parameters
    ----------
    reports : sequence of BearingReport
        In order.
    entries : sequence of int
        The entry of each.
    fixes : mapping of str to Fix
        By subject.
    span_m : float
        Width of the area, the reach of a line that leads to no fix.
    reference_deg : float
        Longitude of the map's middle.

    Returns
    -------
    tuple of BearingMark
        In order of the reports.
    """
    marks = []
    doubts = doubtful_bearings(reports, fixes)
    for report, entry, doubtful in zip(reports, entries, doubts, strict=True):
        reach_m = _reach_m(report.observer, fixes.get(report.name), span_m)
        for bearing_true_deg, words in _meanings(report):
            label = f"{report.said.sender} {words}" + ("?" if doubtful else "")
            line, wedge = _ground(report, bearing_true_deg, reach_m, reference_deg)
            marks.append(BearingMark(entry, label, line[0], line, wedge, doubtful))
    return tuple(marks)


def _meanings(report: BearingReport) -> list[tuple[float, str]]:
    if report.north is not None:
        return [(report.bearing_true_deg, bearing_in_words(report.bearing_deg, report.north))]
    found = [(report.bearing_true_deg, bearing_in_words(report.bearing_deg, "true"))]
    if report.other_true_deg is not None:
        found.append((report.other_true_deg, bearing_in_words(report.bearing_deg, "magnetic")))
    return found


def _reach_m(observer: Position, fix: Fix | None, span_m: float) -> float:
    reach = span_m
    if fix is not None:
        distance, _, _ = inverse_arrays(
            [observer.lat_deg], [observer.lon_deg], [fix.best.lat_deg], [fix.best.lon_deg]
        )
        reach = _BEYOND * float(distance[0])
    return min(max(reach, _LEAST_REACH_M), _GREATEST_REACH_M)


def _ground(
    report: BearingReport, bearing_true_deg: float, reach_m: float, reference_deg: float
) -> tuple[Path, Ring]:
    """Return the line and its wedge."""
    lat, lon = report.observer.lat_deg, report.observer.lon_deg
    along = np.linspace(0.0, reach_m, _POINTS)
    # Beyond a right angle to either side a wedge would fold over itself.
    half = min(report.sigma_deg, 90.0)
    arc = bearing_true_deg + np.linspace(half, -half, _ARC_POINTS)
    bearings = np.concatenate(
        [
            np.full(_POINTS, bearing_true_deg),
            np.full(_POINTS, bearing_true_deg + half),
            arc,
            np.full(_POINTS, bearing_true_deg - half),
        ]
    )
    lengths = np.concatenate([along, along, np.full(_ARC_POINTS, reach_m), along[::-1]])
    lats, lons, _ = direct_arrays(lat, lon, bearings, lengths)
    line = path_beside(lats[:_POINTS], lons[:_POINTS], reference_deg)
    wedge = path_beside(lats[_POINTS:], lons[_POINTS:], reference_deg)
    return line, wedge
