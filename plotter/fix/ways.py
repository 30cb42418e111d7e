"""The way from observers to points: its length over the ground, and where it leads."""

from typing import NamedTuple

import numpy as np

from plotter.fix.chart import AnySights
from plotter.fix.motion import less_moves
from plotter.geodesy.arrays import FloatArray, as_float

__all__ = ["Ways", "moved_ways", "ways_to"]


class Ways(NamedTuple):
    """From n observers to m points, shape (n, m) each.

    Parameters
    ----------
    distance_m : ndarray
        Over the ground.
    right_m, ahead_m : ndarray
        In the plane at the observer.
    """

    distance_m: FloatArray
    right_m: FloatArray
    ahead_m: FloatArray


def ways_to(sights: AnySights, points_m: FloatArray) -> Ways:
    """Ways to points of the chart."""
    return Ways(*sights.ways(points_m))


def moved_ways(sights: AnySights, ways: Ways, moves_m: FloatArray) -> Ways:
    """Ways to where the thing still was, before moves of shape (n, k, 2); shape (n, k m)."""
    right_moves, ahead_moves = sights.turn(moves_m)
    right = as_float(less_moves(ways.right_m, right_moves))
    ahead = as_float(less_moves(ways.ahead_m, ahead_moves))
    # The way over the ground and the one in the plane change alike: the moves are short.
    bend = np.tile(ways.distance_m - np.hypot(ways.right_m, ways.ahead_m), moves_m.shape[1])
    return Ways(as_float(np.hypot(right, ahead) + bend), right, ahead)
