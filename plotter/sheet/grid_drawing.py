"""Drawing the grid of a page with its figures, as topographic maps letter them."""

import math
from typing import Final

from plotter.sheet.frame import MapFrame
from plotter.sheet.grid_lines import (
    GridRun,
    PageGrid,
    figures_of,
    label_step_m,
)
from plotter.sheet.pen import BLACK, BOLD, GREY, ITALIC, PLAIN, Pen

__all__ = ["draw_figures", "draw_grid"]

_OWN_MM: Final = 0.13
_TENTH_MM: Final = 0.25
_OTHER_MM: Final = 0.10
_SMALL_MM, _LARGE_MM = 2.0, 3.1
_ON_EDGE_MM: Final = 0.02
_CLEAR_MM: Final = 6.0


def draw_grid(pen: Pen, frame: MapFrame, grid: PageGrid) -> None:
    """Draw lines within the frame: the sheet's own grid solid, that of another zone dashed."""
    with pen.within(frame.rect):
        for run in grid.runs:
            own = run.zone == frame.zone
            tenth = round(run.value_m) % round(10 * grid.spacing_m) == 0
            if own:
                pen.line(run.points, _TENTH_MM if tenth else _OWN_MM, GREY)
            else:
                pen.line(run.points, 2 * _OTHER_MM if tenth else _OTHER_MM, GREY, (1.6, 0.8))
        for boundary in grid.boundaries:
            pen.line(boundary.points, 1.0, (1.0, 1.0, 1.0))
            pen.line(boundary.points, 0.5, BLACK, (5.0, 1.2, 1.0, 1.2))


def draw_figures(pen: Pen, frame: MapFrame, grid: PageGrid) -> None:
    """Write the lines' figures outside the frame, and zone names along zone boundaries."""
    step = label_step_m(grid.spacing_m, frame.denominator)
    rect = frame.rect
    in_full: set[tuple[bool, int]] = set()
    placed: dict[str, list[float]] = {"left": [], "right": [], "top": [], "bottom": []}
    own_first = sorted(grid.runs, key=lambda run: (run.zone != frame.zone, run.value_m))
    for run in own_first:
        if round(run.value_m) % round(step) != 0:
            continue
        for x, y in (run.points[0], run.points[-1]):
            side = _side(frame, x, y)
            if side is None:
                continue
            along = y if side in ("left", "right") else x
            own = run.zone == frame.zone
            if own and (side in ("top", "bottom")) != run.easting:
                continue
            if any(abs(along - other) < _gap_mm(side) for other in placed[side]):
                continue
            placed[side].append(along)
            key = (run.easting, run.zone.number)
            full = side in ("left", "bottom") and key not in in_full and own
            if full:
                in_full.add(key)
            _figure(pen, grid, run, side, (x, y), full=full, own=own)
    for boundary in grid.boundaries:
        k = max(len(boundary.points) // 5, 1)  # rather near an end than in the middle of things
        (x0, y0), (x1, y1) = (
            boundary.points[max(k - 1, 0)],
            boundary.points[min(k + 1, len(boundary.points) - 1)],
        )
        if not (rect.left + 5 < x0 < rect.right - 5 and rect.bottom < y0 < rect.top):
            continue
        angle = math.degrees(math.atan2(y1 - y0, x1 - x0))
        sides = boundary.sides
        # The first side is the western or southern one: right of a line that runs north.
        lower, upper = sides if abs(angle) < 45.0 else (sides[1], sides[0])
        sin, cos = math.sin(math.radians(angle)), math.cos(math.radians(angle))
        for zone, off in ((upper, 1.2), (lower, -3.4)):
            pen.text(
                x0 - sin * off, y0 + cos * off, zone.name, 2.6, BOLD, BLACK,
                anchor="middle", angle_deg=angle, halo_mm=0.6,
            )  # fmt: skip


def _gap_mm(side: str) -> float:
    return 3.2 if side in ("left", "right") else _CLEAR_MM


def _side(frame: MapFrame, x: float, y: float) -> str | None:
    rect = frame.rect
    for side, distance in (
        ("bottom", abs(y - rect.bottom)),
        ("top", abs(y - rect.top)),
        ("left", abs(x - rect.left)),
        ("right", abs(x - rect.right)),
    ):
        if distance < _ON_EDGE_MM:
            return side
    return None


def _figure(
    pen: Pen,
    grid: PageGrid,
    run: GridRun,
    side: str,
    at: tuple[float, float],
    *,
    full: bool,
    own: bool,
) -> None:
    small, large = figures_of(run.zone, run.value_m, grid.spacing_m, easting=run.easting)
    letter = "E" if run.easting else "N"
    zeros = "0" * round(math.log10(grid.spacing_m))
    parts = [(small, _SMALL_MM, PLAIN), (large, _LARGE_MM, BOLD if own else ITALIC)]
    if not own:
        parts.append((letter, _SMALL_MM, ITALIC))
    wide = sum(pen.width(words, size, font) for words, size, font in parts)
    head = sum(pen.width(words, size, font) for words, size, font in parts[:2])
    x, y = at
    if side == "left":
        left, base = x - wide - 0.8, y - 1.1
    elif side == "right":
        left, base = x + 0.8, y - 1.1
    else:  # the figures stand over their line, whatever follows them
        left, base = x - head / 2.0, y - 3.3 if side == "bottom" else y + 1.0
    for words, size, font in parts:
        rise = 0.9 if words == small and size == _SMALL_MM else 0.0
        pen.text(left, base + rise, words, size, font)
        left += pen.width(words, size, font)
    if full:  # once on each side, below the first figure
        pen.text(
            x - 0.8 if side == "left" else x + head / 2.0,
            base - (2.2 if side == "left" else 2.0),
            f"{zeros}m{letter}", 1.7, anchor="end",
        )  # fmt: skip
