"""Paper, and the piece of the plane that a page shows: from the ground to millimetres and back."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike

from plotter.errors import SheetError
from plotter.geodesy.arrays import FloatArray, as_float
from plotter.geodesy.position import Position
from plotter.sheet.plane import Zone, within_reach

__all__ = ["PAPERS", "Layout", "MapFrame", "Orientation", "Rect", "layout_of"]

Orientation = Literal["portrait", "landscape"]

# Short and long side in millimetres. ISO 216; ANSI/ASME Y14.1 for Letter (8.5 x 11 in).
PAPERS: Final = {"A4": (210.0, 297.0), "A3": (297.0, 420.0), "Letter": (215.9, 279.4)}

# Cheap printers leave 5 mm or so of every edge white.
_EDGE_MM: Final = 8.0
_LABEL_MM: Final = 6.5  # grid figures and neighbours outside the frame
_BARS_MM: Final = 13.0  # scale bars under the map
_COLUMN_MM: Final = 64.0  # panels beside the map, or under it
_STRIP_MM: Final = 60.0


@dataclass(frozen=True, slots=True)
class Rect:
    """A rectangle on the page, millimetres from its lower left corner."""

    left: float
    bottom: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Its right edge."""
        return self.left + self.width

    @property
    def top(self) -> float:
        """Its upper edge."""
        return self.bottom + self.height


@dataclass(frozen=True, slots=True)
class Layout:
    """Where things stand on a page.

    Parameters
    ----------
    paper : str
        Name of the paper.
    orientation : {"portrait", "landscape"}
        Which way round.
    width_mm, height_mm : float
        The page.
    map, bars : Rect
        The map's frame; the scale bars under it.
    panels : tuple of Rect
        Title, north diagram, reading instructions with cautions, romer.
    text : Rect
        The whole page within its edges.
    """

    paper: str
    orientation: Orientation
    width_mm: float
    height_mm: float
    map: Rect
    bars: Rect
    panels: tuple[Rect, Rect, Rect, Rect]
    text: Rect


def layout_of(paper: str, orientation: Orientation) -> Layout:
    """Return where things stand on a page of a paper.

    Raises
    ------
    SheetError
        If the paper is not known.
    """
    if paper not in PAPERS:
        raise SheetError(f"paper {paper!r} is not known: give one of {', '.join(PAPERS)}")
    short, long = PAPERS[paper]
    wide, high = (short, long) if orientation == "portrait" else (long, short)
    text = Rect(_EDGE_MM, _EDGE_MM, wide - 2 * _EDGE_MM, high - 2 * _EDGE_MM)
    beside = _COLUMN_MM if orientation == "landscape" else 0.0
    below = _BARS_MM + (_STRIP_MM if orientation == "portrait" else 0.0)
    frame = Rect(
        _EDGE_MM + _LABEL_MM,
        _EDGE_MM + below + _LABEL_MM,
        text.width - 2 * _LABEL_MM - beside,
        text.height - 2 * _LABEL_MM - below,
    )
    bars = Rect(frame.left, _EDGE_MM + below - _BARS_MM, frame.width, _BARS_MM)
    if orientation == "landscape":
        heights = (57.0, 30.0, text.height - 57.0 - 30.0 - 59.0, 59.0)
        left, top, panels = text.right - _COLUMN_MM + 3.0, text.top, []
        for height in heights:
            top -= height
            panels.append(Rect(left, top, _COLUMN_MM - 3.0, height - 2.0))
    else:
        free = text.width - 57.0
        widths = (free * 0.38, free * 0.28, free * 0.34, 57.0)
        left, panels = text.left, []
        for width in widths:
            panels.append(Rect(left, text.bottom, width - 3.0, _STRIP_MM - 3.0))
            left += width
    title, north, reading, romer = panels
    return Layout(paper, orientation, wide, high, frame, bars, (title, north, reading, romer), text)


@dataclass(frozen=True, slots=True)
class MapFrame:
    """A piece of the plane on a page, true to scale.

    Parameters
    ----------
    zone : Zone
        The plane.
    denominator : float
        The scale is 1 to this, on the grid.
    west_m, south_m : float
        Plane coordinates of the lower left corner.
    rect : Rect
        Where it stands on the page.
    """

    zone: Zone
    denominator: float
    west_m: float
    south_m: float
    rect: Rect

    @property
    def mm_per_m(self) -> float:
        """Millimetres of paper for a metre of grid."""
        return 1000.0 / self.denominator

    @property
    def east_m(self) -> float:
        """Easting of the right edge."""
        return self.west_m + self.rect.width / self.mm_per_m

    @property
    def north_m(self) -> float:
        """Northing of the upper edge, in the plane."""
        return self.south_m + self.rect.height / self.mm_per_m

    @property
    def middle(self) -> Position:
        """The place at the middle of the frame."""
        lat, lon = self.zone.inverse(
            [(self.west_m + self.east_m) / 2.0], [(self.south_m + self.north_m) / 2.0]
        )
        return Position(float(lat[0]), float(lon[0]))

    def mm_of_plane(
        self, easting_m: ArrayLike, northing_m: ArrayLike
    ) -> tuple[FloatArray, FloatArray]:
        """Millimetres on the page of plane coordinates."""
        return (
            self.rect.left + (as_float(easting_m) - self.west_m) * self.mm_per_m,
            self.rect.bottom + (as_float(northing_m) - self.south_m) * self.mm_per_m,
        )

    def mm_of(self, lat_deg: ArrayLike, lon_deg: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Millimetres on the page of places; those far off the page are drawn in towards it."""
        lat, lon = np.broadcast_arrays(as_float(lat_deg), as_float(lon_deg))
        return self.mm_of_plane(*self.zone.forward(*within_reach(lat, lon, self.middle)))

    def latlon_of_mm(self, x_mm: ArrayLike, y_mm: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Places under points of the page."""
        return self.zone.inverse(
            self.west_m + (as_float(x_mm) - self.rect.left) / self.mm_per_m,
            self.south_m + (as_float(y_mm) - self.rect.bottom) / self.mm_per_m,
        )

    def path(self, points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
        """Points on the page of latitudes and longitudes."""
        if not points:
            return []
        places = np.array(points, dtype=np.float64)
        x, y = self.mm_of(places[:, 0], places[:, 1])
        return list(zip(x.tolist(), y.tolist(), strict=True))

    def holds(self, x_mm: float, y_mm: float) -> bool:
        """Whether a point of the page lies in the frame."""
        inside = self.rect.left <= x_mm <= self.rect.right
        return inside and self.rect.bottom <= y_mm <= self.rect.top

    def edge(self, count: int = 33) -> tuple[FloatArray, FloatArray]:
        """Places along the edge of the frame, `count` on each side."""
        x = np.linspace(self.rect.left, self.rect.right, count)
        y = np.linspace(self.rect.bottom, self.rect.top, count)
        same = np.ones(count)
        return self.latlon_of_mm(
            np.concatenate([x, same * x[-1], x[::-1], same * x[0]]),
            np.concatenate([same * y[0], y, same * y[-1], y[::-1]]),
        )
