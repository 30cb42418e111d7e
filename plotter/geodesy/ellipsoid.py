"""The ellipsoids the plotter computes on, each with its defining document."""

import math
from dataclasses import dataclass
from typing import Final

from plotter.errors import FormatError

__all__ = ["WGS84", "Ellipsoid"]


@dataclass(frozen=True, slots=True)
class Ellipsoid:
    """An ellipsoid of revolution by its two defining constants.

    Parameters
    ----------
    a_m : float
        Equatorial radius in metres.
    inverse_flattening : float
        1/f; above 1.
    """

    a_m: float
    inverse_flattening: float

    def __post_init__(self) -> None:
        """Reject what is not an oblate ellipsoid."""
        if not (math.isfinite(self.a_m) and self.a_m > 0):
            raise FormatError(f"equatorial radius must be positive, got {self.a_m!r}")
        if not (math.isfinite(self.inverse_flattening) and self.inverse_flattening > 1):
            raise FormatError(f"1/f must be above 1, got {self.inverse_flattening!r}")

    @property
    def f(self) -> float:
        """Flattening, (a − b)/a."""
        return 1.0 / self.inverse_flattening

    @property
    def b_m(self) -> float:
        """Polar radius in metres."""
        return self.a_m * (1.0 - self.f)

    @property
    def e2(self) -> float:
        """First eccentricity squared."""
        return self.f * (2.0 - self.f)

    @property
    def n(self) -> float:
        """Third flattening, (a − b)/(a + b)."""
        return self.f / (2.0 - self.f)


# NGA.STND.0036, Department of Defense World Geodetic System 1984, defining parameters.
WGS84: Final = Ellipsoid(6378137.0, 298.257223563)
