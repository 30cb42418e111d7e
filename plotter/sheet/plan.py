"""Which ground goes on which page: the scale, the way round, and how many pages."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from plotter.board.values import Scene
from plotter.errors import SheetError
from plotter.geodesy.arrays import FloatArray
from plotter.geodesy.geodesic import direct_arrays
from plotter.geodesy.position import Area, Position
from plotter.sheet.frame import Layout, MapFrame, Orientation, layout_of
from plotter.sheet.plane import Zone, zone_at
from plotter.tiles.grid import Box

__all__ = ["USUAL_SCALES", "Ground", "SheetPage", "SheetPlan", "ground_of", "plan_pages"]

USUAL_SCALES: Final = (
    5_000, 10_000, 20_000, 25_000, 50_000, 100_000, 200_000, 250_000,
)  # fmt: skip
_COARSER: Final = (500_000, 1_000_000, 2_000_000, 5_000_000, 10_000_000)
_SCALE_RANGE: Final = (500.0, 1_000_000.0)
_AT_SCALE: Final = 25_000
# White ground kept around what must be on the sheet, and ground that neighbours share.
_ROOM_MM: Final = 8.0
_OVERLAP_MM: Final = 10.0
_MOST_PAGES: Final = 64


@dataclass(frozen=True, slots=True)
class Ground:
    """What must be on the sheet, in the plane.

    Parameters
    ----------
    zone : Zone
        The plane: the grid of the middle.
    west_m, south_m, east_m, north_m : float
        Plane coordinates; a point where only the middle is given.
    """

    zone: Zone
    west_m: float
    south_m: float
    east_m: float
    north_m: float


@dataclass(frozen=True, slots=True)
class SheetPage:
    """One map page.

    Parameters
    ----------
    name : str
        "A1" for the north-western page of several; empty for a single page.
    frame : MapFrame
        Its ground.
    neighbours : dict of str to str
        Names of the pages "above", "below", "left" and "right" of it, where there are any.
    """

    name: str
    frame: MapFrame
    neighbours: dict[str, str]


@dataclass(frozen=True, slots=True)
class SheetPlan:
    """All map pages.

    Parameters
    ----------
    layout : Layout
        Of every page.
    denominator : float
        The scale is 1 to this.
    pages : tuple of SheetPage
        Row by row from the north.
    index : MapFrame or None
        The ground of the index, where there are several pages.
    """

    layout: Layout
    denominator: float
    pages: tuple[SheetPage, ...]
    index: MapFrame | None


def ground_of(scene: Scene, at: Position | None = None, area: Area | None = None) -> Ground:
    """Return what must be on the sheet: the sectors where there is ground to search, else all.

    Parameters
    ----------
    scene : Scene
        Everything there is to draw.
    at : Position or None
        The middle, if it was chosen.
    area : Area or None
        The area of operations, taken where nothing else has a place.

    Raises
    ------
    SheetError
        If nothing has a place.
    """
    if at is not None:
        zone = zone_at(at)
        easting, northing = (float(v[0]) for v in zone.forward([at.lat_deg], [at.lon_deg]))
        return Ground(zone, easting, northing, easting, northing)
    if scene.search is not None:
        corners = [p for mark in scene.search.sectors for g in mark.polygons for p in g.outer]
        zone = zone_at(scene.search.sectors[0].middle)
        east, north = zone.forward([p.lat_deg for p in corners], [p.lon_deg for p in corners])
        return _around(zone, east, north)
    drawn = (scene.marks, scene.bearings, scene.answers, scene.ranges, scene.watches, scene.ground)
    if any(drawn):
        lat, lon = _edge_of(scene.view)
        box = scene.view
        middle = Position(
            (box.south_deg + box.north_deg) / 2.0,
            math.remainder((box.west_deg + box.east_deg) / 2.0, 360.0),
        )
    elif area is not None:
        lat, lon, _ = direct_arrays(
            area.centre.lat_deg, area.centre.lon_deg, np.arange(0.0, 360.0, 10.0), area.radius_m
        )
        middle = area.centre
    else:
        raise SheetError(
            "nothing in the file has a place: give the middle of the sheet, as in "
            "--at '38.42S 22.35W' --scale 25000"
        )
    zone = zone_at(middle)
    return _around(zone, *zone.forward(lat, lon))


def _around(zone: Zone, east: FloatArray, north: FloatArray) -> Ground:
    return Ground(
        zone, float(east.min()), float(north.min()), float(east.max()), float(north.max())
    )


def _edge_of(box: Box) -> tuple[FloatArray, FloatArray]:
    lats = np.linspace(box.south_deg, box.north_deg, 33)
    lons = np.linspace(box.west_deg, box.east_deg, 33)
    lat, lon = (axis.ravel() for axis in np.meshgrid(lats, lons))
    return lat, lon


def plan_pages(
    ground: Ground,
    *,
    paper: str = "A4",
    denominator: float | None = None,
    orientation: Orientation | None = None,
) -> SheetPlan:
    """Choose the scale and the way round, and lay the pages out.

    Parameters
    ----------
    ground : Ground
        From `ground_of`.
    paper : str
        "A4", "A3" or "Letter".
    denominator : float or None
        Of the scale, 500 to 1 000 000; the largest usual one at which the ground fits one page
        unless given (1:25 000 about a chosen middle; 1:250 000 on several pages where none fits).
    orientation : {"portrait", "landscape"} or None
        Whichever takes fewer pages, or leaves the larger scale, unless given.

    Returns
    -------
    SheetPlan
        The pages share 10 mm with their neighbours and lie in one plane.

    Raises
    ------
    SheetError
        If the scale is out of range, or it would take more than 64 pages.
    """
    if denominator is not None and not _SCALE_RANGE[0] <= denominator <= _SCALE_RANGE[1]:
        raise SheetError(
            f"scale 1:{denominator:.0f} is out of range: give 500 to 1000000, as in --scale 25000"
        )
    ways: Sequence[Orientation] = [orientation] if orientation else ["landscape", "portrait"]
    layouts = [layout_of(paper, way) for way in ways]
    if denominator is None:
        denominator = _fitting(ground, layouts)
    counts = [_count(ground, layout, denominator) for layout in layouts]
    best = min(
        range(len(layouts)),
        key=lambda k: (
            counts[k][0] * counts[k][1],
            -_room_mm(ground, layouts[k], denominator) if counts[k] == (1, 1) else 0.0,
        ),
    )
    columns, rows = counts[best]
    if columns * rows > _MOST_PAGES:
        raise SheetError(
            f"1:{denominator:.0f} on {paper} would take {columns * rows} pages, at most "
            f"{_MOST_PAGES} are made: give a larger number after --scale, larger paper, or the "
            "middle with --at"
        )
    pages = _pages(ground, layouts[best], denominator, columns, rows)
    index = _index(pages, layouts[best]) if len(pages) > 1 else None
    return SheetPlan(layouts[best], denominator, pages, index)


def _fitting(ground: Ground, layouts: Sequence[Layout]) -> float:
    if (ground.west_m, ground.south_m) == (ground.east_m, ground.north_m):
        return float(_AT_SCALE)
    for scale in USUAL_SCALES:
        if any(_count(ground, layout, scale) == (1, 1) for layout in layouts):
            return float(scale)
    return float(USUAL_SCALES[-1])


def _needed_mm(ground: Ground, denominator: float) -> tuple[float, float]:
    per_m = 1000.0 / denominator
    return (
        (ground.east_m - ground.west_m) * per_m + 2 * _ROOM_MM,
        (ground.north_m - ground.south_m) * per_m + 2 * _ROOM_MM,
    )


def _count(ground: Ground, layout: Layout, denominator: float) -> tuple[int, int]:
    wide, high = _needed_mm(ground, denominator)
    return _pages_along(wide, layout.map.width), _pages_along(high, layout.map.height)


def _pages_along(needed_mm: float, page_mm: float) -> int:
    return max(1, math.ceil((needed_mm - _OVERLAP_MM) / (page_mm - _OVERLAP_MM) - 1e-9))


def _room_mm(ground: Ground, layout: Layout, denominator: float) -> float:
    wide, high = _needed_mm(ground, denominator)
    return min(layout.map.width - wide, layout.map.height - high)


def _pages(
    ground: Ground, layout: Layout, denominator: float, columns: int, rows: int
) -> tuple[SheetPage, ...]:
    per_mm = denominator / 1000.0
    step_x = (layout.map.width - _OVERLAP_MM) * per_mm
    step_y = (layout.map.height - _OVERLAP_MM) * per_mm
    wide = step_x * columns + _OVERLAP_MM * per_mm
    high = step_y * rows + _OVERLAP_MM * per_mm
    # The corner on a whole millimetre's worth of ground, so that edges have round figures.
    west = round(((ground.west_m + ground.east_m - wide) / 2.0) / per_mm) * per_mm
    south = round(((ground.south_m + ground.north_m - high) / 2.0) / per_mm) * per_mm
    pages = []
    for row in range(rows):
        for column in range(columns):
            frame = MapFrame(
                ground.zone,
                denominator,
                west + column * step_x,
                south + (rows - 1 - row) * step_y,
                layout.map,
            )
            beside = {
                "above": (row - 1, column),
                "below": (row + 1, column),
                "left": (row, column - 1),
                "right": (row, column + 1),
            }
            neighbours = {
                side: _name(r, c)
                for side, (r, c) in beside.items()
                if 0 <= r < rows and 0 <= c < columns
            }
            name = _name(row, column) if rows * columns > 1 else ""
            pages.append(SheetPage(name, frame, neighbours))
    return tuple(pages)


def _name(row: int, column: int) -> str:
    """Rows by letter from the north, columns by number from the west; at most 64 rows."""
    letters = (
        chr(65 + row) if row < 26 else "A" + chr(65 + row - 26) if row < 52 else f"R{row + 1}."
    )
    return f"{letters}{column + 1}"


def _index(pages: Sequence[SheetPage], layout: Layout) -> MapFrame:
    west = min(page.frame.west_m for page in pages)
    south = min(page.frame.south_m for page in pages)
    east = max(page.frame.east_m for page in pages)
    north = max(page.frame.north_m for page in pages)
    zone = pages[0].frame.zone
    for scale in (*USUAL_SCALES, *_COARSER):
        wide, high = layout.map.width * scale / 1000.0, layout.map.height * scale / 1000.0
        if wide >= 1.03 * (east - west) and high >= 1.03 * (north - south):
            corner = ((west + east - wide) / 2.0, (south + north - high) / 2.0)
            return MapFrame(zone, float(scale), *corner, layout.map)
    raise SheetError("the pages cover too much ground for an index: give a larger scale number")
