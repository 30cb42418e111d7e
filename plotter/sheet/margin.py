"""The panels about a map: title, legend, norths, how to read a reference, cautions, sources."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, TypeAlias

from plotter.board.data import CAUTIONS
from plotter.board.values import Scene
from plotter.sheet.advice_drawing import draw_house, draw_sector_sample
from plotter.sheet.frame import MapFrame, Rect
from plotter.sheet.map_drawing import draw_mark, draw_region_sample, mark_ink, pieces_drawn
from plotter.sheet.norths import SheetNorths
from plotter.sheet.pen import BLACK, BLUE, BOLD, GREY, PLAIN, VERMILION, WHITE, Ink, Pen

__all__ = [
    "MarginWords",
    "draw_legend",
    "draw_neighbours",
    "draw_norths",
    "draw_reading",
    "draw_title",
    "legend_of",
]

_BODY_MM: Final = 2.4
_SMALL_MM: Final = 2.1
_SMALLEST_MM: Final = 1.6
_LEGEND_ROW_MM: Final = 3.7
_LEAST_SHOWN_DEG: Final = 9.0
_MOST_SHOWN_DEG: Final = 38.0
_HOW_TO_READ: Final = (
    "1  Romer's corner on the point. East first: figures of the grid line to the left, then the "
    "tick where it crosses the upper edge. North: line below, then the right edge."
)
_BESIDE_MM: Final = 50.0
_LEGEND: Final = (
    ("station", "station, age"),
    ("subject", "looked for"),
    ("place", "named place"),
    ("older", "older report"),
    ("square", "square reported"),
    ("bearing", "line of bearing"),
    ("doubtful", "bearing, doubtful"),
    ("wedge", "sigma of a bearing"),
    ("best", "best point of a fix"),
    ("half", "50 % and 95 % region"),
)
_OF_A_SEARCH: Final = ("sector", "sector, fullest first")
_OF_LISTENING: Final = ("listen", "listen here, 1 first")


Legend: TypeAlias = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class MarginWords:
    """What the margin of a page says.

    Parameters
    ----------
    title : str
        Name of the incident.
    sheet : str
        Which sheet of how many.
    scale : str
        "1 : 25 000".
    lines : tuple of str
        Grid and datum, times, what lies outside.
    example : str
        A reference on this page and what is there.
    square : str
        Zone and square letters, or how to find them.
    sources : tuple of str
        Of the map: name, level, credit, date.
    legend : tuple of (str, str)
        Of `legend_of`.
    """

    title: str
    sheet: str
    scale: str
    lines: tuple[str, ...]
    example: str
    square: str
    sources: tuple[str, ...]
    legend: Legend


def legend_of(scene: Scene) -> Legend:
    """Kinds of shapes with what they mean: those of every map, and of advice where there is any."""
    found = list(_LEGEND)
    if scene.search is not None:
        if not pieces_drawn(scene):
            found.pop()  # of regions: the sectors stand for them
        found.append(_OF_A_SEARCH)
    if scene.listening is not None:
        found.append(_OF_LISTENING)
    return tuple(found)


def draw_title(pen: Pen, rect: Rect, words: MarginWords) -> None:
    """Write the title block, above the legend."""
    top = pen.block(rect.left, rect.top, words.title, 3.6, rect.width, BOLD, most_lines=2) - 0.8
    pen.text(rect.left, top - 3.6, words.scale, 3.6, BOLD)
    pen.text(rect.right, top - 3.6, words.sheet, 2.8, BOLD, anchor="end")
    lines = [(line, PLAIN, BLACK) for line in words.lines]
    below = rect.bottom + _rows(words.legend) * _LEGEND_ROW_MM
    _paragraphs(pen, rect.left, top - 4.6, below, rect.width, lines)


def _paragraphs(
    pen: Pen,
    left: float,
    top: float,
    bottom: float,
    wide: float,
    lines: Sequence[tuple[str, str, Ink]],
) -> None:
    """Write paragraphs in the largest size at which all of them fit."""
    size = _BODY_MM
    while size > _SMALLEST_MM:
        count = sum(len(pen.wrapped(words, size, wide, font)) for words, font, _ in lines)
        if count * 1.22 * size + 0.3 * len(lines) <= top - bottom:
            break
        size -= 0.1
    for words, font, ink in lines:
        top = pen.block(left, top, words, size, wide, font, ink) - 0.3


def _rows(legend: Legend) -> int:
    return -(-len(legend) // 2)


def draw_legend(pen: Pen, rect: Rect, legend: Legend) -> None:
    """Say what the shapes and lines mean, in two columns at the foot of a panel."""
    half, rows = rect.width / 2.0, _rows(legend)
    for k, (kind, words) in enumerate(legend):
        column, row = divmod(k, rows)
        x, y = (
            rect.left + column * half + 3.0,
            rect.bottom + (rows - 1 - row) * _LEGEND_ROW_MM + 1.8,
        )
        _sample(pen, kind, x, y)
        pen.text(x + 4.2, y - 0.8, words, _SMALL_MM)


def _sample(pen: Pen, kind: str, x: float, y: float) -> None:
    if kind in {"station", "subject", "place"}:
        draw_mark(pen, kind, (x, y), 1.2, mark_ink(kind))
    elif kind == "older":
        pen.circle(x, y, 0.7, 0.2, BLUE, WHITE)
    elif kind == "square":
        left, right, low, high = x - 1.5, x + 1.5, y - 1.2, y + 1.2
        pen.shape([[(left, low), (right, low), (right, high), (left, high)]], 0.3, BLUE)
    elif kind in {"bearing", "doubtful"}:
        dash = (1.6, 0.9) if kind == "doubtful" else ()
        pen.line([(x - 2.6, y), (x + 2.6, y)], 0.5, VERMILION, dash)
    elif kind == "wedge":
        for side in (0.9, -0.9):
            pen.line([(x - 2.6, y + side), (x + 2.6, y + side)], 0.1, VERMILION, (0.4, 0.8))
    elif kind == "best":
        pen.circle(x, y, 1.0, 0.3, BLACK)
        pen.line([(x - 1.6, y), (x + 1.6, y)], 0.3, BLACK)
        pen.line([(x, y - 1.6), (x, y + 1.6)], 0.3, BLACK)
    elif kind == "sector":
        draw_sector_sample(pen, (x, y))
    elif kind == "listen":
        draw_house(pen, (x, y), 1.2)
    else:
        draw_region_sample(pen, (x, y))


def draw_norths(pen: Pen, rect: Rect, norths: SheetNorths) -> None:
    """Draw true, grid and magnetic north, and say what turns one bearing into another.

    The words stand beside the figure where the panel is wide, else under it.
    """
    angles = _spread(norths.convergence_deg, norths.declination_deg)
    other = {"GN": angles["MN"], "MN": angles["GN"]}
    wide = rect.width >= _BESIDE_MM
    foot = (rect.left + (12.5 if wide else rect.width / 2.0), rect.top - 23.0)
    for kind, angle in angles.items():
        inner = kind != "TN" and angle * other[kind] > 0.0 and abs(angle) < abs(other[kind])
        length = 18.0 if kind == "TN" else 9.5 if inner else 15.0
        x = foot[0] + length * math.sin(math.radians(angle))
        y = foot[1] + length * math.cos(math.radians(angle))
        pen.line([foot, (x, y)], 0.3, BLACK)
        if kind == "TN":
            pen.shape([_star(x, y + 0.6, 1.3)], fill=BLACK)
        elif kind == "MN":
            back = math.radians(angle + 180.0 - 22.0 * (1 if angle >= 0 else -1))
            barb = (x + 3.2 * math.sin(back), y + 3.2 * math.cos(back))
            pen.line([(x, y), barb], 0.3, BLACK)
        else:
            pen.line([(x - 1.0, y), (x + 1.0, y)], 0.3, BLACK)
        side = 0.0 if kind == "TN" or inner else 2.2 * math.copysign(1.0, angle - other[kind])
        pen.text(
            x + side, y + (2.4 if kind == "TN" else 0.8), kind, 2.3, BOLD,
            anchor="middle", halo_mm=0.5,
        )  # fmt: skip
    left, top = (rect.left + 25.0, rect.top) if wide else (rect.left, foot[1] - 0.6)
    for line in norths.lines:
        top = pen.block(left, top, line, _SMALL_MM, rect.right - left) - 0.3


def _spread(grid: float, magnetic: float) -> dict[str, float]:
    """Angles of the three norths to draw, from true north, which stands upright.

    Order and sides are right, the sizes at least readable.
    """

    def shown(angle: float) -> float:
        if abs(angle) < 0.05:
            return 0.0
        return math.copysign(min(max(abs(angle), _LEAST_SHOWN_DEG), _MOST_SHOWN_DEG), angle)

    angles = {"GN": shown(grid), "TN": 0.0, "MN": shown(magnetic)}
    # On the same side the two must not fall together, and keep their order.
    outer, inner = ("GN", "MN") if abs(grid) > abs(magnetic) else ("MN", "GN")
    if angles[outer] * angles[inner] > 0.0 and abs(grid - magnetic) > 0.05:
        least = min(abs(angles[inner]), _MOST_SHOWN_DEG - _LEAST_SHOWN_DEG) + _LEAST_SHOWN_DEG
        angles[inner] = math.copysign(least - _LEAST_SHOWN_DEG, angles[inner])
        angles[outer] = math.copysign(max(abs(angles[outer]), least), angles[outer])
    return angles


def _star(x: float, y: float, radius: float) -> list[tuple[float, float]]:
    return [
        (
            x + (radius if k % 2 == 0 else 0.4 * radius) * math.sin(math.pi * k / 5.0),
            y + (radius if k % 2 == 0 else 0.4 * radius) * math.cos(math.pi * k / 5.0),
        )
        for k in range(10)
    ]


def draw_reading(pen: Pen, rect: Rect, words: MarginWords) -> None:
    """Write how to read a reference, the cautions, and where the map comes from."""
    lines = [
        ("To read a reference", BOLD, BLACK),
        (_HOW_TO_READ, PLAIN, BLACK),
        (f"2  {words.square} {words.example}", PLAIN, BLACK),
        ("Cautions", BOLD, BLACK),
        (" ".join(CAUTIONS), PLAIN, BLACK),
        ("Map", BOLD, BLACK),
        *((line, PLAIN, GREY) for line in words.sources),
    ]
    _paragraphs(pen, rect.left, rect.top, rect.bottom, rect.width, lines)


def draw_neighbours(pen: Pen, frame: MapFrame, named: dict[str, str], spacing_m: float) -> None:
    """Write the names of adjoining sheets near the middle of each edge, between grid figures."""
    rect = frame.rect
    across = rect.left + rect.width / 2.0
    halfway = (math.floor((frame.south_m + frame.north_m) / 2.0 / spacing_m) + 0.5) * spacing_m
    up = rect.bottom + (halfway - frame.south_m) * frame.mm_per_m
    for side, name in named.items():
        x, y, angle = {
            "above": (across, rect.top + 4.5, 0.0),
            "below": (across, rect.bottom - 6.2, 0.0),
            "left": (rect.left - 3.6, up, 90.0),
            "right": (rect.right + 3.6, up, -90.0),
        }[side]
        arrow = "↓" if side == "below" else "↑"
        pen.text(x, y, f"{arrow} sheet {name}", 2.4, BOLD, GREY, anchor="middle", angle_deg=angle)
