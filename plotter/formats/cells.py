"""Which cell of a graticule a place lies in, in exact whole numbers, and the middle of a cell."""

import math
from collections.abc import Callable, Sequence
from typing import Final

from plotter.formats.squares import graticule_square, metres_per_degree
from plotter.geodesy.position import Position, Square

__all__ = ["LETTERS_24", "cell_of", "cell_square", "cells_of", "coarsest"]

LETTERS_24: Final = "ABCDEFGHJKLMNPQRSTUVWXYZ"  # I and O left out


def cell_of(value_deg: float, half_range: int, cells: int) -> int:
    """Index of the cell that a value lies in, of `cells` from −half_range to half_range.

    The value is taken at the shortest decimal that its float stands for, so that 11.6, which no
    float can hold, lies on the edge it was meant to lie on. A cell includes its lower edge; the
    upper end of the range belongs to the last cell.

    Examples
    --------
    >>> cell_of(11.6, 180, 3600), cell_of(90.0, 90, 180)
    (1916, 179)
    """
    mantissa, _, exponent = repr(value_deg).partition("e")
    whole, _, decimals = mantissa.partition(".")
    power = len(decimals) - int(exponent or 0)
    value, scale = int(whole + decimals), 1
    if power >= 0:
        scale = 10**power
    else:
        value *= 10**-power
    return min((value + half_range * scale) * cells // (2 * half_range * scale), cells - 1)


def cells_of(position: Position, lat_cells: int, lon_cells: int) -> tuple[int, int]:
    """Row from the south pole and column from 180 degrees west of a place."""
    return cell_of(position.lat_deg, 90, lat_cells), cell_of(position.lon_deg, 180, lon_cells)


def cell_square(lat_cell: int, lon_cell: int, lat_cells: int, lon_cells: int) -> Square:
    """Square of one cell of the whole earth's graticule."""
    # One division of whole numbers each: the nearest float to the exact middle.
    lat = (90 * (2 * lat_cell + 1) - 90 * lat_cells) / lat_cells
    lon = (180 * (2 * lon_cell + 1) - 180 * lon_cells) / lon_cells
    return graticule_square(lat, lon, 180 / lat_cells, 360 / lon_cells)


def coarsest(
    levels: Sequence[int],
    cells: Callable[[int], tuple[int, int]],
    position: Position,
    size_m: float,
) -> int:
    """First level whose cells are no larger than a size at a place, else the last one."""
    per_lat, per_lon = metres_per_degree(position.lat_deg)
    for level in levels:
        lat_cells, lon_cells = cells(level)
        if max(180 * per_lat / lat_cells, 360 * per_lon / lon_cells) <= math.nextafter(
            size_m, math.inf
        ):
            return level
    return levels[-1]
