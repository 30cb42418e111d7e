"""The grid on a page: each zone's lines within its own ground, their figures, the squares' names.

A line is drawn where its own zone is the one that references are given in, so that a reference
read with it is valid. Where two zones meet, both grids end at the boundary, as on topographic maps.
"""

import math
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from plotter.geodesy.arrays import FloatArray, IntArray
from plotter.geodesy.position import Position
from plotter.sheet.frame import MapFrame
from plotter.sheet.plane import Zone, zone_numbers

__all__ = [
    "Boundary",
    "GridRun",
    "Letters",
    "PageGrid",
    "figures_of",
    "label_step_m",
    "page_grid",
    "spacing_m",
]

# The largest square that a reader of cardboard still covers.
_LARGEST_SQUARE_MM: Final = 50.0
_SPACINGS_M: Final = (10.0, 100.0, 1_000.0, 10_000.0, 100_000.0)
_LEAST_LABEL_MM: Final = 7.0
_SQUARE_M: Final = 100_000.0
_SAMPLES: Final = 48
_INSET_MM: Final = (14.0, 6.0)  # of a square's name from the edge of its ground
_ALONG: Final = 193
_HALVINGS: Final = 24
# Where the zone may change (NGA.STND.0037): every 3 degrees because of Norway and Svalbard.
_PARALLELS_DEG: Final = (-80.0, 56.0, 64.0, 72.0, 84.0)
_NEXT_TO_DEG: Final = 1e-7

Point = tuple[float, float]
# From coordinates along a line to the page, and whether they are on it and in the zone.
_OnPage = Callable[[FloatArray], tuple[FloatArray, FloatArray, NDArray[np.bool_]]]


@dataclass(frozen=True, slots=True)
class GridRun:
    """A grid line on the page, or a part of one.

    Parameters
    ----------
    zone : Zone
        Whose line it is.
    value_m : float
        Its easting or northing, in the plane of its zone.
    easting : bool
        True for a line of equal easting.
    points : tuple of (x_mm, y_mm)
        Along it, on the page.
    """

    zone: Zone
    value_m: float
    easting: bool
    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Boundary:
    """A part of the edge between two zones, on the page; the zones on its two sides."""

    points: tuple[Point, ...]
    sides: tuple[Zone, Zone]


@dataclass(frozen=True, slots=True)
class Letters:
    """A square of 100 km as far as it lies on the page.

    Parameters
    ----------
    zone : Zone
        Its zone.
    inside : Position
        A place well inside its part of the page.
    x_mm, y_mm : float
        That place on the page.
    share : float
        Part of the page that it takes.
    """

    zone: Zone
    inside: Position
    x_mm: float
    y_mm: float
    share: float


@dataclass(frozen=True, slots=True)
class PageGrid:
    """Everything of the grid on one page.

    Parameters
    ----------
    spacing_m : float
        Between lines.
    runs, boundaries, letters : tuple
        The lines, the zones' edges, the squares of 100 km.
    zones : tuple of Zone
        On the page, the one with most ground first.
    """

    spacing_m: float
    runs: tuple[GridRun, ...]
    boundaries: tuple[Boundary, ...]
    letters: tuple[Letters, ...]
    zones: tuple[Zone, ...]


def spacing_m(denominator: float) -> float:
    """Return the distance of grid lines for a scale: squares of 5 to 50 mm.

    Examples
    --------
    >>> spacing_m(25_000), spacing_m(10_000), spacing_m(250_000)
    (1000.0, 100.0, 10000.0)
    """
    fitting = [s for s in _SPACINGS_M if s * 1000.0 / denominator <= _LARGEST_SQUARE_MM]
    return fitting[-1] if fitting else _SPACINGS_M[0]


def label_step_m(spacing: float, denominator: float) -> float:
    """Return the distance of lines that carry a figure: every, every second, fifth or tenth."""
    for times in (1, 2, 5):
        if times * spacing * 1000.0 / denominator >= _LEAST_LABEL_MM:
            return times * spacing
    return 10.0 * spacing


def figures_of(zone: Zone, value_m: float, spacing: float, *, easting: bool) -> tuple[str, str]:
    """Return a line's figures: those before the ones that a reference uses, and those.

    Examples
    --------
    >>> figures_of(Zone(27), -4_252_000.0, 1_000.0, easting=False)
    ('57', '48')
    >>> figures_of(Zone(27), 381_400.0, 100.0, easting=True)
    ('3', '814')
    """
    number = round(value_m if easting else zone.figures(value_m))
    hundreds, rest = divmod(number, int(_SQUARE_M))
    width = 5 - round(math.log10(spacing))
    return str(hundreds), f"{rest // int(spacing):0{width}d}" if width > 0 else ""


def page_grid(frame: MapFrame) -> PageGrid:
    """Return the grid of one page."""
    spacing = spacing_m(frame.denominator)
    rect = frame.rect
    # Half a step inside the edge, so that no sample lies on it.
    x = rect.left + rect.width * (np.arange(_SAMPLES) + 0.5) / _SAMPLES
    y = rect.bottom + rect.height * (np.arange(_SAMPLES) + 0.5) / _SAMPLES
    xs, ys = (axis.ravel() for axis in np.meshgrid(x, y))
    lat, lon = frame.latlon_of_mm(xs, ys)
    edge_lat, edge_lon = frame.edge(_SAMPLES)
    numbers = zone_numbers(lat, lon)
    found, counts = np.unique(
        np.concatenate([numbers, zone_numbers(edge_lat, edge_lon)]), return_counts=True
    )
    zones = tuple(Zone(int(found[index])) for index in np.argsort(-counts, kind="stable"))
    runs: list[GridRun] = []
    for zone in zones:
        runs += _lines(frame, zone, spacing)
    boundaries = tuple(_boundaries(frame)) if len(zones) > 1 else ()
    return PageGrid(spacing, tuple(runs), boundaries, _letters(lat, lon, xs, ys, numbers), zones)


def _lines(frame: MapFrame, zone: Zone, spacing: float) -> Iterator[GridRun]:
    east, north = zone.forward(*frame.edge(_ALONG))
    # The edge of a page that holds a pole does not bound its grid elsewhere; its own zone does.
    low_e, high_e = float(east.min()), float(east.max())
    low_n, high_n = float(north.min()), float(north.max())
    along = np.linspace(0.0, 1.0, _ALONG)
    for easting, (low, high), (start, end) in (
        (True, (low_e, high_e), (low_n, high_n)),
        (False, (low_n, high_n), (low_e, high_e)),
    ):
        for step in range(math.ceil(low / spacing), math.floor(high / spacing) + 1):
            value = step * spacing
            yield from _runs(frame, zone, value, start + (end - start) * along, easting=easting)


def _runs(
    frame: MapFrame, zone: Zone, value: float, along: FloatArray, *, easting: bool
) -> Iterator[GridRun]:
    """Cut a line to the frame and to its zone's ground; ends are found by halving."""

    def page(at: FloatArray) -> tuple[FloatArray, FloatArray, NDArray[np.bool_]]:
        fixed = np.full(at.shape, value)
        lat, lon = zone.inverse(fixed, at) if easting else zone.inverse(at, fixed)
        x, y = frame.mm_of(lat, lon) if zone != frame.zone else (
            frame.mm_of_plane(fixed, at) if easting else frame.mm_of_plane(at, fixed)
        )  # fmt: skip
        slack = 1e-6
        inside = (x >= frame.rect.left - slack) & (x <= frame.rect.right + slack)
        inside &= (y >= frame.rect.bottom - slack) & (y <= frame.rect.top + slack)
        return x, y, inside & (zone_numbers(lat, lon) == zone.number)

    _, _, inside = page(along)
    changes = np.flatnonzero(inside[1:] != inside[:-1])
    ends = [_where(page, along[k], along[k + 1], starts=bool(inside[k + 1])) for k in changes]
    if inside[0]:
        ends.insert(0, float(along[0]))
    if inside[-1]:
        ends.append(float(along[-1]))
    for first, last in zip(ends[::2], ends[1::2], strict=True):
        x, y, _ = page(np.concatenate([[first], along[(along > first) & (along < last)], [last]]))
        points = tuple(zip(x.tolist(), y.tolist(), strict=True))
        yield GridRun(zone, value, easting, points)


def _where(page: _OnPage, out: float, other: float, *, starts: bool) -> float:
    """Return the last place inside between one inside and one outside."""
    outside, inside = (out, other) if starts else (other, out)
    for _ in range(_HALVINGS):
        middle = (outside + inside) / 2.0
        if page(np.array([middle]))[2][0]:
            inside = middle
        else:
            outside = middle
    return inside


def _boundaries(frame: MapFrame) -> Iterator[Boundary]:
    lat, lon = frame.edge(_ALONG)
    centre = frame.middle.lon_deg
    lon = centre + (lon - centre + 180.0) % 360.0 - 180.0
    south, north = float(lat.min()), float(lat.max())
    west, east = float(lon.min()), float(lon.max())
    lats, lons = np.linspace(south, north, _ALONG), np.linspace(west, east, _ALONG)
    for meridian in np.arange(math.ceil(west / 3.0), math.floor(east / 3.0) + 1) * 3.0:
        same = np.full(_ALONG, meridian)
        yield from _edges(
            frame, (lats, same), (lats, same - _NEXT_TO_DEG), (lats, same + _NEXT_TO_DEG)
        )
    for parallel in _PARALLELS_DEG:
        if south < parallel < north:
            same = np.full(_ALONG, parallel)
            yield from _edges(
                frame, (same, lons), (same - _NEXT_TO_DEG, lons), (same + _NEXT_TO_DEG, lons)
            )


def _edges(
    frame: MapFrame,
    line: tuple[FloatArray, FloatArray],
    one_side: tuple[FloatArray, FloatArray],
    other_side: tuple[FloatArray, FloatArray],
) -> Iterator[Boundary]:
    """Yield the parts of a meridian or parallel on whose sides the zones differ."""
    one, other = zone_numbers(*one_side), zone_numbers(*other_side)
    x, y = frame.mm_of(*line)
    for before, after in sorted({(int(a), int(b)) for a, b in zip(one, other, strict=True)}):
        if before == after:
            continue
        chosen = np.flatnonzero((one == before) & (other == after))
        for part in np.split(chosen, np.flatnonzero(np.diff(chosen) > 1) + 1):
            points = tuple(zip(x[part].tolist(), y[part].tolist(), strict=True))
            if len(points) > 1:
                yield Boundary(points, (Zone(before), Zone(after)))


def _letters(
    lat: FloatArray,
    lon: FloatArray,
    x: FloatArray,
    y: FloatArray,
    numbers: IntArray,
) -> tuple[Letters, ...]:
    groups: dict[tuple[int, int, int], list[int]] = defaultdict(list)
    for number in np.unique(numbers).tolist():
        chosen = np.flatnonzero(numbers == number)
        east, north = Zone(number).forward(lat[chosen], lon[chosen])
        columns = np.floor(east / _SQUARE_M).astype(int).tolist()
        rows = np.floor(north / _SQUARE_M).astype(int).tolist()
        for index, column, row in zip(chosen.tolist(), columns, rows, strict=True):
            groups[number, column, row].append(index)
    found = []
    for (number, _, _), members in groups.items():
        mine = np.array(members)
        at = _clear_place(mine, x, y)
        found.append(
            Letters(
                Zone(number),
                Position(float(lat[at]), float(lon[at])),
                float(x[at]),
                float(y[at]),
                len(members) / len(lat),
            )
        )
    return tuple(sorted(found, key=lambda each: -each.share))


def _clear_place(mine: IntArray, x: FloatArray, y: FloatArray) -> int:
    """Return the sample of a square's ground towards its upper left that has room about it."""
    inside = np.zeros(_SAMPLES * _SAMPLES, bool)
    inside[mine] = True
    rows = inside.reshape(_SAMPLES, _SAMPLES)
    for wide, high in ((1.0, 1.0), (0.6, 1.0), (0.3, 1.0), (0.0, 1.0), (0.0, 0.0)):
        across = math.ceil(wide * _INSET_MM[0] / (x[1] - x[0]))
        up = math.ceil(high * _INSET_MM[1] / (y[_SAMPLES] - y[0]))
        padded = np.pad(rows, ((up, up), (across, across)))
        clear = np.ones_like(rows)
        for row in range(2 * up + 1):
            for column in range(2 * across + 1):
                clear &= padded[row : row + _SAMPLES, column : column + _SAMPLES]
        chosen = np.flatnonzero(clear)
        if chosen.size:
            return int(chosen[np.argmin(x[chosen] - x[mine].min() + y[mine].max() - y[chosen])])
    return int(mine[0])
