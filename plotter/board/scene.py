"""From what was reported and computed to everything there is to draw and to say."""

import math
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from itertools import accumulate, pairwise

import numpy as np

from plotter.board.answer_values import Answer
from plotter.board.answers import AllFormats, answer_over_time
from plotter.board.columns import Columns, columns_of
from plotter.board.entries import Entries, entries_of
from plotter.board.evidence_marks import ground_marks, range_marks, watch_marks
from plotter.board.evidence_values import GroundMark
from plotter.board.ground import beside, centre_of, ring_of, view_of
from plotter.board.listening_values import Listening
from plotter.board.marks import Marks
from plotter.board.paths import LatLon
from plotter.board.search_values import SearchView
from plotter.board.sightlines import bearing_marks
from plotter.board.tracks import in_order_of_time
from plotter.board.values import BearingMark, Norths, Question, Scene
from plotter.fix.result import Fix
from plotter.geodesy.arrays import IntArray
from plotter.geodesy.geodesic import inverse_arrays
from plotter.geodesy.grid import convergence_deg
from plotter.geodesy.magnetic import declination
from plotter.geodesy.position import Position
from plotter.reports.report import (
    BearingReport,
    DistanceReport,
    Picture,
    PositionReport,
    WatchReport,
)
from plotter.reports.stations import stations_of
from plotter.tiles.grid import Box

__all__ = ["scene"]

# A direction, a ring or an area is shown on opening where its likelier half is no wider.
_WIDEST_M = 60_000.0
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
        `plotter.reports.evidence.fixes_before`.

    Returns
    -------
    Scene
        Frozen values in degrees; longitudes run on past 180 where the area does.
    """
    if all_formats is None:
        from plotter.formats import in_all_formats

        all_formats = in_all_formats
    columns = columns_of(picture)
    last_utc = columns.last_utc
    as_at_utc = last_utc if now_utc is None else now_utc
    latest_of = {columns.names[number]: number for number in in_order_of_time(columns)}
    latest = {name: picture.positions[number] for name, number in latest_of.items()}
    reference = centre_of(
        [*(fix.best for _, fix in fixes)]
        or [*(report.reading.square.centre for report in latest.values())]
        or [report.observer for kind in _observed(picture) for report in kind]
        or [corner for report in picture.ground for corner in report.ground.polygon.outer]
    )
    entries, index_of = entries_of(picture, columns, as_at_utc, reference)
    stations = stations_of(picture) if fixes else ()
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
    ground = ground_marks(picture.ground, at[4].tolist(), reference)
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
        marks=_marks(columns, latest_of, at[0], reference),
        bearings=_bearings(picture, fixes, at[1].tolist(), view, reference),
        questions=_questions(entries),
        listening=listening,
        search=search,
        ranges=range_marks(picture.distances, at[2].tolist(), dict(fixes), reference),
        watches=watch_marks(picture.watches, at[3].tolist(), reference),
        ground=ground,
    )


def _observed(
    picture: Picture,
) -> tuple[tuple[BearingReport | DistanceReport | WatchReport, ...], ...]:
    """What has an observer, kind by kind."""
    return picture.bearings, picture.distances, picture.watches


def _marks(
    columns: Columns,
    latest_of: dict[str, int],
    index_of: IntArray,
    reference: float,
) -> Marks:
    latest = np.zeros(len(index_of), dtype=np.bool_)
    latest[list(latest_of.values())] = True
    return Marks(columns, index_of, latest, reference)


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


def _questions(entries: Entries) -> tuple[Question, ...]:
    asked = entries.in_order(entries.columns.questions)
    return tuple(
        Question(index, entries[index].sender, words)
        for index, questions in enumerate(asked)
        if questions
        for words in questions
    )


def _likely_ground(answer: Answer) -> list[LatLon]:
    """Outline of what is likeliest of it, without its small pieces."""
    least = min((piece.probability for piece in answer.pieces), default=0.0)
    return [
        corner
        for piece in answer.pieces
        if piece.probability == least and piece.share >= _LIKELY_PIECE
        for corner in piece.rings[0]
    ]


def _across_m(corners: Sequence[LatLon]) -> float:
    """From the first corner to the farthest, twice; infinite where there are none."""
    if not corners:
        return math.inf
    lat, lon = (np.asarray(each) for each in zip(*corners, strict=True))
    away, _, _ = inverse_arrays(lat[:1], lon[:1], lat, lon)
    return 2.0 * float(away.max())


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
    # The far end of a direction must not push away the ground that it starts from.
    located = [answer for answer in answers if not answer.sector]
    always = [*(answer.best for answer in located), *ring_of(proposed, reference)]
    for answer in located:
        always += (before.best for before in answer.earlier if not before.sector)
        always += _likely_ground(answer)
    for answer in answers:
        if answer.sector and _across_m(ground_of := _likely_ground(answer)) < _WIDEST_M:
            always += ground_of
    return view_of(points, always, reference)
