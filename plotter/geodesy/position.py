"""A position on WGS 84, and the square that a reference names: values that cannot be wrong."""

import math
from dataclasses import dataclass

from plotter.errors import FormatError

__all__ = ["Area", "Position", "Square", "wrap_longitude_deg"]


def wrap_longitude_deg(lon_deg: float) -> float:
    """Bring a longitude into [−180, 180); −0.0 becomes 0.0.

    Examples
    --------
    >>> wrap_longitude_deg(180.0)
    -180.0
    """
    if -180.0 <= lon_deg < 180.0:
        return lon_deg + 0.0
    wrapped = math.fmod(lon_deg, 360.0)
    if wrapped >= 180.0:
        wrapped -= 360.0
    elif wrapped < -180.0:
        wrapped += 360.0
    return wrapped + 0.0


@dataclass(frozen=True, slots=True)
class Position:
    """A point on the WGS 84 ellipsoid, latitude first.

    Parameters
    ----------
    lat_deg : float
        North positive, −90 to 90.
    lon_deg : float
        East positive, −360 to 360; kept in [−180, 180).

    Raises
    ------
    FormatError
        If a value is not finite or out of range.

    Examples
    --------
    >>> Position(47.0, 188.0)
    Position(lat_deg=47.0, lon_deg=-172.0)
    """

    lat_deg: float
    lon_deg: float

    def __post_init__(self) -> None:
        """Reject what is not a place and bring the longitude into range."""
        if not (math.isfinite(self.lat_deg) and abs(self.lat_deg) <= 90.0):
            raise FormatError(f"latitude must be between -90 and 90 degrees, got {self.lat_deg!r}")
        if not (math.isfinite(self.lon_deg) and abs(self.lon_deg) <= 360.0):
            raise FormatError(
                f"longitude must be between -180 and 180 degrees, got {self.lon_deg!r}"
            )
        object.__setattr__(self, "lat_deg", float(self.lat_deg) + 0.0)
        object.__setattr__(self, "lon_deg", wrap_longitude_deg(float(self.lon_deg)))


@dataclass(frozen=True, slots=True)
class Square:
    """What a reference names: not a point but a cell, as large as its figures leave open.

    Parameters
    ----------
    centre : Position
        Middle of the cell.
    size_m : float
        Length of the cell's longer side in metres.
    corners : tuple of Position
        The cell's corners in order round it, starting south-west (four, or more where an edge is
        cut by a zone boundary).
    """

    centre: Position
    size_m: float
    corners: tuple[Position, ...]

    def __post_init__(self) -> None:
        """Reject a cell without extent."""
        if not (math.isfinite(self.size_m) and self.size_m > 0):
            raise FormatError(f"a square must have a positive size, got {self.size_m!r} m")
        if len(self.corners) < 3:
            raise FormatError(f"a square needs at least three corners, got {len(self.corners)}")


@dataclass(frozen=True, slots=True)
class Area:
    """The area of operations: a circle within which reports are expected.

    Parameters
    ----------
    centre : Position
        Middle of the area.
    radius_m : float
        Radius in metres, above zero.
    """

    centre: Position
    radius_m: float

    def __post_init__(self) -> None:
        """Reject a circle without extent."""
        if not (math.isfinite(self.radius_m) and self.radius_m > 0):
            raise FormatError(f"an area needs a positive radius in metres, got {self.radius_m!r}")
