"""A scene as compact JSON: columns instead of records, whole numbers, each text once."""

import json
from collections.abc import Iterable, Sequence
from datetime import datetime
from itertools import pairwise
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike

from plotter.board.answer_values import Answer, Sight
from plotter.board.ground import beside
from plotter.board.listening_values import Listening
from plotter.board.paths import LatLon
from plotter.board.values import BearingMark, Scene
from plotter.board.words import bearing_in_words, length_in_words, norths_in_words
from plotter.geodesy.arrays import FloatArray, IntArray
from plotter.tiles.grid import Box

__all__ = ["CAUTIONS", "json_for_script", "packed_path", "packed_paths", "scene_data"]

# Positions are written as whole millionths of a degree, 0.11 m.
_UNITS: Final = 1e6

CAUTIONS: Final = (
    "An aid to planning.",
    "Positions are as reported: read back before committing people.",
    "Not for navigation.",
    "Local rules and the authority in charge come first.",
    "Transmit only as your licence and the law allow.",
)


def json_for_script(value: object) -> str:
    """Write JSON that cannot end the script element it stands in.

    Parameters
    ----------
    value : object
        Anything JSON can hold.

    Returns
    -------
    str
        ASCII only: control characters, U+2028, lone surrogates and all other letters are escaped,
        and so are the three characters that mean something to an HTML parser.
    """
    text = json.dumps(value, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def packed_path(points: Iterable[LatLon]) -> list[int]:
    """Write a path as steps: latitude and longitude of each point less those of the one before.

    Parameters
    ----------
    points : iterable of LatLon
        Degrees.

    Returns
    -------
    list of int
        Whole millionths of a degree, latitude and longitude in turn; the first step from 0, 0.

    Examples
    --------
    >>> packed_path([(1.0, 2.0), (1.5, 2.0)])
    [1000000, 2000000, 500000, 0]
    """
    found: list[int] = []
    lat_before = lon_before = 0
    for lat_deg, lon_deg in points:
        lat, lon = round(lat_deg * _UNITS), round(lon_deg * _UNITS)
        found += (lat - lat_before, lon - lon_before)
        lat_before, lon_before = lat, lon
    return found


def packed_paths(
    paths: Sequence[Sequence[LatLon]] | Sequence[FloatArray], starts: Sequence[LatLon] | None = None
) -> list[list[int]]:
    """Write many paths as steps at once.

    Parameters
    ----------
    paths : sequence of paths
        Degrees; each a sequence of LatLon or an array of shape (n, 2).
    starts : sequence of LatLon or None
        What the first step of each counts from; 0, 0 unless given.

    Returns
    -------
    list of list of int
        As `packed_path`.
    """
    ends = np.cumsum([len(path) for path in paths], dtype=np.int64)
    if paths and isinstance(paths[0], np.ndarray):
        whole = _whole(np.concatenate(paths))
    else:
        whole = _whole([point for path in paths for point in path])
    steps = np.diff(whole, axis=0, prepend=0)
    counts = np.diff(ends, prepend=0)
    firsts = (ends - counts)[counts > 0]
    steps[firsts] = whole[firsts]
    if starts is not None:
        steps[firsts] -= _whole(starts)[counts > 0]
    flat = steps.ravel().tolist()
    limits = [0, *(2 * ends).tolist()]
    return [flat[low:high] for low, high in pairwise(limits)]


def _whole(points: ArrayLike) -> IntArray:
    return np.rint(np.array(points, dtype=np.float64).reshape(-1, 2) * _UNITS).astype(np.int64)


def scene_data(scene: Scene) -> dict[str, Any]:
    """Turn a scene into what the page's script reads.

    Parameters
    ----------
    scene : Scene
        What to show.

    Returns
    -------
    dict
        JSON values only. `assets/data.js` reads it.
    """
    marks, view = scene.marks, scene.view
    return {
        "title": scene.title,
        "view": [view.south_deg, view.west_deg, view.north_deg, view.east_deg],
        "outside": scene.outside,
        "last": _seconds(scene.last_report_utc),
        "asAt": _seconds(scene.as_at_utc),
        "norths": _norths(scene),
        "cautions": CAUTIONS,
        "answers": [_answer(answer) for answer in scene.answers],
        "others": [
            [index, [packed_path(ring) for ring in marks[index].others]]
            for index, others in enumerate(marks.columns.others)
            if others
        ],
        "bearings": [_bearing(mark) for mark in scene.bearings],
        "questions": [
            [question.entry, question.sender, question.words] for question in scene.questions
        ],
        "listening": None if scene.listening is None else _listening(scene.listening, view),
    }


def _seconds(time: datetime | None) -> int | None:
    return None if time is None else round(time.timestamp())


def _point(place: LatLon) -> list[int]:
    return [round(place[0] * _UNITS), round(place[1] * _UNITS)]


def _norths(scene: Scene) -> dict[str, Any]:
    norths = scene.norths
    return {
        "day": norths.day.isoformat(),
        "declination": norths_in_words(norths.declination_deg),
        "convergence": norths_in_words(norths.convergence_deg),
        "warnings": norths.warnings,
    }


def _answer(answer: Answer) -> dict[str, Any]:
    return {
        "subject": answer.subject,
        "at": _seconds(answer.at_utc),
        "earlier": [_answer(before) for before in answer.earlier],
        "findings": answer.findings,
        "best": _point(answer.best),
        "sector": answer.sector,
        "called": answer.called,
        "formats": [[spoken.label, spoken.text, spoken.groups] for spoken in answer.formats],
        "sights": [_sight(sight) for sight in answer.sights],
        "sightsLeftOut": answer.sights_left_out,
        "pieces": [
            {
                "probability": piece.probability,
                "share": piece.share,
                "best": _point(piece.best),
                "rings": [packed_path(ring) for ring in piece.rings],
            }
            for piece in answer.pieces
        ],
    }


def _sight(sight: Sight) -> list[str]:
    return [
        sight.name,
        length_in_words(sight.distance_m),
        bearing_in_words(sight.bearing_true_deg, "true"),
        bearing_in_words(sight.bearing_magnetic_deg, "magnetic"),
    ]


def _listening(listening: Listening, view: Box) -> dict[str, Any]:
    middle = (view.west_deg + view.east_deg) / 2.0
    return {
        "subject": listening.subject,
        "findings": listening.findings,
        "cautions": listening.cautions,
        "places": [
            {
                "rank": each.rank,
                "name": each.name,
                "place": _point((each.position.lat_deg, beside(each.position.lon_deg, middle))),
                "format": [each.reference.label, each.reference.text, each.reference.groups],
                "sight": None if each.sight is None else _sight(each.sight),
                "outcome": each.outcome,
            }
            for each in listening.places
        ],
    }


def _bearing(mark: BearingMark) -> dict[str, Any]:
    return {
        "entry": mark.entry,
        "label": mark.label,
        "line": packed_path(mark.line),
        "wedge": packed_path(mark.wedge),
        "doubtful": mark.doubtful,
    }
