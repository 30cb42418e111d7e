"""Squares on any projected reference system: the ground of national grids, through PROJ.

Nothing here is loaded until a text names such a grid.
"""

import re
from dataclasses import dataclass
from typing import Final

import numpy as np

from plotter.errors import FormatError
from plotter.formats.result import Reading
from plotter.formats.squares import enlarged, square_from_outline
from plotter.formats.zones import inside
from plotter.geodesy.datum import operation_from, operation_to, reference_system
from plotter.geodesy.grid import TRUNCATION_NUDGE_M
from plotter.geodesy.position import Area, Position

__all__ = [
    "Box",
    "Pair",
    "check_grid",
    "finest_unit",
    "grid_pair_readings",
    "grid_reading",
    "near_box",
    "on_ground",
    "pair_of",
    "projected_pair",
    "truncated_pair",
    "within",
]

# Grids are used a little beyond the ground they are registered for, off a coast or over a border.
_MARGIN_DEG: Final = 0.5
_NUMBER: Final = r"\d+(?:\.\d+)?"
_LABEL: Final = r"(?:(?P<{0}>e|x|easting|n|y|northing)(?![a-z])[\s:=]*)?"
# Compiled at the first text that names a grid.
_PAIR: Final = (
    "(?i)"
    + _LABEL.format("la")
    + rf"(?P<a>-?{_NUMBER})\s*m?\s*(?P<ta>[en]\b)?[\s,;/]+"
    + _LABEL.format("lb")
    + rf"(?P<b>-?{_NUMBER})\s*m?\s*(?P<tb>[en]\b)?"
)


@dataclass(frozen=True, slots=True)
class Box:
    """Ground that a grid is used on, degrees."""

    south_deg: float
    north_deg: float
    west_deg: float
    east_deg: float

    @property
    def middle(self) -> Position:
        """Its middle."""
        width = (self.east_deg - self.west_deg) % 360.0 or 360.0
        return Position((self.south_deg + self.north_deg) / 2, self.west_deg + width / 2)

    def holds(self, place: Position, margin_deg: float = 0.0) -> bool:
        """Whether a place lies in it, or no further out than a margin."""
        width = (self.east_deg - self.west_deg) % 360.0 or 360.0
        east = (place.lon_deg - self.west_deg + margin_deg) % 360.0
        lat_ok = self.south_deg - margin_deg <= place.lat_deg <= self.north_deg + margin_deg
        return lat_ok and east <= width + 2 * margin_deg


@dataclass(frozen=True, slots=True)
class Pair:
    """Two numbers of a text, with one unit of the last figure of each."""

    first: float
    second: float
    first_unit: float
    second_unit: float
    order: str
    """``en`` or ``ne`` where letters say so, else empty."""


def pair_of(body: str, text: str) -> Pair | None:
    """Two grid numbers of a text, or None where it is something else.

    Parameters
    ----------
    body : str
        What follows the name of the grid; figures may be set apart in thousands by apostrophes, or
        by spaces where a comma or a solidus parts the two numbers.
    text : str
        The whole text, for messages.
    """
    plain = re.sub(r"(?<=\d)['’](?=\d{3})", "", body.strip())
    halves = re.split(r"\s*[,;/]\s*", plain)
    if len(halves) == 2:
        plain = " / ".join(re.sub(r"(?<=\d)\s+(?=\d{3}\b)", "", half) for half in halves)
    match = re.fullmatch(_PAIR, plain)
    if match is None:
        return None
    said = [match["la"] or match["ta"], match["lb"] or match["tb"]]
    if match["la"] and match["ta"]:
        said[1] = match["ta"]  # "E 155000 N 463000": the letter between belongs to what follows
    # X and Y name different axes in different countries: they say nothing of the order here.
    labels = [(each or "")[:1].lower().strip("xy") for each in said]
    if labels[0] and labels[0] == labels[1]:
        raise FormatError(
            f"both numbers of {text!r} are called {labels[0].upper()}: ask for the other one", text
        )
    north_first = labels[0] == "n" or labels[1] == "e"
    order = ("ne" if north_first else "en") if any(labels) else ""
    units = [10.0 ** -len(match[side].partition(".")[2]) for side in "ab"]
    return Pair(float(match["a"]), float(match["b"]), units[0], units[1], order)


def grid_pair_readings(
    format_name: str, grid_name: str, epsg: int, pair: Pair, text: str
) -> list[Reading]:
    """Readings of two numbers on a grid: easting first, unless letters or the ground differ.

    Where the registry itself puts the northing first and both ways round lie on the grid, both are
    given.

    Raises
    ------
    FormatError
        If the place is not on the grid's ground, either way round.
    """
    check_grid(epsg)
    side = max(pair.first_unit, pair.second_unit)
    straight, swapped = (pair.first, pair.second), (pair.second, pair.first)
    north_first = reference_system(epsg).axis_info[0].direction == "north"
    tries = [(straight, "easting first"), (swapped, "northing first")]
    if pair.order:
        tries = [(straight if pair.order == "en" else swapped, "")]
    found: list[tuple[Reading, str]] = []
    for corner, why in tries:
        if found and not north_first:
            break
        try:
            found.append((grid_reading(format_name, grid_name, epsg, corner, side, text), why))
        except FormatError:
            continue
    if not found:
        raise FormatError(
            f"{text!r} lies outside {grid_name}: ask for the numbers again, and for the grid", text
        )
    if len(found) == 2:
        return [Reading(r.format, r.square, (why, *r.assumed)) for r, why in found]
    only, why = found[0]
    if why == "northing first":
        told = "northing first: the other way round it lies outside the grid"
        return [Reading(only.format, only.square, (told, *only.assumed))]
    return [only]


def check_grid(epsg: int) -> None:
    """Reject a code that is no grid of eastings and northings, or that has no way to WGS 84."""
    _unit_m(epsg)
    operation_to(epsg, _ground(epsg).middle)


def grid_reading(
    format_name: str,
    grid_name: str,
    epsg: int,
    corner: tuple[float, float],
    side: float,
    text: str,
    assumed: tuple[str, ...] = (),
    more_m: float = 0.0,
) -> Reading:
    """Reading of the square of a grid with a south-west corner and a side, in the grid's units.

    Its square reaches as much further as the way to WGS 84 may be off.

    Parameters
    ----------
    format_name, grid_name : str
        Name of the format in data, and of the grid in words.
    epsg : int
        Code of the projected system.
    corner : tuple of float
        Easting and northing of the south-west corner, in the grid's units.
    side : float
        Side of the square in the grid's units.
    text : str
        What was said, for messages.
    assumed : tuple of str
        What the reading rests on already.
    more_m : float
        Further doubt of the place, metres.
    """
    unit_m = _unit_m(epsg)
    n = 8 if side * unit_m >= 10_000.0 else 1
    steps = np.linspace(0.0, 1.0, n + 1)[:-1]
    zero, one = np.zeros(n), np.ones(n)
    x = corner[0] + side * np.concatenate([[0.5], steps, one, 1 - steps, zero])
    y = corner[1] + side * np.concatenate([[0.5], zero, steps, one, 1 - steps])
    operation = operation_from(epsg, float(x[0]), float(y[0]))
    lat, lon = operation.to_wgs84(x, y)
    centre = Position(float(lat[0]), float(lon[0]))
    if not on_ground(epsg, centre):
        raise FormatError(
            f"{text!r} lies outside {grid_name}: ask for the numbers again, and for the grid", text
        )
    outline = list(zip(lat[1:].tolist(), lon[1:].tolist(), strict=True))
    square = square_from_outline(outline, (centre.lat_deg, centre.lon_deg), side * unit_m)
    rests_on = (*assumed, operation.words) if operation.words else assumed
    return Reading(format_name, enlarged(square, operation.accuracy_m + more_m), rests_on)


def projected_pair(epsg: int, place: Position) -> tuple[float, float]:
    """Easting and northing of a place on a grid, in the grid's units."""
    operation = operation_to(epsg, place)
    x, y = operation.from_wgs84([place.lat_deg], [place.lon_deg])
    return float(x[0]), float(y[0])


def truncated_pair(pair: tuple[float, float], unit: float, width: int = 6) -> str:
    """Two grid numbers cut to a unit of 1 or a decimal part of it, never rounded."""
    decimals = 0 if unit >= 1.0 else 1 if unit >= 0.1 else 2 if unit >= 0.01 else 3
    scale = 10**decimals
    words = []
    for value in pair:
        cut = int((value + TRUNCATION_NUDGE_M) * scale // 1)
        whole, part = divmod(abs(cut), scale)
        sign = "-" if cut < 0 else ""
        words.append(f"{sign}{whole:0{width}d}" + (f".{part:0{decimals}d}" if decimals else ""))
    return " ".join(words)


def finest_unit(size: float) -> float:
    """Coarsest decimal unit, 0.001 to 1, that is no larger than a size."""
    return next((unit for unit in (1.0, 0.1, 0.01) if unit <= size), 0.001)


def on_ground(epsg: int, place: Position) -> bool:
    """Whether a grid is used at a place, by its registered ground and a margin."""
    return _ground(epsg).holds(place, _MARGIN_DEG)


def near_box(area: Area | None, box: Box) -> bool:
    """Whether an area of operations may touch a grid's ground, without a projection."""
    if area is None:
        return False
    if box.holds(area.centre, _MARGIN_DEG):
        return True
    reach_deg = area.radius_m / 111_000.0
    cosine = float(max(np.cos(np.radians(min(abs(area.centre.lat_deg) + reach_deg, 90.0))), 0.01))
    return box.holds(area.centre, min(_MARGIN_DEG + reach_deg / cosine, 90.0))


def within(found: Reading, area: Area) -> bool:
    """Whether the middle of a reading lies in an area."""
    return inside(found.square.centre, area)


def _unit_m(epsg: int) -> float:
    crs = reference_system(epsg)
    if not crs.is_projected:
        raise FormatError(
            f"EPSG:{epsg} ({crs.name}) is no grid of eastings and northings: for a datum write it "
            f"after the position, as in 48.85N 2.29E on EPSG:{epsg}",
            str(epsg),
        )
    axes = crs.axis_info
    if {axis.direction for axis in axes} != {"east", "north"}:
        raise FormatError(
            f"the axes of EPSG:{epsg} ({crs.name}) do not run east and north, which is not read: "
            "ask for the position on WGS 84",
            str(epsg),
        )
    return float(axes[0].unit_conversion_factor)


def _ground(epsg: int) -> Box:
    area = reference_system(epsg).area_of_use
    if area is None:
        return Box(-90.0, 90.0, -180.0, 180.0)
    return Box(float(area.south), float(area.north), float(area.west), float(area.east))
