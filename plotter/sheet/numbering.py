"""Numbers for many reports: names that would lie on each other stand in a list beside the map."""

import math
from collections.abc import Iterable, Sequence
from typing import Final

from plotter.board.values import Mark, Scene

__all__ = ["gathered", "in_ranges", "numbers_of"]

_MANY: Final = 30  # names up to so many find room beside each other
_TOGETHER_MM: Final = 2.6

Point = tuple[float, float]


def numbers_of(scene: Scene) -> dict[int, int]:
    """Number of each latest position by its entry, the nearest to the answer first.

    Parameters
    ----------
    scene : Scene
        What there is to draw.

    Returns
    -------
    dict of int to int
        Empty where there are few: then names stand on the map. Without an answer the nearest to
        the middle of the view come first.
    """
    latest = [mark for mark in scene.marks if mark.latest]
    if len(latest) <= _MANY:
        return {}
    points = [answer.best for answer in scene.answers if not answer.sector]
    view = scene.view
    middle = ((view.south_deg + view.north_deg) / 2.0, (view.west_deg + view.east_deg) / 2.0)
    lat, lon = points[0] if points else middle

    def far(mark: Mark) -> tuple[float, str]:
        corner_lat = sum(a for a, _ in mark.square) / len(mark.square)
        corner_lon = sum(b for _, b in mark.square) / len(mark.square)
        across = (corner_lon - lon + 180.0) % 360.0 - 180.0
        return math.hypot(corner_lat - lat, across * math.cos(math.radians(lat))), mark.name

    return {mark.entry: number for number, mark in enumerate(sorted(latest, key=far), 1)}


def gathered(places: Sequence[tuple[Point, int]]) -> list[tuple[Point, list[int]]]:
    """Numbers that stand too close to be written one by one, under one place each.

    Parameters
    ----------
    places : sequence of (place, number)
        Millimetres on the page.
    """
    groups: list[tuple[Point, list[int]]] = []
    for at, number in sorted(places, key=lambda pair: pair[1]):
        for middle, numbers in groups:
            if math.dist(middle, at) < _TOGETHER_MM:
                numbers.append(number)
                break
        else:
            groups.append((at, [number]))
    return groups


def in_ranges(numbers: Iterable[int]) -> str:
    """Numbers in words as short as they go.

    Examples
    --------
    >>> in_ranges([4, 5, 6, 9, 11, 12])
    '4–6, 9, 11, 12'
    """
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(
        f"{run[0]}–{run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs
    )
