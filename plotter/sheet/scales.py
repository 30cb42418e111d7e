"""Scale bars, the bar that proves the printer, and the romer to cut out."""

from typing import Final

from plotter.sheet.frame import MapFrame, Rect
from plotter.sheet.pen import BLACK, BOLD, GREY, WHITE, Pen

__all__ = ["draw_bars", "draw_romer"]

_SMALL_MM: Final = 2.1
_BAR_MM: Final = 1.4
_CHECK_MM: Final = 100.0
_LEAST_TICK_MM: Final = 0.7
_HELD_MM: Final = 30.0
_GAP_MM: Final = 0.8  # from the end of the scale to the line to cut along


def draw_bars(pen: Pen, rect: Rect, frame: MapFrame) -> None:
    """Draw the scale bar, and a bar of 100 mm to check the printer with.

    Both stand at the left of `rect`, the check bar to the right of the scale bar where there is
    room for both, which every paper has.
    """
    y = rect.bottom + 3.4
    right = rect.right
    _check_bar(pen, right - _CHECK_MM, y)
    room = rect.width - _CHECK_MM - 14.0
    unit_m, unit = _bar_unit_m(frame.denominator, room)
    count = max(1, min(5, int(room / (unit_m * frame.mm_per_m)) - 1))
    step = unit_m * frame.mm_per_m
    zero = rect.left + step + 2.0
    for k in range(count):
        _box(pen, zero + k * step, y, step, filled=k % 2 == 0)
    tenths = 10 if step >= 14.0 else 5 if step >= 7.0 else 2
    for k in range(tenths):
        _box(pen, zero - step + k * step / tenths, y, step / tenths, filled=k % 2 == 1)
    divisor = 1000.0 if unit == "km" else 1.0
    for k in range(-1, count + 1):
        figure = f"{abs(k) * unit_m / divisor:g}" + (f" {unit}" if k == count else "")
        pen.text(zero + k * step, y + 2.0, figure, 2.2, anchor="middle")
    words = f"1 mm on paper is {frame.denominator / 1000.0:g} m on the grid"
    pen.text(rect.left + 2.0, y - 2.6, words, _SMALL_MM)


def _check_bar(pen: Pen, left: float, y: float) -> None:
    for k in range(10):
        _box(pen, left + 10.0 * k, y, 10.0, filled=k % 2 == 0)
    for k in (0, 5, 10):
        pen.text(left + 10.0 * k, y + 2.0, f"{10 * k}" + (" mm" if k == 10 else ""), 2.2,
                 anchor="end" if k == 10 else "middle")  # fmt: skip
    pen.text(
        left, y - 2.6,
        "Print at 100 %, no fitting to the page. This bar must measure 100 mm.", _SMALL_MM,
    )  # fmt: skip


def _box(pen: Pen, left: float, y: float, wide: float, *, filled: bool) -> None:
    ring = [(left, y), (left + wide, y), (left + wide, y + _BAR_MM), (left, y + _BAR_MM)]
    pen.shape([ring], 0.12, BLACK, BLACK if filled else WHITE)


def _bar_unit_m(denominator: float, room_mm: float) -> tuple[float, str]:
    """Return the largest round length of which the room holds at least four."""
    best = 1.0
    for power in range(6):
        for first in (1.0, 2.0, 5.0):
            length = first * 10.0**power
            if 4.0 * length * 1000.0 / denominator <= room_mm:
                best = length
    return best, "km" if best >= 500.0 else "m"


def draw_romer(pen: Pen, rect: Rect, frame: MapFrame, spacing_m: float) -> None:
    """Draw a grid reader for the scale: its corner is zero, figures run left and down.

    Put on a point by its corner, it shows on its upper edge how far the point lies east of the
    grid line that crosses there, and on its right edge how far north.
    """
    side = spacing_m * frame.mm_per_m
    scale = f"1 : {frame.denominator:,.0f}".replace(",", " ")
    corner_x = rect.left + (rect.width + max(side, _HELD_MM)) / 2.0
    corner_y = rect.top - 4.6
    inner = 0.0
    ticks = next((count for count in (100, 50, 20, 10, 5, 2) if side / count >= _LEAST_TICK_MM), 1)
    for k in range(ticks + 1):
        at = k * side / ticks
        tenth = (k * 10) % ticks == 0
        fifth = (k * 2) % ticks == 0
        length = 3.0 if fifth else 2.2 if tenth else 1.1
        width = 0.18 if tenth else 0.1
        inner = max(inner, length)
        pen.line([(corner_x - at, corner_y), (corner_x - at, corner_y - length)], width)
        pen.line([(corner_x, corner_y - at), (corner_x - length, corner_y - at)], width)
    said = 1 if side >= 30.0 else 2 if side >= 15.0 else 5
    for k in range(said, 10, said):
        at = k * side / 10.0
        pen.text(corner_x - at, corner_y - inner - 1.9, str(k), 2.0, anchor="middle")
        if at > 6.0:  # nearer the corner it would stand on the upper edge's figures
            pen.text(corner_x - inner - 0.4, corner_y - at - 0.7, str(k), 2.0, anchor="end")
    pen.line([(corner_x - side, corner_y), (corner_x, corner_y), (corner_x, corner_y - side)], 0.18)
    held = max(side, _HELD_MM)  # a reader of a few millimetres could not be held
    edge = [
        (corner_x - side - _GAP_MM, corner_y),
        (corner_x - held - _GAP_MM, corner_y),
        (corner_x - held - _GAP_MM, corner_y - held - _GAP_MM),
        (corner_x, corner_y - held - _GAP_MM),
        (corner_x, corner_y - side - _GAP_MM),
    ]
    pen.line(edge, 0.12, GREY, (1.2, 1.0))
    title = f"Romer {scale}, cut out; corner on the point"
    pen.text(rect.left + rect.width / 2.0, corner_y + 1.0, title, 2.1, BOLD, anchor="middle")
    left = corner_x - held + 1.5
    top = corner_y - (9.0 if side >= 26.0 else side + 2.0)
    for words in (
        f"Square {_length(spacing_m)}",
        f"small tick {_length(spacing_m / ticks)}",
        f"only for {scale}",
    ):
        top = pen.block(left, top, words, 2.1, held - 3.0)


def _length(metres: float) -> str:
    return f"{metres / 1000.0:g} km" if metres >= 1000.0 else f"{metres:g} m"
