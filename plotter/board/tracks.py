"""Where each of those who report has been, oldest first."""

from typing import Final

import numpy as np

from plotter.board.columns import Columns
from plotter.board.ground import ring_of
from plotter.board.values import Scene, Track
from plotter.board.words import age_in_words

__all__ = ["in_order_of_time", "tracks_of"]

# A track keeps this many places at most: more hide what is under them.
_MOST_POINTS: Final = 12


def in_order_of_time(columns: Columns) -> list[int]:
    """The positions, oldest first; those without a time before all."""
    count = columns.positions
    times_s = np.nan_to_num(columns.times_s[:count], nan=-np.inf)
    found: list[int] = np.lexsort((columns.lines[:count], times_s)).tolist()
    return found


def tracks_of(scene: Scene) -> tuple[Track, ...]:
    """Join what is in order of time, name by name.

    The board's own script joins all places; this is for paper, and thinned.
    """
    columns = scene.marks.columns
    by_name: dict[str, list[int]] = {}
    for number in in_order_of_time(columns):
        if not columns.out_of_place[number]:  # nobody was there: a line to it would be a lie
            by_name.setdefault(columns.names[number], []).append(number)
    tracks = []
    for name, numbers in by_name.items():
        if len(numbers) < 2:
            continue
        kept = _thinned(numbers)
        places = (columns.centres[number] for number in kept)
        ages = (
            age_in_words(columns.reports[number].said.time_utc, scene.as_at_utc) for number in kept
        )
        tracks.append(Track(name, ring_of(places, scene.marks.reference_deg), tuple(ages)))
    return tuple(tracks)


def _thinned(numbers: list[int]) -> list[int]:
    if len(numbers) <= _MOST_POINTS:
        return numbers
    chosen = np.linspace(0, len(numbers) - 1, _MOST_POINTS).round().astype(int)
    return [numbers[index] for index in chosen]
