"""What one more bearing would say: the chances of its outcomes, before it is taken.

The outcome is "not heard", or a bearing in one of a number of bins. The error is that of
`plotter.fix.likelihood`: right within sigma, reciprocal, or simply wrong.
"""

import math
from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from plotter.errors import FormatError
from plotter.fix.bells import erf
from plotter.geodesy.arrays import FloatArray

__all__ = ["NextReport", "plogp"]

# Single precision is enough for areas; the functions keep what they are given.
_Floats: TypeAlias = NDArray[np.floating]

# An eighth of a sigma: three bare points then lose or gain less than a fiftieth of a bit.
_BINS: Final = 360
_MOST_BINS: Final = 2880
_BIN_PER_SIGMA: Final = 0.125
_SIGMAS: Final = 48
_LEAST_EXPONENT: Final = -50.0
# How softly hearing ends, in ln of the distance: 0.4 for the way itself, and 0.5 because the range
# is a guess; two such spreads make a logistic of √(0.4² + 3·0.5²/π²) again. Both are assumed.
_SOFTNESS: Final = 0.49
# Someone near by may still miss it, and someone far off may catch it; assumed.
_SURPRISE: Final = 0.02


def plogp(chance: FloatArray) -> FloatArray:
    """−p ln p, 0 at 0."""
    return np.asarray(-chance * np.log(np.maximum(chance, 1e-300)))


@dataclass(frozen=True, slots=True)
class NextReport:
    """How well the next listener hears and takes a bearing.

    Parameters
    ----------
    sigma_deg : float
        One standard deviation of the bearing's error, above 0, at most 180.
    observer_sigma_m : float
        One standard deviation of the listener's own position, per axis.
    hearing_range_m : float or None
        Distance at which every second transmission is heard; None where it is always heard.
    p_reciprocal, p_gross : float
        Chance that the bearing points the opposite way, or anywhere.

    Raises
    ------
    FormatError
        If a value is out of range.
    """

    sigma_deg: float = 6.0
    observer_sigma_m: float = 15.0
    hearing_range_m: float | None = None
    p_reciprocal: float = 0.02
    p_gross: float = 0.05

    def __post_init__(self) -> None:
        """Reject what cannot be."""
        if not (math.isfinite(self.sigma_deg) and 0.0 < self.sigma_deg <= 180.0):
            raise FormatError(f"sigma must be above 0 and at most 180 degrees: {self.sigma_deg!r}")
        if not (math.isfinite(self.observer_sigma_m) and self.observer_sigma_m >= 0.0):
            raise FormatError(f"observer sigma must be 0 m or more: {self.observer_sigma_m!r}")
        range_m = self.hearing_range_m
        if range_m is not None and not (math.isfinite(range_m) and range_m > 0.0):
            raise FormatError(f"the hearing range must be above 0 m: {range_m!r}")

    @property
    def bins(self) -> int:
        """How many bins the circle is cut into; even."""
        count = _BINS
        while count < _MOST_BINS and 360.0 / count > _BIN_PER_SIGMA * self.sigma_deg:
            count *= 2
        return count

    def p_heard(self, distance_m: FloatArray) -> FloatArray:
        """Chance of hearing it from a distance; the shape of `distance_m`."""
        if self.hearing_range_m is None:
            return np.ones_like(distance_m)
        beyond = np.power(distance_m / self.hearing_range_m, 1.0 / _SOFTNESS)
        return np.asarray(_SURPRISE + (1.0 - 2.0 * _SURPRISE) / (1.0 + beyond))

    def kernel(self, sigma_rad: float) -> FloatArray:
        """Chance of each bin for a bearing whose true value is in bin 0, shape (bins,), sum 1."""
        count = self.bins
        off = (2.0 * np.pi / count) * ((np.arange(count) + count // 2) % count - count // 2)
        bell = np.exp(-0.5 * (off / sigma_rad) ** 2)
        bell /= bell.sum()
        return np.asarray(
            (1.0 - self.p_gross - self.p_reciprocal) * bell
            + self.p_reciprocal * np.roll(bell, count // 2)
            + self.p_gross / count
        )

    def entropies(self) -> tuple[FloatArray, FloatArray]:
        """Table of the entropy of the bin when the place is known, nats, by the error's variance.

        Returns
        -------
        variance_rad2, nats : ndarray
            From the bearing's own variance up.
        """
        sigma = np.geomspace(math.radians(self.sigma_deg), 2.0 * math.pi, _SIGMAS)
        return sigma * sigma, np.asarray([plogp(self.kernel(each)).sum() for each in sigma])

    def density(self, off_rad: _Floats, variance_rad2: _Floats) -> _Floats:
        """Density of a bearing per radian, by its angle off the way to the place, [0, π]."""
        factor = -0.5 / variance_rad2
        height = np.sqrt(factor * (-1.0 / np.pi)) / erf(np.asarray(np.pi * np.sqrt(-factor)))
        found = _bell(factor, off_rad)
        found *= height * (1.0 - self.p_gross - self.p_reciprocal)
        back = _bell(factor, np.pi - off_rad)
        back *= height * self.p_reciprocal
        found += back
        found += self.p_gross / (2.0 * np.pi)
        return found


def _bell(factor: _Floats, off_rad: _Floats) -> _Floats:
    exponent = factor * off_rad
    exponent *= off_rad
    # Below this it is nothing beside a gross error, and numbers out of the normal range are slow.
    np.maximum(exponent, _LEAST_EXPONENT, out=exponent)
    return np.asarray(np.exp(exponent, out=exponent))
