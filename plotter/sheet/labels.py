"""Where names go on the map: beside what they name, not over each other."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Final

from plotter.sheet.frame import Rect

__all__ = ["LabelRoom"]

# Beside, above, below, then the corners: the usual order of map lettering, east first.
_WAYS: Final = ((1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (1, -1), (-1, 1), (-1, -1))
_FARTHER: Final = (1.0, 2.2, 3.6)
_TOUCHING_MM2: Final = 0.3

Box = tuple[float, float, float, float]


@dataclass(slots=True)
class LabelRoom:
    """Keeps what is taken on a page.

    Parameters
    ----------
    rect : Rect
        The map's frame.
    taken : list of boxes
        Left, bottom, right, top of what must not be covered, millimetres.
    """

    rect: Rect
    taken: list[Box] = field(default_factory=list)

    def take(self, x: float, y: float, half_mm: float) -> None:
        """Keep the room of a shape about a point."""
        self.taken.append((x - half_mm, y - half_mm, x + half_mm, y + half_mm))

    def beside(
        self, x: float, y: float, gap_mm: float, wide_mm: float, high_mm: float
    ) -> tuple[Box, bool]:
        """Find and take room for words beside a point.

        Parameters
        ----------
        x, y : float
            The point.
        gap_mm : float
            From the point to the words.
        wide_mm, high_mm : float
            Size of the words.

        Returns
        -------
        box, free : tuple, bool
            Where they go; False where something else had to be overlapped.
        """
        best: tuple[float, Box] | None = None
        for farther in _FARTHER:
            for across, up in _WAYS:
                gap = gap_mm * farther
                left = x + across * gap - wide_mm * (1 - across) / 2.0
                bottom = y + up * gap - high_mm * (1 - up) / 2.0
                box = (left, bottom, left + wide_mm, bottom + high_mm)
                cost = self._cost(box) + (farther - 1.0) * _TOUCHING_MM2 / 10.0
                if best is None or cost < best[0]:
                    best = (cost, box)
        if best is None:  # there are always ways to try
            raise AssertionError
        self.taken.append(best[1])
        return best[1], best[0] < _TOUCHING_MM2

    def along(
        self, points: Sequence[tuple[float, float]], wide_mm: float, high_mm: float
    ) -> tuple[float, float, float] | None:
        """Find and take room for words along a line, readable from below.

        Returns
        -------
        tuple of float or None
            Middle of the words' base line and their angle in degrees; None where the line is not
            long enough on the page.
        """
        inside = [p for p in points if self._in_frame(p)]
        if sum(math.dist(a, b) for a, b in pairwise(inside)) < wide_mm + 3.0:
            return None
        best: tuple[float, tuple[float, float, float], list[Box]] | None = None
        for share in (0.3, 0.45, 0.6, 0.2, 0.75, 0.9):
            k = min(int(share * (len(inside) - 1)), len(inside) - 2)
            (x0, y0), (x1, y1) = inside[k], inside[k + 1]
            angle = math.degrees(math.atan2(y1 - y0, x1 - x0))
            if abs(angle) > 90.0:
                angle -= math.copysign(180.0, angle)
            cos, sin = math.cos(math.radians(angle)), math.sin(math.radians(angle))
            x, y = (x0 + x1) / 2.0 - sin * 0.8, (y0 + y1) / 2.0 + cos * 0.8
            boxes = []
            for step in range(-4, 5):
                a, b = x + cos * wide_mm * step / 9.0, y + sin * wide_mm * step / 9.0
                a, b = a - sin * high_mm / 2.0, b + cos * high_mm / 2.0
                half = max(high_mm, wide_mm / 9.0) / 2.0
                boxes.append((a - half, b - half, a + half, b + half))
            cost = sum(self._cost(box) for box in boxes)
            if best is None or cost < best[0]:
                best = (cost, (x, y, angle), boxes)
        if best is None:
            return None
        self.taken += best[2]
        return best[1]

    def _in_frame(self, point: tuple[float, float]) -> bool:
        x, y = point
        return self.rect.left < x < self.rect.right and self.rect.bottom < y < self.rect.top

    def _cost(self, box: Box) -> float:
        """Square millimetres of overlap, with what leaves the frame counted tenfold."""
        left, bottom, right, top = box
        area = (right - left) * (top - bottom)
        shown = max(min(right, self.rect.right) - max(left, self.rect.left), 0.0) * max(
            min(top, self.rect.top) - max(bottom, self.rect.bottom), 0.0
        )
        over = sum(
            max(min(right, r) - max(left, l), 0.0) * max(min(top, t) - max(bottom, b), 0.0)
            for l, b, r, t in self.taken  # noqa: E741 - left of the other box
        )
        return over + 10.0 * (area - shown)
