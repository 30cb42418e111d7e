"""Positions on another datum, or on a projected grid, to WGS 84: the operation and its accuracy.

Only what is on this machine is used: no grid is fetched, and an operation that lacks its grid is
passed over. The answer always names the operation and says how good it is.
"""

import math
import warnings
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import ArrayLike

from plotter.errors import FormatError
from plotter.geodesy.arrays import FloatArray
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Position

if TYPE_CHECKING:
    from pyproj import CRS

__all__ = [
    "DATUMS",
    "WGS84_EPSG",
    "DatumShift",
    "Operation",
    "check_geographic",
    "operation_from",
    "operation_to",
    "reference_system",
    "to_wgs84",
]

WGS84_EPSG: Final = 4326
# EPSG codes of geographic systems, latitude and longitude in degrees from Greenwich.
DATUMS: Final = {
    "WGS84": WGS84_EPSG, "NAD27": 4267, "NAD83": 4269, "ED50": 4230, "ETRS89": 4258,
    "OSGB36": 4277, "TOKYO": 4301, "AGD66": 4202, "AGD84": 4203, "GDA94": 4283, "GDA2020": 7844,
    "NZGD49": 4272, "NZGD2000": 4167, "SAD69": 4618, "PSAD56": 4248, "PULKOVO1942": 4284,
    "CH1903": 4149, "CH1903+": 4150,
}  # fmt: skip
# Used where the registry gives no accuracy, or the place lies outside every operation's area:
# mean shifts fitted to one country are wrong by some hundred metres in another. Common practice,
# no source.
_UNKNOWN_M: Final = 1_000.0


@dataclass(frozen=True, slots=True)
class Operation:
    """One way from a reference system to WGS 84.

    Parameters
    ----------
    source : str
        Name of the datum, or of the grid.
    name : str
        Name of the datum operation; empty where the system is on WGS 84 itself.
    accuracy_m : float
        How far the answer may be from the truth, metres; 0 where there is no datum operation.
    covers : bool
        Whether the place lies in the area for which the operation is meant.
    """

    source: str
    name: str
    accuracy_m: float
    covers: bool
    _transformer: Any

    def to_wgs84(self, x: ArrayLike, y: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Latitude and longitude on WGS 84, degrees, from easting or longitude first."""
        lon, lat = self._transformer.transform(np.asarray(x, float), np.asarray(y, float))
        return np.asarray(lat, float), np.asarray(lon, float)

    def from_wgs84(self, lat_deg: ArrayLike, lon_deg: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Easting and northing, or longitude and latitude, in the units of the system."""
        x, y = self._transformer.transform(
            np.asarray(lon_deg, float), np.asarray(lat_deg, float), direction="INVERSE"
        )
        return np.asarray(x, float), np.asarray(y, float)

    @property
    def words(self) -> str:
        """What an answer rests on, for people; empty on WGS 84 itself."""
        if not self.name:
            return ""
        outside = "" if self.covers else ", outside the area it is meant for"
        good = math.ceil(self.accuracy_m)
        return f"{self.source} to WGS 84 by {self.name}{outside}, good to {good} m"


@dataclass(frozen=True, slots=True)
class DatumShift:
    """A position brought to WGS 84.

    Parameters
    ----------
    position : Position
        On WGS 84.
    accuracy_m : float
        How far it may be off because of the shift, metres.
    operation : str
        Name of the operation used.
    """

    position: Position
    accuracy_m: float
    operation: str


def to_wgs84(lat_deg: float, lon_deg: float, datum: str | int) -> DatumShift:
    """Bring a position on another datum to WGS 84.

    Parameters
    ----------
    lat_deg, lon_deg : float
        Degrees on the datum, from Greenwich.
    datum : str or int
        A name of `DATUMS`, any case, or the EPSG code of a geographic system.

    Returns
    -------
    DatumShift
        Its accuracy is the registry's, or the disagreement of the operations that cover the place
        if that is larger, or 1000 m where the registry has none or no operation covers the place.

    Raises
    ------
    FormatError
        If the datum is not known, or no operation to WGS 84 is available on this machine.

    Source
    ------
    EPSG registry as carried by PROJ.

    Examples
    --------
    >>> shift = to_wgs84(40.0, -105.0, "NAD27")
    >>> shift.operation, round(geodesic(Position(40.0, -105.0), shift.position).distance_m)
    ('NAD27 to WGS 84 (6)', 49)
    """
    place = Position(lat_deg, lon_deg)
    code = datum if isinstance(datum, int) else DATUMS.get(datum.upper().replace(" ", ""))
    if code is None:
        raise FormatError(
            f"datum {datum!r} is not known: expected one of {', '.join(DATUMS)}, or the EPSG code "
            "of a geographic system",
            str(datum),
        )
    check_geographic(code)
    found = operation_from(code, place.lon_deg, place.lat_deg)
    lat, lon = found.to_wgs84([place.lon_deg], [place.lat_deg])
    return DatumShift(Position(float(lat[0]), float(lon[0])), found.accuracy_m, found.name)


@cache
def reference_system(epsg: int) -> "CRS":
    """Reference system of an EPSG code.

    Raises
    ------
    FormatError
        If the registry does not have the code.
    """
    from pyproj import CRS  # imported late: reading a coordinate must not wait for it
    from pyproj.exceptions import CRSError

    try:
        return CRS.from_epsg(epsg)
    except CRSError:
        raise FormatError(
            f"EPSG:{epsg} is not a known reference system: ask for the number again", str(epsg)
        ) from None


def operation_from(epsg: int, x: float, y: float) -> Operation:
    """Find the operation to use for coordinates in a reference system.

    Parameters
    ----------
    epsg : int
        Code of a geographic or projected system.
    x, y : float
        Easting and northing, or longitude and latitude, in its units.

    Raises
    ------
    FormatError
        If there is no such system, no operation, or no place with these coordinates.
    """
    lon, lat = _operations(epsg)[0].transform(x, y)
    if not (math.isfinite(lat) and math.isfinite(lon)):
        raise FormatError(f"{x:g} {y:g} is no place of EPSG:{epsg}: ask for it again")
    return operation_to(epsg, Position(lat, lon))


def operation_to(epsg: int, place: Position) -> Operation:
    """Find the operation to use at a place on WGS 84: of those that cover it, the most accurate."""
    operations = _operations(epsg)
    crs = reference_system(epsg)
    geodetic = crs.geodetic_crs
    datum = geodetic.name if geodetic is not None else crs.name
    covering = [each for each in operations if _covers(each, place)]
    chosen = min(covering, key=_accuracy_m) if covering else operations[0]
    name = _name(chosen.description, crs)
    accuracy = _accuracy_m(chosen) if covering else _UNKNOWN_M
    if not name:
        return Operation(datum, "", 0.0, covers=True, _transformer=chosen)
    found = Operation(datum, name, accuracy, covers=bool(covering), _transformer=chosen)
    # The registry gives areas as boxes, which say too much: where operations that seem to cover a
    # place disagree by more than the best claims, it is no better than that.
    x, y = found.from_wgs84([place.lat_deg], [place.lon_deg])
    for other in covering:
        lon, lat = other.transform(float(x[0]), float(y[0]))
        accuracy = max(accuracy, geodesic(place, Position(lat, lon)).distance_m)
    return Operation(datum, name, accuracy, covers=bool(covering), _transformer=chosen)


@cache
def _operations(epsg: int) -> tuple[Any, ...]:
    # The package's own stub does not export the name that its manual documents.
    from pyproj.network import set_network_enabled  # type: ignore[attr-defined]
    from pyproj.transformer import TransformerGroup

    set_network_enabled(active=False)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # that a better operation lacks its grid: accuracy says it
        try:
            found = TransformerGroup(
                reference_system(epsg),
                reference_system(WGS84_EPSG),
                always_xy=True,
                allow_ballpark=False,
            ).transformers
        except IndexError:  # what pyproj raises for the few codes that have no operation at all
            found = []
    if not found:
        raise FormatError(
            f"EPSG:{epsg} ({reference_system(epsg).name}) cannot be brought to WGS 84 with what is "
            "on this machine: ask for the position on WGS 84",
            str(epsg),
        )
    return tuple(found)


def _accuracy_m(operation: Any) -> float:  # noqa: ANN401 - pyproj carries no types
    accuracy = float(operation.accuracy)
    return accuracy if accuracy >= 0.0 else _UNKNOWN_M


def _covers(operation: Any, place: Position) -> bool:  # noqa: ANN401 - pyproj carries no types
    area = operation.area_of_use
    if area is None:
        return True
    if not area.south <= place.lat_deg <= area.north:
        return False
    width = float(area.east - area.west) % 360.0 or 360.0
    return (place.lon_deg - float(area.west)) % 360.0 <= width


def _name(description: str, crs: "CRS") -> str:
    """Name of the datum operation alone, without the projection and the order of axes."""
    projection = crs.coordinate_operation
    conversion = projection.name if projection is not None else ""
    parts = [
        part
        for part in description.split(" + ")
        if not part.startswith("axis order change")
        and part not in (f"Inverse of {conversion}", conversion)
    ]
    return " + ".join(part for part in parts if not part.startswith("Null geographic offset"))


def check_geographic(epsg: int) -> None:
    """Reject a code that is not latitude and longitude in degrees from Greenwich."""
    crs = reference_system(epsg)
    meridian = crs.prime_meridian
    if (
        not crs.is_geographic
        or crs.axis_info[0].unit_name != "degree"
        or (meridian is not None and meridian.longitude != 0.0)
    ):
        raise FormatError(
            f"EPSG:{epsg} ({crs.name}) is not latitude and longitude in degrees from Greenwich: "
            "ask for the position on WGS 84",
            str(epsg),
        )
