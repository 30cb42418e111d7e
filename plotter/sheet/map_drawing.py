"""Drawing what was reported and computed on a page's map: shape first, line style second."""

import math
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Final

from plotter.board.answer_values import Answer, PieceMark
from plotter.board.tracks import tracks_of
from plotter.board.values import BearingMark, Entry, Mark, Scene, Track
from plotter.sheet.advice_drawing import draw_places, draw_sectors, name_places, name_sectors
from plotter.sheet.evidence_drawing import draw_ground, draw_hearing, name_evidence
from plotter.sheet.frame import MapFrame, Rect
from plotter.sheet.labels import LabelRoom
from plotter.sheet.near import near
from plotter.sheet.numbering import gathered, in_ranges, numbers_of
from plotter.sheet.pen import BLACK, BLUE, BOLD, GREY, OCHRE, PLAIN, VERMILION, WHITE, Ink, Pen

__all__ = [
    "draw_mark",
    "draw_region_sample",
    "draw_reports",
    "draw_square_names",
    "mark_ink",
    "pieces_drawn",
    "square_name_boxes",
]

_LEAST_SQUARE_MM: Final = 3.0
_SHAPE_MM: Final = 1.5
_NAME_MM: Final = 2.7
_SMALL_NAME_MM: Final = 2.2
_HATCH_MM: Final = 2.5
_PLACE_INK: Final[Ink] = (0.247, 0.373, 0.310)  # 3F5F4F
_SQUARE_NAME_MM: Final = 5.0
_SHARE_SAID: Final = 0.05

Point = tuple[float, float]
# Grid reference of a place as the sheet writes it, in groups.
Reference = Callable[[float, float], str]


def draw_reports(
    pen: Pen,
    frame: MapFrame,
    scene: Scene,
    reference: Reference,
    *,
    kept: Sequence[tuple[float, float, float, float]] = (),
    names: bool = True,
) -> None:
    """Draw regions, bearings, tracks, positions and best points within the frame.

    Parameters
    ----------
    pen : Pen
        On the page.
    frame : MapFrame
        The page's ground.
    scene : Scene
        What there is to draw.
    reference : callable
        From latitude and longitude to a grid reference.
    kept : sequence of boxes
        Left, bottom, right, top of what no name may cover.
    names : bool
        False on an index, where the pages' names matter.
    """
    room = LabelRoom(frame.rect, list(kept))
    with pen.within(frame.rect):
        draw_ground(pen, frame, scene)
        for piece in pieces_drawn(scene):
            _region(pen, frame, piece)
        if scene.search is not None:
            draw_sectors(pen, frame, scene.search)
        for bearing in scene.bearings:
            _bearing(pen, frame, bearing)
        draw_hearing(pen, frame, scene)
        for track in tracks_of(scene):
            _track(pen, frame, track)
        shown = [(mark, frame.path(mark.square)) for mark in _in_order(scene.marks)]
        for mark, square in shown:
            _mark(pen, frame, mark, square, room)
        for answer in scene.answers:
            _best(pen, frame, answer, room)
        if scene.listening is not None:
            draw_places(pen, frame, scene.listening, room)
        if names:
            if scene.search is not None:
                name_sectors(pen, frame, scene.search, room)
            if scene.listening is not None:
                name_places(pen, frame, scene.listening, room)
            _names(pen, frame, scene, shown, room, reference)
            name_evidence(pen, frame, scene, room)


def draw_square_names(pen: Pen, frame: MapFrame, named: Sequence[tuple[float, float, str]]) -> None:
    """Write the names of squares of 100 km large on the ground they name."""
    with pen.within(frame.rect):
        for x, y, words in named:
            pen.text(
                x, y - 0.35 * _SQUARE_NAME_MM, words, _SQUARE_NAME_MM, BOLD, GREY,
                anchor="middle", halo_mm=0.8,
            )  # fmt: skip


def square_name_boxes(
    pen: Pen, named: Sequence[tuple[float, float, str]]
) -> list[tuple[float, float, float, float]]:
    """Return the boxes that names of squares take, for other names to keep clear of."""
    halves = [(x, y, pen.width(words, _SQUARE_NAME_MM, BOLD) / 2.0) for x, y, words in named]
    return [(x - half, y - 2.4, x + half, y + 2.4) for x, y, half in halves]


def mark_ink(role: str) -> Ink:
    """Return the ink of a reported position by what is there."""
    return _PLACE_INK if role == "place" else BLUE


def _in_order(marks: Sequence[Mark]) -> list[Mark]:
    """Old reports first, so that the latest are drawn over them."""
    return sorted(marks, key=lambda mark: mark.latest)


def _centre(points: Sequence[Point]) -> Point:
    return (
        sum(x for x, _ in points) / len(points),
        sum(y for _, y in points) / len(points),
    )


def pieces_drawn(scene: Scene) -> list[PieceMark]:
    """Pieces of all regions but those that sectors stand for, and those of a direction.

    The region of a direction covers half the map; its line of bearing says it all.
    """
    cut_up = None if scene.search is None else scene.search.subject
    return [
        piece
        for answer in scene.answers
        if not answer.sector and answer.subject != cut_up
        for piece in answer.pieces
    ]


def _region(pen: Pen, frame: MapFrame, piece: PieceMark) -> None:
    for rings in near(frame, [frame.path(ring) for ring in piece.rings]):
        _region_part(pen, frame.rect, rings, inner=piece.probability <= 0.5)


def draw_region_sample(pen: Pen, at: Point) -> None:
    """Draw a small pair of regions for the legend."""
    x, y = at
    for inner, wide in ((False, 5.2), (True, 2.4)):
        ring = [
            (x - 2.6, y - 1.3), (x - 2.6 + wide, y - 1.3),
            (x - 2.6 + wide, y + 1.3), (x - 2.6, y + 1.3),
        ]  # fmt: skip
        _region_part(pen, Rect(x - 3.0, y - 2.0, 6.0, 4.0), [ring], inner=inner)


def _region_part(pen: Pen, within: Rect, rings: Sequence[Sequence[Point]], *, inner: bool) -> None:
    if inner:
        pen.shape(rings, 0.3, BLACK, OCHRE, fill_alpha=0.35)
    else:
        pen.shape(rings, 0.9, WHITE)
        pen.shape(rings, 0.4, BLACK)
    with pen.within_rings(rings):
        step = _HATCH_MM if inner else 2 * _HATCH_MM
        for k in range(math.ceil((within.width + within.height) / step) + 1):
            x = within.left - within.height + k * step
            ends = (x, x + within.height) if inner else (x + within.height, x)  # crosswise
            pen.line([(ends[0], within.bottom), (ends[1], within.top)], 0.12, BLACK)


def _bearing(pen: Pen, frame: MapFrame, mark: BearingMark) -> None:
    line = frame.path(mark.line)
    for rings in near(frame, [frame.path(mark.wedge)]):
        pen.shape(rings, 0.1, VERMILION, VERMILION, (0.4, 0.8), fill_alpha=0.045)
    for (part,) in near(frame, [line], closed=False):
        pen.line(part, 1.0, WHITE, alpha=0.8)
        pen.line(part, 0.5, VERMILION, (2.6, 1.4) if mark.doubtful else ())
    k = max(len(line) // 3, 1)
    (x0, y0), (x1, y1) = line[k - 1], line[k]
    angle = math.atan2(y1 - y0, x1 - x0)
    tips = [
        (x1 - 3.0 * math.cos(angle + turn), y1 - 3.0 * math.sin(angle + turn))
        for turn in (0.35, -0.35)
    ]
    pen.shape([[tips[0], (x1, y1), tips[1]]], fill=VERMILION)


def _track(pen: Pen, frame: MapFrame, track: Track) -> None:
    for (part,) in near(frame, [frame.path(track.points)], closed=False):
        pen.line(part, 0.3, BLUE, (0.3, 1.0))


def _mark(pen: Pen, frame: MapFrame, mark: Mark, square: Sequence[Point], room: LabelRoom) -> None:
    ink = mark_ink(mark.role)
    for other in mark.others:
        ring = frame.path(other)
        pen.shape([ring], 0.3, ink, dash_mm=(1.0, 0.8))
        x, y = _centre(ring)
        pen.text(x, y - 0.9, f"? {mark.name}", 2.6, BOLD, ink, anchor="middle", halo_mm=0.5)
    x, y = _centre(square)
    size = max(
        max(a for a, _ in square) - min(a for a, _ in square),
        max(b for _, b in square) - min(b for _, b in square),
    )
    if size >= _LEAST_SQUARE_MM:
        pen.shape([square], 0.3, ink, dash_mm=(1.0, 0.8) if mark.doubtful else ())
    if not frame.holds(x, y):
        return
    if mark.latest:
        room.take(x, y, 1.4 * _SHAPE_MM)
        draw_mark(pen, mark.role, (x, y), _SHAPE_MM, ink)
    else:
        room.take(x, y, 0.8)
        pen.circle(x, y, 0.7, 0.2, ink, WHITE)


def draw_mark(pen: Pen, role: str, at: Point, half: float, ink: Ink) -> None:
    """Draw a pentagon for a station, a ring with a bar for a subject, a square for a place.

    A white dot marks the point itself.
    """
    x, y = at
    if role == "place":
        h = 0.62 * half
        pen.shape([[(x - h, y - h), (x + h, y - h), (x + h, y + h), (x - h, y + h)]], 0.5, WHITE)
        pen.shape([[(x - h, y - h), (x + h, y - h), (x + h, y + h), (x - h, y + h)]], fill=ink)
    elif role == "station":
        roof = [
            (x - half, y - half), (x + half, y - half), (x + half, y + 0.3 * half),
            (x, y + 1.3 * half), (x - half, y + 0.3 * half),
        ]  # fmt: skip
        pen.shape([roof], 0.5, WHITE)
        pen.shape([roof], fill=ink)
    else:
        pen.circle(x, y, half, 1.0, WHITE)
        pen.circle(x, y, half, 0.45, ink, WHITE)
        pen.line([(x - half, y), (x + half, y)], 0.45, ink)
        return
    pen.circle(x, y, 0.28, 0.0, fill=WHITE)


def _best(pen: Pen, frame: MapFrame, answer: Answer, room: LabelRoom) -> None:
    if answer.sector:
        return  # a direction has no point
    ((x, y),) = frame.path([answer.best])
    for width, ink in ((1.1, WHITE), (0.35, BLACK)):
        pen.circle(x, y, 2.2, width, ink)
        pen.line([(x - 3.6, y), (x + 3.6, y)], width, ink)
        pen.line([(x, y - 3.6), (x, y + 3.6)], width, ink)
    room.take(x, y, 3.0)


def _names(
    pen: Pen,
    frame: MapFrame,
    scene: Scene,
    shown: Sequence[tuple[Mark, Sequence[Point]]],
    room: LabelRoom,
    reference: Reference,
) -> None:
    for answer in scene.answers:
        best = frame.path([answer.best])[0]
        if not answer.sector and frame.holds(*best):
            words = [f"best point: {answer.subject}", reference(*answer.best)]
            _label(pen, room, best, 3.0, words, BLACK, _NAME_MM)
            _shares(pen, frame, answer, room)
    numbers = numbers_of(scene)
    _numbers(pen, room, [
        (_centre(square), numbers[mark.entry])
        for mark, square in shown
        if mark.entry in numbers and mark.latest and frame.holds(*_centre(square))
    ])  # fmt: skip
    for mark, square in reversed(shown) if not numbers else ():
        at = _centre(square)
        if frame.holds(*at) and mark.latest:
            _label(pen, room, at, 2.2, [_name_of(mark, scene.entries[mark.entry])],
                   mark_ink(mark.role), _NAME_MM)  # fmt: skip
    for bearing in scene.bearings:
        parts = near(frame, [frame.path(bearing.line)], closed=False)
        line = _dense(parts[0][0]) if parts else []
        wide = pen.width(bearing.label, _SMALL_NAME_MM)
        found = room.along(line, wide, _SMALL_NAME_MM)
        if found is not None:
            x, y, angle = found
            pen.text(x, y, bearing.label, _SMALL_NAME_MM, PLAIN, BLACK,
                     anchor="middle", angle_deg=angle, halo_mm=0.5)  # fmt: skip
    for mark, square in shown:
        at = _centre(square)
        if frame.holds(*at) and not mark.latest:
            _old(pen, room, at, mark, scene.entries[mark.entry])


def _numbers(pen: Pen, room: LabelRoom, places: Sequence[tuple[Point, int]]) -> None:
    """Write the numbers of many reports; what finds no room is in the list with its place."""
    for at, group in gathered(places):
        text = in_ranges(group)
        wide = pen.width(text, _SMALL_NAME_MM, BOLD)
        (left, bottom, _, top), free = room.beside(*at, 1.8, wide, 1.05 * _SMALL_NAME_MM)
        if not free:
            room.taken.pop()
            continue
        x, y = min(max(at[0], left), left + wide), min(max(at[1], bottom), top)
        if math.dist((x, y), at) > 3.2:
            pen.line([at, (x, y)], 0.12, BLACK)
        pen.text(left, bottom + 0.4, text, _SMALL_NAME_MM, BOLD, BLACK, halo_mm=0.45)


def _name_of(mark: Mark, entry: Entry) -> str:
    age = f" {entry.age}" if entry.age and mark.role != "place" else ""
    return f"{mark.name}{' ?' if mark.doubtful else ''}{age}"


def _shares(pen: Pen, frame: MapFrame, answer: Answer, room: LabelRoom) -> None:
    """Write the share of each piece, where the larger region has several."""
    largest = max((piece.probability for piece in answer.pieces), default=0.0)
    pieces = [piece for piece in answer.pieces if piece.probability == largest]
    if len(pieces) < 2:
        return
    for piece in pieces:
        at = frame.path([piece.best])[0]
        if piece.share >= _SHARE_SAID and frame.holds(*at):
            _label(pen, room, at, 3.0, [f"{piece.share:.0%}"], BLACK, _NAME_MM)


def _label(
    pen: Pen,
    room: LabelRoom,
    at: Point,
    gap: float,
    lines: Sequence[str],
    ink: Ink,
    size: float,
) -> None:
    wide = max(pen.width(words, size, BOLD) for words in lines)
    (left, bottom, _, top), _ = room.beside(*at, gap, wide, 1.15 * size * len(lines))
    near_x = min(max(at[0], left), left + wide)
    near_y = min(max(at[1], bottom), top)
    if math.hypot(near_x - at[0], near_y - at[1]) > 1.6 * gap:
        pen.line([at, (near_x, near_y)], 0.15, ink)
    for k, words in enumerate(lines):
        base = top - (k + 1) * 1.15 * size + 0.3 * size
        pen.text(left, base, words, size, BOLD, ink, halo_mm=0.55)


def _old(pen: Pen, room: LabelRoom, at: Point, mark: Mark, entry: Entry) -> None:
    """Write the age of an old report if there is room; the list of reports has it in any case."""
    words = f"{mark.name} {entry.age}".strip()
    wide = pen.width(words, 1.9)
    (left, bottom, _, _), free = room.beside(*at, 1.2, wide, 2.1)
    if free:
        pen.text(left, bottom + 0.4, words, 1.9, PLAIN, GREY, halo_mm=0.4)
    else:
        room.taken.pop()


def _dense(line: Sequence[Point]) -> list[Point]:
    """Points along a line no farther than 4 mm apart."""
    dense: list[Point] = []
    for (x0, y0), (x1, y1) in pairwise(line):
        count = max(1, math.ceil(math.hypot(x1 - x0, y1 - y0) / 4.0))
        dense += [(x0 + (x1 - x0) * k / count, y0 + (y1 - y0) * k / count) for k in range(count)]
    return [*dense, line[-1]]
