"""Places that a garbled text may have meant, as columns, and how likely each is where it lies."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from plotter.geodesy.arrays import FloatArray, IntArray
from plotter.geodesy.position import Area, Position

__all__ = ["Candidates", "distances_m", "pairs", "reach_of"]

_EARTH_M: Final = 6_371_000.0
# Beyond the area by this many tenths of its radius, nothing is looked for: e^-12 of the chance.
_TENTHS: Final = 12.0


@dataclass(frozen=True, slots=True)
class Candidates:
    """Some places that may have been meant, from one way to take a text apart.

    Parameters
    ----------
    lat_deg, lon_deg : ndarray, shape (n,)
        Centres of the squares.
    chance : ndarray, shape (n,)
        Chance that what was received is received where this was meant.
    slips : ndarray of int, shape (n,)
        How many slips that takes.
    cell_m2 : float
        Size of the squares: the finer they are, the less likely is each before anything is said.
    kind : str
        The slip that concerns the whole text, if there is one, in words; else empty.
    meant : callable
        ``meant(i)``: what stands in each field, by its name.
    undone : dict of str to str
        What was received in each field once that slip is undone; fields that it does not touch are
        left out.
    fresh : bool
        Whether the fields were meant in another notation than that of what was received.
    """

    lat_deg: FloatArray
    lon_deg: FloatArray
    chance: FloatArray
    slips: IntArray
    cell_m2: float
    kind: str
    meant: Callable[[int], dict[str, str]]
    undone: dict[str, str] = field(default_factory=dict)
    fresh: bool = False


def reach_of(area: Area) -> float:
    """How far from the area's middle anything is looked for, metres."""
    return area.radius_m * (1.0 + 0.1 * _TENTHS)


def distances_m(start: Position, lat_deg: FloatArray, lon_deg: FloatArray) -> FloatArray:
    """Distances of many places on a sphere, good to half a percent: enough to rank by."""
    phi, theta = np.radians(lat_deg), np.radians(start.lat_deg)
    half = np.sin((phi - theta) / 2.0) ** 2
    half += np.cos(phi) * np.cos(theta) * np.sin(np.radians(lon_deg - start.lon_deg) / 2.0) ** 2
    found: FloatArray = 2.0 * _EARTH_M * np.arcsin(np.sqrt(np.minimum(half, 1.0)))
    return found


def pairs(first: IntArray, second: IntArray, most: int) -> tuple[IntArray, IntArray]:
    """Every pair of two lists whose slips together are few enough.

    Parameters
    ----------
    first, second : ndarray of int, shapes (m,) and (n,)
        How many slips each entry of the two lists takes.
    most : int
        Most slips of a pair.

    Returns
    -------
    i, j : ndarray of int, shape (k,)
        Indices into the two lists.
    """
    found_i, found_j = [np.zeros(0, dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
    for slips in range(most + 1):
        ours, theirs = np.flatnonzero(first == slips), np.flatnonzero(second <= most - slips)
        found_i.append(np.repeat(ours, theirs.size))
        found_j.append(np.tile(theirs, ours.size))
    return np.concatenate(found_i), np.concatenate(found_j)
