"""Errors that several bearings have together: a declared one, a slip of all, one of each sender.

What is not known is weighed over nodes, never guessed. Bearings whose errors hang together make a
unit: under each value of what they share they are independent, and units are independent of each
other.
"""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from plotter.fix.evidence import Bearing
from plotter.geodesy.arrays import FloatArray, IntArray, as_float

__all__ = ["SCALES", "SCALE_LOG_WEIGHTS", "SLIP", "Unit", "units_of"]

SCALES: Final = as_float([0.4, 0.55, 0.75, 1.0, 1.35, 1.8, 2.5, 3.4])
"""What an assumed error may have to be multiplied by; its logarithm is normal, sd 0.5 (assumed)."""
_SCALE_LOG_SD: Final = 0.5
_SCALE_BELL: Final = np.exp(-0.5 * (np.log(SCALES) / _SCALE_LOG_SD) ** 2)
SCALE_LOG_WEIGHTS: Final = as_float(np.log(_SCALE_BELL / _SCALE_BELL.sum()))
"""Logarithms of their weights."""

SLIP: Final = 0.4
"""One standard deviation of the slip that all bearings may share, in parts of each one's own error.

A share of the error needs the same few nodes whatever the error is. Assumed, see DEVELOPERS.md.
"""
_SENDERS_SLIP: Final = 0.6
_SLIP_REACH: Final = 2.5
# Values of a shared error reach so many of its standard deviations, and stand no farther apart than
# so many of what its bearings together leave open: the sum over them is then exact to 1e-3.
_SHARED_REACH: Final = 3.2
_SHARED_STEP: Final = 1.4
_MOST_SHARED: Final = 41


@dataclass(frozen=True, slots=True, eq=False)
class Unit:
    """Bearings whose errors hang together, if at all, by one that they share.

    Parameters
    ----------
    rows : ndarray of int, shape (n,)
        Which bearings.
    turns_rad : ndarray, shape (k, n, 1)
        By how much each is turned under each value of it; a single 0 where there is none.
    log_weights : ndarray, shape (k,)
        Of those values.
    """

    rows: IntArray
    turns_rad: FloatArray
    log_weights: FloatArray


def units_of(bearings: Sequence[Bearing]) -> tuple[tuple[Unit, ...], tuple[Unit, ...]]:
    """Cut the bearings into independent groups.

    Returns
    -------
    steady, loose : tuple of Unit
        Those whose errors were all stated, and those with an assumed one among them.
    """
    senders = Counter(each.sender for each in bearings if each.sender and _slips(each))
    groups: dict[tuple[str, str], list[int]] = {}
    for i, each in enumerate(bearings):
        if each.common is not None:
            key = "declared", each.common.name
        elif not each.sigma_stated:
            key = "assumed", ""
        elif each.exact:
            key = "exact", ""
        else:
            key = "slip", each.sender if senders[each.sender] > 1 else ""
        groups.setdefault(key, []).append(i)
    steady: list[Unit] = []
    loose: list[Unit] = []
    for (kind, name), rows in groups.items():
        some = [bearings[i] for i in rows]
        if kind == "declared":
            sigma, nodes, weights = _declared(some)
        elif kind == "slip" and (len(rows) > 1 or name):
            sigma, nodes, weights = _slip(some, _SENDERS_SLIP if name else SLIP)
        else:
            sigma, nodes, weights = np.zeros(len(rows)), np.zeros(1), np.zeros(1)
        turns = as_float(nodes[:, None, None] * np.radians(sigma)[None, :, None])
        unit = Unit(np.asarray(rows, dtype=np.int64), turns, weights)
        (steady if all(each.sigma_stated for each in some) else loose).append(unit)
    return tuple(steady), tuple(loose)


def _slips(bearing: Bearing) -> bool:
    return bearing.sigma_stated and not bearing.exact and bearing.common is None


def _slip(bearings: Sequence[Bearing], part: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Size of the slip for each bearing, degrees, its values in such sizes, and log weights."""
    step = _SHARED_STEP / (part * math.sqrt(len(bearings)))
    half = min(max(math.ceil(_SLIP_REACH / step), 2), _MOST_SHARED // 2)
    nodes = np.linspace(-_SLIP_REACH, _SLIP_REACH, 2 * half + 1)
    return as_float([part * each.sigma_deg for each in bearings]), nodes, _log_bell(nodes)


def _declared(bearings: Sequence[Bearing]) -> tuple[FloatArray, FloatArray, FloatArray]:
    """The same for an error that some bearings are said to share."""
    sigma = max(each.common.sigma_deg for each in bearings if each.common)
    own = [each.sigma_deg * (1.0 if each.sigma_stated else float(SCALES[0])) for each in bearings]
    open_deg = min(own) / math.sqrt(len(bearings))
    half = math.ceil(_SHARED_REACH * sigma / (_SHARED_STEP * open_deg))
    half = min(max(half, 4), _MOST_SHARED // 2)
    nodes = np.linspace(-_SHARED_REACH, _SHARED_REACH, 2 * half + 1)
    return np.full(len(bearings), sigma), nodes, _log_bell(nodes)


def _log_bell(nodes: FloatArray) -> FloatArray:
    bell = np.exp(-0.5 * nodes * nodes)
    return as_float(np.log(bell / bell.sum()))
