"""From what was reported and computed to everything there is to draw and to say."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from itertools import accumulate, pairwise

import numpy as np

from plotter.board.answer_values import Answer
from plotter.board.answers import AllFormats, answer_over_time
from plotter.board.entries import START_OF_TIME, entries_of
from plotter.board.evidence_marks import ground_marks, range_marks, watch_marks
from plotter.board.evidence_values import GroundMark
from plotter.board.ground import beside, centre_of, ring_of, view_of
from plotter.board.listening_values import Listening
from plotter.board.paths import LatLon
from plotter.board.search_values import SearchView
from plotter.board.sightlines import bearing_marks
from plotter.board.values import BearingMark, Entry, Mark, Norths, Question, Scene, Track
from plotter.board.words import age_in_words
from plotter.fix.result import Fix
from plotter.geodesy.geodesic import inverse_arrays
from plotter.geodesy.grid import convergence_deg
from plotter.geodesy.magnetic import declination
from plotter.geodesy.position import Position
from plotter.log.report import (
    BearingReport,
    DistanceReport,
    Picture,
    PositionReport,
    Said,
    WatchReport,
)
from plotter.log.stations import stations_of
from plotter.tiles.grid import Box

__all__ = ["scene"]

# A track keeps this many places at most: more hide what is under them.
_MOST_TRACK_POINTS = 12
_LIKELY_PIECE = 0.05


def scene(
    picture: Picture,
    fixes: Sequence[tuple[str, Fix]] = (),
    *,
    date: date,
    now_utc: datetime | None = None,
    all_formats: AllFormats | None = None,
    listening: Listening | None = None,
    search: SearchView | None = None,
    over_time: Mapping[str, Sequence[tuple[datetime, Fix]]] | None = None,
) -> Scene:
    """Decide what there is to draw and to say.

    Parameters
    ----------
    picture : Picture
        Everything that the reports say.
    fixes : sequence of (str, Fix)
        The subject's name and what was computed about it.
    date : datetime.date
        Day of the declination.
    now_utc : datetime or None
        The time that ages count from, aware; the time of the last report unless given.
    all_formats : callable or None
        From a position to its text in every format; `plotter.formats.in_all_formats` unless given.
    listening : Listening or None
        Where to listen next, from `plotter.board.listening.listening_of`.
    search : SearchView or None
        Where to search, from `plotter.board.search_marks.search_view`.
    over_time : mapping or None
        For subjects that move: each time with its fix, oldest first, the one in `fixes` last; from
        `plotter.log.evidence.fixes_before`.

    Returns
    -------
    Scene
        Frozen values in degrees; longitudes run on past 180 where the area does.
    """
    if all_formats is None:
        from plotter.formats import in_all_formats

        all_formats = in_all_formats
    last_utc = picture.last_time_utc
    as_at_utc = last_utc if now_utc is None else now_utc
    positions = sorted(picture.positions, key=lambda report: _order(report.said))
    latest = {report.name: report for report in positions}
    reference = centre_of(
        [*(fix.best for _, fix in fixes)]
        or [*(report.reading.square.centre for report in latest.values())]
        or [report.observer for kind in _observed(picture) for report in kind]
        or [corner for report in picture.ground for corner in report.ground.polygon.outer]
    )
    entries, index_of = entries_of(picture, as_at_utc, reference)
    stations = stations_of(picture)
    moving = over_time or {}
    answers = tuple(
        answer_over_time(
            name,
            moving.get(name, ((None, fix),)),
            stations,
            day=date,
            all_formats=all_formats,
            reference_deg=reference,
        )
        for name, fix in fixes
    )
    proposed = () if listening is None else tuple(each.position for each in listening.places)
    if search is not None:
        proposed += tuple(p for mark in search.sectors for g in mark.polygons for p in g.outer)
    counts = map(len, (picture.positions, *_observed(picture), picture.ground))
    at = [index_of[first:last] for first, last in pairwise(accumulate(counts, initial=0))]
    ground = ground_marks(picture.ground, at[4], reference)
    view, outside = _view(latest.values(), picture, answers, proposed, ground, reference)
    middle = ((view.south_deg + view.north_deg) / 2.0, (view.west_deg + view.east_deg) / 2.0)
    centre = Position(middle[0], beside(middle[1], 0.0))
    magnetic = declination(centre, date)
    return Scene(
        title=picture.title,
        view=view,
        outside=outside,
        last_report_utc=last_utc,
        as_at_utc=as_at_utc,
        norths=Norths(
            middle, date, magnetic.declination_deg, convergence_deg(centre), magnetic.warnings
        ),
        answers=answers,
        entries=entries,
        marks=_marks(picture.positions, latest, at[0], reference),
        bearings=_bearings(picture, fixes, at[1], view, reference),
        tracks=_tracks(positions, as_at_utc, reference),
        questions=_questions(entries),
        listening=listening,
        search=search,
        ranges=range_marks(picture.distances, at[2], dict(fixes), reference),
        watches=watch_marks(picture.watches, at[3], reference),
        ground=ground,
    )


def _observed(
    picture: Picture,
) -> tuple[tuple[BearingReport | DistanceReport | WatchReport, ...], ...]:
    """What has an observer, kind by kind."""
    return picture.bearings, picture.distances, picture.watches


def _order(said: Said) -> tuple[datetime, int]:
    return (said.time_utc or START_OF_TIME, said.line)


def _marks(
    positions: Sequence[PositionReport],
    latest: dict[str, PositionReport],
    index_of: Sequence[int],
    reference: float,
) -> tuple[Mark, ...]:
    return tuple(
        Mark(
            entry=index,
            name=report.name,
            role=report.role,
            square=ring_of(report.reading.square.corners, reference),
            size_m=report.reading.square.size_m,
            latest=latest[report.name] is report,
            doubtful=bool(report.others or report.questions),
            others=tuple(ring_of(other.square.corners, reference) for other in report.others),
        )
        for report, index in zip(positions, index_of, strict=True)
    )


def _bearings(
    picture: Picture,
    fixes: Sequence[tuple[str, Fix]],
    index_of: Sequence[int],
    view: Box,
    reference: float,
) -> tuple[BearingMark, ...]:
    span, _, _ = inverse_arrays(
        [view.south_deg], [view.west_deg], [view.north_deg], [view.east_deg]
    )
    return bearing_marks(
        picture.bearings,
        index_of,
        dict(fixes),
        span_m=float(span[0]),
        reference_deg=reference,
    )


def _tracks(
    positions: Sequence[PositionReport], now: datetime | None, reference: float
) -> tuple[Track, ...]:
    """Join what is in order of time, name by name."""
    by_name: dict[str, list[PositionReport]] = {}
    for report in positions:
        if not report.out_of_place:  # nobody was there: a line to it would be a lie
            by_name.setdefault(report.name, []).append(report)
    tracks = []
    for name, reports in by_name.items():
        if len(reports) < 2:
            continue
        kept = _thinned(reports)
        tracks.append(
            Track(
                name,
                ring_of((report.reading.square.centre for report in kept), reference),
                tuple(age_in_words(report.said.time_utc, now) for report in kept),
            )
        )
    return tuple(tracks)


def _thinned(reports: list[PositionReport]) -> list[PositionReport]:
    if len(reports) <= _MOST_TRACK_POINTS:
        return reports
    chosen = np.linspace(0, len(reports) - 1, _MOST_TRACK_POINTS).round().astype(int)
    return [reports[index] for index in chosen]


def _questions(entries: Sequence[Entry]) -> tuple[Question, ...]:
    return tuple(
        Question(index, entry.sender, words)
        for index, entry in enumerate(entries)
        for words in entry.questions
    )


def _view(
    latest: Iterable[PositionReport],
    picture: Picture,
    answers: Sequence[Answer],
    proposed: Sequence[Position],
    ground: Sequence[GroundMark],
    reference: float,
) -> tuple[Box, int]:
    centres = [report.reading.square.centre for report in latest]
    centres += [report.observer for kind in _observed(picture) for report in kind]
    points: list[LatLon] = [*ring_of(centres, reference), *(mark.middle for mark in ground)]
    # A direction has no point to show: its far end must not push the ground it starts from away.
    located = [answer for answer in answers if not answer.sector]
    always = [*(answer.best for answer in located), *ring_of(proposed, reference)]
    for answer in located:
        always += (before.best for before in answer.earlier if not before.sector)
        least = min((piece.probability for piece in answer.pieces), default=0.0)
        for piece in answer.pieces:
            if piece.probability == least and piece.share >= _LIKELY_PIECE:
                always.extend(piece.rings[0])
    return view_of(points, always, reference)
