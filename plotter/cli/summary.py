"""A picture in lines of text: what was read, assumed, needs asking, and could not be read."""

from collections import Counter

import shapely

from plotter.cli.words import bearing_words, length_words
from plotter.fix import Fix
from plotter.fix.wording import percent_words
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Position
from plotter.reports.report import BearingReport, Picture, PositionReport, Said, to_ask

__all__ = ["picture_lines", "truth_lines"]


def picture_lines(picture: Picture) -> list[str]:
    """Every report with what it was taken to mean, then the questions, then the unread lines."""
    roles = Counter(report.role for report in picture.positions)
    lines = [
        picture.title,
        (
            f"{roles['station']} positions of stations, {roles['subject']} of subjects, "
            f"{roles['place']} named places, {len(picture.bearings)} bearings, "
            f"{len(picture.distances)} distances, {len(picture.watches)} watches, "
            f"{len(picture.notes)} notes, {len(picture.unread)} not read"
        ),
        "",
        "Read:",
    ]
    reports: list[PositionReport | BearingReport] = [*picture.positions, *picture.bearings]
    reports.sort(key=lambda report: report.said.line)
    lines += [f"  {_when(report.said)} {_understood(report)}" for report in reports]
    assumed = [
        f"  {_when(report.said)} {report.name}: {why}"
        for report in picture.positions
        for why in report.reading.assumed
    ]
    asking = [
        f"  {_when(report.said)} {report.said.sender}: {question}"
        for report in reports
        for question in to_ask(report.questions)
    ]
    for title, block in (("Assumed, to be read back:", assumed), ("To ask:", asking)):
        lines += ["", title, *(block or ["  nothing"])]
    if picture.unread:
        lines += ["", "Not read, kept as heard:"]
        lines += [
            f"  {each.said.called} {each.said.sender}: {each.said.text!r}: {each.reason}"
            for each in picture.unread
        ]
    return lines


def truth_lines(fix: Fix, truth: Position) -> list[str]:
    """How a fix compares with a known true place."""
    way = geodesic(fix.best, truth)
    bearing = bearing_words(way.bearing_true_deg, "true")
    lines = [f"  the true place is {length_words(way.distance_m)} from the best point on {bearing}"]
    for region in fix.regions:
        inside = any(_holds(piece.polygon.outer, truth) for piece in region.pieces)
        where = "inside" if inside else "outside"
        lines.append(f"  and lies {where} the {percent_words(region.probability)} region")
    return lines


def _holds(ring: tuple[Position, ...], place: Position) -> bool:
    shape = shapely.Polygon([(p.lon_deg, p.lat_deg) for p in ring])
    return bool(shape.covers(shapely.Point(place.lon_deg, place.lat_deg)))


def _when(said: Said) -> str:
    return f"{said.time_utc:%H:%M}" if said.time_utc else "--:--"


def _understood(report: PositionReport | BearingReport) -> str:
    if isinstance(report, BearingReport):
        north = report.north or "north not stated"
        error = f"± {report.sigma_deg:.0f}°{'' if report.sigma_stated else ' (assumed)'}"
        return (
            f"{report.name}: {bearing_words(report.bearing_deg, north)} {error} "
            f"from {report.observer_from}"
        )
    size = length_words(report.reading.square.size_m)
    place = report.reading.square.centre
    return (
        f"{report.name} ({report.role}): {report.said.text!r} = {place.lat_deg:.4f}, "
        f"{place.lon_deg:.4f}, a square of {size}"
    )
