"""The reference system that a file states, and its places as latitude and longitude on it."""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final

from plotter.errors import FormatError
from plotter.exchange.others import Pair
from plotter.formats.stated import MOST_DECIMALS, decimal_of
from plotter.geodesy.datum import WGS84_EPSG, check_geographic, reference_system

__all__ = ["System", "system_called", "system_of_code", "wgs84"]

_CODE: Final = re.compile(r".*\bepsg(?::|/)(?:[\d.]*(?::|/))?(\d{4,6})", re.IGNORECASE | re.ASCII)
_LON_LAT: Final = re.compile(r".*\bcrs:?84", re.IGNORECASE)
# WGS 84 with heights: the same latitude and longitude.
_ALSO_WGS84: Final = frozenset({4326, 4979, 4329})


@dataclass(frozen=True, slots=True)
class System:
    """How a file's pairs of numbers become places.

    Parameters
    ----------
    epsg : int
        Of the geographic system that they are on.
    to_lon_lat : callable or None
        Takes a projected pair to longitude and latitude on that system; None where it is one.
    words : str
        What was done, for people; empty on WGS 84 itself.
    """

    epsg: int = WGS84_EPSG
    to_lon_lat: Callable[[float, float], tuple[float, float]] | None = None
    words: str = ""

    def pair(self, x: str, y: str) -> Pair:
        """Latitude and longitude of an easting or longitude and a northing or latitude."""
        if self.to_lon_lat is None:
            return y, x
        east, north = decimal_of(x), decimal_of(y)
        if east is None or north is None:
            return y, x
        lon, lat = self.to_lon_lat(float(east), float(north))
        return f"{lat:.{MOST_DECIMALS}f}", f"{lon:.{MOST_DECIMALS}f}"

    def good_to_m(self, figures: Iterable[str]) -> float | None:
        """Half of one unit of the last figure of projected numbers; None for degrees."""
        if self.to_lon_lat is None:
            return None
        most = 0
        for text in figures:
            value = decimal_of(text)
            exponent = value.as_tuple().exponent if value is not None else 0
            most = max(most, -exponent if isinstance(exponent, int) else 0)
        return 0.5 * 10.0 ** -min(most, 4)


def wgs84() -> System:
    """Longitude and latitude on WGS 84, as most formats have them."""
    return System()


def system_called(name: str) -> System:
    """The system that a file names: an EPSG code in any of its spellings, or CRS 84.

    Raises
    ------
    FormatError
        If it is none that can be looked up here.
    """
    if _LON_LAT.fullmatch(name.strip()):
        return System()
    match = _CODE.fullmatch(name.strip())
    if match is None:
        raise FormatError(
            f"the places are in the system {name[:80]!r}, which cannot be looked up here: save the "
            "file in longitude and latitude on WGS 84",
            name,
        )
    return system_of_code(int(match[1]))


def system_of_code(epsg: int) -> System:
    """The system of an EPSG code: numbers always come with easting or longitude first.

    A projected system is undone exactly; its datum stays, and is shifted where a place is read.

    Raises
    ------
    FormatError
        If the code is not known, or its datum has no geographic system in degrees.
    """
    if epsg in _ALSO_WGS84:
        return System()
    crs = reference_system(epsg)
    if crs.is_geographic:
        check_geographic(epsg)
        return System(epsg, None, f"places on EPSG:{epsg} ({crs.name})")
    base = crs.geodetic_crs
    code = base.to_epsg() if base is not None else None
    if not crs.is_projected or base is None or code is None:
        raise FormatError(
            f"places in EPSG:{epsg} ({crs.name}) cannot be brought to latitude and longitude: save "
            "the file in longitude and latitude on WGS 84",
            str(epsg),
        )
    check_geographic(code)
    from pyproj import Transformer

    undo = Transformer.from_crs(crs, base, always_xy=True)

    def to_lon_lat(x: float, y: float) -> tuple[float, float]:
        lon, lat = undo.transform(x, y)
        return float(lon), float(lat)

    geographic = WGS84_EPSG if code in _ALSO_WGS84 else code
    return System(geographic, to_lon_lat, f"places on EPSG:{epsg} ({crs.name})")
