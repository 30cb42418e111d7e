"""Distances, watches and ground on the map: rings, marks at the listeners, areas."""

import math
from collections.abc import Mapping, Sequence
from typing import Final

from plotter.board.evidence_values import GroundKind, GroundMark, RangeMark, WatchMark
from plotter.board.ground import ring_of
from plotter.board.outlines import circle_outline, middle_of, ring_outline
from plotter.board.words import length_in_words
from plotter.fix.ranges import GUESS_LOG_SD
from plotter.fix.result import Fix
from plotter.fix.wording import percent_words
from plotter.reports.names import key_of
from plotter.reports.report import DistanceReport, GroundReport, WatchReport

__all__ = ["ground_marks", "range_marks", "watch_marks"]

_LIKELY_WRONG: Final = 0.5


def range_marks(
    reports: Sequence[DistanceReport],
    entries: Sequence[int],
    fixes: Mapping[str, Fix],
    reference_deg: float,
) -> tuple[RangeMark, ...]:
    """Draw distances as rings.

    Parameters
    ----------
    reports : sequence of DistanceReport
        In order.
    entries : sequence of int
        The entry of each.
    fixes : mapping of str to Fix
        By subject.
    reference_deg : float
        Longitude of the map's middle.
    """
    chances = _chances(reports, fixes)
    marks = []
    for index, (report, entry) in enumerate(zip(reports, entries, strict=True)):
        doubtful = bool(report.questions) or chances.get(index, 1.0) < _LIKELY_WRONG
        radii = [radius for radius in _band_m(report) if radius > 0.0]
        (observer,) = ring_of([report.observer], reference_deg)
        marks.append(
            RangeMark(
                entry=entry,
                label=f"{report.said.sender} {_distance_words(report)}{'?' if doubtful else ''}",
                observer=observer,
                line=circle_outline(report.observer, report.distance_m, reference_deg),
                band=tuple(circle_outline(report.observer, r, reference_deg) for r in radii),
                doubtful=doubtful,
            )
        )
    return tuple(marks)


def _distance_words(report: DistanceReport) -> str:
    error = f"± {length_in_words(report.sigma_m)}" if report.sigma_m else "guessed"
    return f"{length_in_words(report.distance_m)} {error}"


def _band_m(report: DistanceReport) -> tuple[float, float]:
    """Distance of one standard deviation farther, and nearer."""
    if report.sigma_m is None:
        factor = math.exp(GUESS_LOG_SD)
        return report.distance_m * factor, report.distance_m / factor
    return report.distance_m + report.sigma_m, report.distance_m - report.sigma_m


def _chances(reports: Sequence[DistanceReport], fixes: Mapping[str, Fix]) -> dict[int, float]:
    """How likely each distance is right, by its number, where the fix says so."""
    found: dict[int, float] = {}
    for name, fix in fixes.items():
        about = [i for i, report in enumerate(reports) if key_of(report.name) == key_of(name)]
        verdicts = [verdict for verdict in fix.others if verdict.kind == "distance"]
        if len(about) == len(verdicts):
            found |= {i: verdict.p_good for i, verdict in zip(about, verdicts, strict=True)}
    return found


def watch_marks(
    reports: Sequence[WatchReport], entries: Sequence[int], reference_deg: float
) -> tuple[WatchMark, ...]:
    """Draw watches as marks at the listeners, one for those that say the same from one place.

    Parameters
    ----------
    reports : sequence of WatchReport
        In order.
    entries : sequence of int
        The entry of each; entries are counted from the newest.
    reference_deg : float
        Longitude of the map's middle.
    """
    groups: dict[tuple[object, ...], list[tuple[int, WatchReport]]] = {}
    for report, entry in zip(reports, entries, strict=True):
        same = (key_of(report.name), key_of(report.said.sender), report.observer)
        groups.setdefault((*same, report.watch.heard), []).append((entry, report))
    subjects = {key_of(report.name) for report in reports}
    marks = []
    for group in groups.values():
        newest, report = min(group, key=lambda each: each[0])
        outcome = "heard" if report.watch.heard else "not heard"
        words = [f"{report.name} {outcome}" if len(subjects) > 1 else outcome]
        if len(group) > 1:
            words.append(f"{len(group)} times")
        (place,) = ring_of([report.observer], reference_deg)
        marks.append(WatchMark(newest, ", ".join(words), place, report.watch.heard))
    return tuple(marks)


def ground_marks(
    reports: Sequence[GroundReport], entries: Sequence[int], reference_deg: float
) -> tuple[GroundMark, ...]:
    """Draw ground with its outlines.

    Parameters
    ----------
    reports : sequence of GroundReport
        In order.
    entries : sequence of int
        The entry of each.
    reference_deg : float
        Longitude of the map's middle.
    """
    marks = []
    for report, entry in zip(reports, entries, strict=True):
        kind, words = _ground_words(report.ground.weight)
        if report.ground.outside:
            words = f"outside: {words}"
        polygon = report.ground.polygon
        marks.append(
            GroundMark(
                entry=entry,
                label=words + ("?" if report.questions else ""),
                kind=kind,
                middle=middle_of(polygon, reference_deg),
                outlines=tuple(
                    ring_outline(ring, reference_deg) for ring in (polygon.outer, *polygon.holes)
                ),
                outside=report.ground.outside,
                doubtful=bool(report.questions),
            )
        )
    return tuple(marks)


def _ground_words(weight: float) -> tuple[GroundKind, str]:
    if weight == 0.0:
        return "ruled out", "ruled out"
    if weight < 1.0:
        return "searched", f"searched, {percent_words(1.0 - weight)}"
    return "likely", f"likely, {weight:g} times"
