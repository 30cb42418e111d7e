"""Drawing advice: sectors in the order to search them, and places to listen from next."""

from collections.abc import Sequence
from typing import Final

from plotter.board.listening_values import Listening
from plotter.board.search_values import SearchView
from plotter.fix.wording import percent_words
from plotter.geodesy.position import Position
from plotter.sheet.frame import MapFrame
from plotter.sheet.labels import LabelRoom
from plotter.sheet.near import near
from plotter.sheet.pen import BLACK, BOLD, OCHRE, PLAIN, WHITE, Pen

__all__ = [
    "draw_house",
    "draw_places",
    "draw_sector_sample",
    "draw_sectors",
    "name_places",
    "name_sectors",
]

_NAME_MM: Final = 4.0
_SMALL_MM: Final = 2.4
_HOUSE_MM: Final = 2.6
_FAINTEST: Final = 0.06
_FULLEST: Final = 0.44

Point = tuple[float, float]


def draw_sectors(pen: Pen, frame: MapFrame, search: SearchView) -> None:
    """Outline the sectors, fuller in colour where to search first."""
    for sector in search.sectors:
        for polygon in sector.polygons:
            rings = [_path(frame, ring) for ring in (polygon.outer, *polygon.holes)]
            for part in near(frame, rings):
                _sector(pen, part, sector.weight)


def draw_sector_sample(pen: Pen, at: Point) -> None:
    """Draw a small pair of sectors for the legend."""
    x, y = at
    for left, weight in ((x - 2.6, 1.0), (x, 0.2)):
        right, low, high = left + 2.6, y - 1.3, y + 1.3
        _sector(pen, [[(left, low), (right, low), (right, high), (left, high)]], weight)


def _sector(pen: Pen, rings: Sequence[Sequence[Point]], weight: float) -> None:
    pen.shape(rings, fill=OCHRE, fill_alpha=_FAINTEST + _FULLEST * weight)
    pen.shape(rings, 1.1, WHITE)
    pen.shape(rings, 0.5, BLACK)


def name_sectors(pen: Pen, frame: MapFrame, search: SearchView, room: LabelRoom) -> None:
    """Write name and chance of each sector in its middle."""
    for sector in search.sectors:
        ((x, y),) = _path(frame, (sector.middle,))
        if not frame.holds(x, y):
            continue
        chance = percent_words(sector.probability)
        wide = max(pen.width(sector.name, _NAME_MM, BOLD), pen.width(chance, _SMALL_MM))
        room.take(x, y, max(wide / 2.0, 0.8 * _NAME_MM))
        pen.text(x, y, sector.name, _NAME_MM, BOLD, BLACK, anchor="middle", halo_mm=0.7)
        pen.text(x, y - 1.1 * _SMALL_MM, chance, _SMALL_MM, PLAIN, BLACK,
                 anchor="middle", halo_mm=0.5)  # fmt: skip


def draw_places(pen: Pen, frame: MapFrame, listening: Listening, room: LabelRoom) -> None:
    """Draw a hollow house with its rank at each place; the best last, so that none hides it."""
    for place in reversed(listening.places):
        ((x, y),) = _path(frame, (place.position,))
        if not frame.holds(x, y):
            continue
        draw_house(pen, (x, y), _HOUSE_MM)
        pen.text(x, y - 0.45 * _HOUSE_MM, str(place.rank), 1.4 * _HOUSE_MM, BOLD, anchor="middle")
        room.take(x, y, 1.2 * _HOUSE_MM)


def draw_house(pen: Pen, at: Point, half_mm: float) -> None:
    """Draw the hollow house of a place that is proposed."""
    (x, y), half = at, half_mm
    house = [
        (x - half, y - half), (x + half, y - half), (x + half, y + 0.4 * half),
        (x, y + 1.4 * half), (x - half, y + 0.4 * half),
    ]  # fmt: skip
    pen.shape([house], 0.45 * half, WHITE)
    pen.shape([house], 0.2 * half, BLACK, WHITE)


def name_places(pen: Pen, frame: MapFrame, listening: Listening, room: LabelRoom) -> None:
    """Write the name of each place that has one, and of the best in any case."""
    for place in listening.places:
        ((x, y),) = _path(frame, (place.position,))
        words = f"listen: {place.name}" if place.name else "listen here first"
        if frame.holds(x, y) and (place.name or place.rank == 1):
            wide = pen.width(words, _SMALL_MM, BOLD)
            (left, bottom, _, _), _ = room.beside(x, y, _HOUSE_MM + 1.0, wide, _SMALL_MM)
            pen.text(left, bottom + 0.4, words, _SMALL_MM, BOLD, BLACK, halo_mm=0.5)


def _path(frame: MapFrame, places: tuple[Position, ...]) -> list[tuple[float, float]]:
    return frame.path([(place.lat_deg, place.lon_deg) for place in places])
