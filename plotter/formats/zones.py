"""Grid zones and bands: which letter stands where, and the ground a zone covers."""

from dataclasses import dataclass
from typing import Final

from plotter.errors import FormatError
from plotter.geodesy.geodesic import destination, geodesic
from plotter.geodesy.grid import UTM_NORTH_LIMIT_DEG, UTM_SOUTH_LIMIT_DEG, zone_of
from plotter.geodesy.position import Area, Position

__all__ = [
    "BANDS",
    "Ground",
    "area_probes",
    "band_of",
    "band_south_deg",
    "check_zone",
    "ground_of",
    "inside",
    "zones_of_area",
]

# NGA.STND.0037: twenty bands of 8 degrees from 80 south, I and O left out, X of 12 degrees.
BANDS: Final = "CDEFGHJKLMNPQRSTUVWX"
_EQUATOR_BAND: Final = BANDS.index("N")


@dataclass(frozen=True, slots=True)
class Ground:
    """What one grid zone covers, in degrees; the southern and western edges belong to it."""

    south_deg: float
    north_deg: float
    west_deg: float
    east_deg: float


def band_of(lat_deg: float) -> str:
    """Band letter of a latitude in [−80, 84).

    Examples
    --------
    >>> band_of(48.0), band_of(83.9)
    ('U', 'X')
    """
    if not UTM_SOUTH_LIMIT_DEG <= lat_deg < UTM_NORTH_LIMIT_DEG:
        raise FormatError(f"latitude {lat_deg!r} has no UTM band; use UPS")
    index = min(int((lat_deg + 80.0) // 8.0), 19)
    # A latitude too small to change 80 when added to it is still south of the equator.
    return BANDS[index - 1 if lat_deg < 0 and index == _EQUATOR_BAND else index]


def band_south_deg(band: str) -> float:
    """Southern edge of a band."""
    return 8.0 * BANDS.index(band) - 80.0


def check_zone(zone: int, text: str) -> None:
    """Reject a zone number outside 1 to 60."""
    if not 1 <= zone <= 60:
        raise FormatError(
            f"zone {zone} in {text!r} does not exist: zones run from 1 to 60; ask for the zone",
            text,
        )


def ground_of(zone: int, band: str) -> Ground | None:
    """Ground of a grid zone, with Norway and Svalbard; None where the zone does not exist.

    Examples
    --------
    >>> ground_of(32, "V")
    Ground(south_deg=56.0, north_deg=64.0, west_deg=3.0, east_deg=12.0)
    >>> ground_of(32, "X") is None
    True
    """
    west, east = 6.0 * zone - 186.0, 6.0 * zone - 180.0
    south = band_south_deg(band)
    north = UTM_NORTH_LIMIT_DEG if band == "X" else south + 8.0
    if band == "V" and zone == 31:
        east = 3.0
    if band == "V" and zone == 32:
        west = 3.0
    if band == "X" and 31 <= zone <= 37:
        svalbard = {31: (0.0, 9.0), 33: (9.0, 21.0), 35: (21.0, 33.0), 37: (33.0, 42.0)}
        if zone not in svalbard:
            return None
        west, east = svalbard[zone]
    return Ground(south, north, west, east)


def area_probes(area: Area) -> tuple[Position, ...]:
    """Middle of an area and points on its rim and half way to it, enough to find its zones."""
    rim = (
        destination(area.centre, float(bearing), area.radius_m * part)
        for part in (0.5, 1.0)
        for bearing in range(0, 360, 15)
    )
    return (area.centre, *rim)


def zones_of_area(area: Area) -> tuple[tuple[int, bool], ...]:
    """UTM zones (number, south?) that an area touches, the middle's first."""
    found = {(zone_of(p), p.lat_deg < 0): None for p in area_probes(area) if zone_of(p)}
    return tuple(found)


def inside(position: Position, area: Area) -> bool:
    """Whether a place lies in an area."""
    return geodesic(area.centre, position).distance_m <= area.radius_m
