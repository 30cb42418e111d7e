"""Weighing what a report may have meant: mixtures over errors that are not known."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from plotter.geodesy.arrays import FloatArray, as_float

__all__ = ["Held", "Shares", "blend", "join"]

Rows = NDArray[np.floating]


class Shares(NamedTuple):
    """Which reports are right, if the truth lies at a point.

    Parameters
    ----------
    good, back : ndarray, shape (n, m)
        Chance that a report is right, and that it is the reciprocal.
    near : ndarray, shape (n, m)
        Chance that it is right, and no farther off than its stated error leads to expect.
    all_good : ndarray, shape (m,)
        Chance that all of them are right.
    """

    good: Rows
    back: Rows
    near: Rows
    all_good: FloatArray

    def at(self, points: slice) -> "Shares":
        """The same for some of the points."""
        return Shares(
            self.good[:, points], self.back[:, points], self.near[:, points], self.all_good[points]
        )


class Held(NamedTuple):
    """Some reports held against points.

    Parameters
    ----------
    log : ndarray, shape (m,)
        Natural logarithm of their likelihood.
    shares : Shares or None
        Where they were asked for.
    """

    log: FloatArray
    shares: Shares | None


def blend(log_weights: FloatArray, ways: Sequence[Held]) -> Held:
    """Mix several ways in which the same reports may have come about.

    Parameters
    ----------
    log_weights : ndarray, shape (k,)
        Logarithm of each way's prior weight; the weights sum to 1.
    ways : sequence of Held, length k
        The same reports under each.
    """
    if len(ways) == 1:
        return ways[0]
    logs = np.stack([way.log for way in ways]) + log_weights[:, None]
    top = logs.max(axis=0)
    logs -= top
    weights = np.exp(logs)
    total = weights.sum(axis=0)
    log = top + np.log(total)
    shares = [way.shares for way in ways if way.shares is not None]
    if len(shares) != len(ways):
        return Held(log, None)
    weights /= total
    weights = weights.astype(shares[0].good.dtype, copy=False)
    # In place: of so many ways each sum is made without a copy of all of them.
    mixed = [weights[0] * each for each in shares[0]]
    for weight, each in zip(weights[1:], shares[1:], strict=True):
        for k, part in enumerate(each):
            mixed[k] += weight * part
    return Held(log, Shares(*mixed))


def join(parts: Sequence[Held]) -> Held:
    """Put independent reports together, in this order.

    Parameters
    ----------
    parts : sequence of Held
        Different reports, held against the same points.
    """
    if len(parts) == 1:
        return parts[0]
    log = as_float(np.sum([part.log for part in parts], axis=0))
    shares = [part.shares for part in parts if part.shares is not None]
    if len(shares) != len(parts):
        return Held(log, None)
    return Held(
        log,
        Shares(
            np.concatenate([each.good for each in shares]),
            np.concatenate([each.back for each in shares]),
            np.concatenate([each.near for each in shares]),
            as_float(np.multiply.reduce([each.all_good for each in shares])),
        ),
    )
