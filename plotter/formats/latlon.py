"""Latitude and longitude as people write them: which numbers, which is which, which side."""

import math
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from plotter.errors import FormatError
from plotter.formats.latlon_tokens import Angle, split_angles
from plotter.formats.protocol import Format, Texts, squares_one_by_one
from plotter.formats.result import Reading
from plotter.formats.squares import graticule_square, metres_per_degree
from plotter.formats.zones import inside
from plotter.geodesy.angle import AngleStyle, format_angle
from plotter.geodesy.position import Area, Position

__all__ = ["FORMAT", "FORMATS", "SLACK", "format_latlon"]

# A fifth over the wished size is accepted: five decimals (1.11 m) stand for a metre. A billionth
# more, so that a size of just that much (a twelfth of a degree) is no matter of rounding.
SLACK: Final = math.log10(1.2) + 1e-9
# A tenth of a millimetre; what a calculator prints beyond that, nobody measured.
_FINEST_DEG: Final = 1e-9
_SIDE: Final = {("lat", 1): "north", ("lat", -1): "south", ("lon", 1): "east", ("lon", -1): "west"}


def format_latlon(position: Position, style: AngleStyle = "dd", decimals: int = 5) -> str:
    """Write a place as latitude and longitude with their letters, rounded to the last figure.

    Parameters
    ----------
    position : Position
        The place.
    style : {"dd", "ddm", "dms"}
        Decimal degrees, degrees and minutes, or degrees, minutes and seconds.
    decimals : int
        Decimals of the last part.

    Examples
    --------
    >>> format_latlon(Position(48.8582, 2.2945), "ddm", 3)
    "48°51.492'N 002°17.670'E"
    """
    lat = format_angle(position.lat_deg, "NS", style, decimals)
    lon = format_angle(position.lon_deg, "EW", style, decimals)
    return f"{lat} {lon}"


def _readings(text: str, area: Area | None) -> list[Reading]:
    pair = split_angles(text)
    if pair is None:
        return []
    first, second = pair
    axes = {first.axis, second.axis}
    if axes in ({"lat"}, {"lon"}):
        raise FormatError(
            f"both parts of {text!r} are a {'latitude' if 'lat' in axes else 'longitude'}: "
            "ask for the other one",
            text,
        )
    if first.axis == "lon" or second.axis == "lat":
        lat, lon, order = second, first, ""
    elif first.axis == "lat" or second.axis == "lon":
        lat, lon, order = first, second, ""
    elif first.value_deg > 90 >= second.value_deg:
        lat, lon = second, first
        order = f"longitude first: {first.value_deg:g} cannot be a latitude"
    else:
        lat, lon, order = first, second, "latitude first"
    _check_range(lat, 90.0, "latitude", text)
    _check_range(lon, 180.0, "longitude", text)
    found = [_reading(lat, lon, signs, order, why) for signs, why in _sides(lat, lon, area)]
    if order == "latitude first" and area is not None and lon.value_deg <= 90:
        found += _swapped(first, second, area, found)
    return found


def _reading(
    lat: Angle, lon: Angle, signs: tuple[int, int], order: str, why: tuple[str, ...]
) -> Reading:
    square = graticule_square(
        signs[0] * lat.value_deg,
        signs[1] * lon.value_deg,
        max(lat.unit_deg, _FINEST_DEG),
        max(lon.unit_deg, _FINEST_DEG),
    )
    return Reading("latlon", square, ((order,) if order else ()) + lat.assumed + lon.assumed + why)


_Sides: TypeAlias = list[tuple[tuple[int, int], tuple[str, ...]]]


def _sides(lat: Angle, lon: Angle, area: Area | None) -> _Sides:
    """Hemisphere signs to try, each with what it assumes: as stated, else by the area."""
    options = [
        [angle.sign] if angle.sign else [1, -1] if angle.value_deg else [1] for angle in (lat, lon)
    ]
    combinations = [(a, o) for a in options[0] for o in options[1]]
    unstated = [
        name for angle, name in ((lat, "lat"), (lon, "lon")) if not angle.sign and angle.value_deg
    ]
    plain = combinations[0]
    if not unstated:
        return [(plain, ())]

    def sides(signs: tuple[int, int]) -> str:
        by_axis = dict(zip(("lat", "lon"), signs, strict=True))
        return " and ".join(_SIDE[axis, by_axis[axis]] for axis in unstated)

    stated = f"{sides(plain)}: no letter and no sign"
    if area is None:
        return [(plain, (stated,))]
    fitting = [
        signs
        for signs in combinations
        if inside(Position(signs[0] * lat.value_deg, signs[1] * lon.value_deg), area)
    ]
    found: _Sides = [
        (signs, (f"{sides(signs)}: fits the area of operations",)) for signs in fitting
    ]
    if plain not in fitting:
        found.append((plain, (stated,)))
    return found


def _swapped(first: Angle, second: Angle, area: Area, found: list[Reading]) -> list[Reading]:
    """Longitude first, offered only where it fits the area and latitude first does not."""
    if any(_fits(reading, area) for reading in found):
        return []
    other = [
        _reading(second, first, signs, "longitude first: fits the area of operations", why)
        for signs, why in _sides(second, first, area)
    ]
    return [reading for reading in other if _fits(reading, area)]


def _fits(reading: Reading, area: Area) -> bool:
    return inside(reading.square.centre, area)


def _check_range(angle: Angle, limit: float, name: str, text: str) -> None:
    if angle.value_deg > limit:
        raise FormatError(
            f"{name} {angle.written!r} in {text!r} is beyond {limit:g} degrees: ask again for it",
            text,
        )


def _decimals(size_m: float, lat_deg: float) -> int:
    """Fewest decimals of a degree whose cell is no larger than a size, 0 to 9."""
    per_degree = max(metres_per_degree(lat_deg))
    return min(max(math.ceil(math.log10(per_degree / size_m) - SLACK), 0), 9)


def _write(position: Position, size_m: float) -> str:
    return format_latlon(position, "dd", _decimals(size_m, position.lat_deg))


def _write_array(lat_deg: ArrayLike, lon_deg: ArrayLike, size_m: float) -> Texts:
    lat, lon = np.broadcast_arrays(
        np.asarray(lat_deg, dtype=float).ravel(), np.asarray(lon_deg, dtype=float).ravel()
    )
    decimals = _decimals(size_m, 0.0)
    return np.array(
        [
            f"{format_angle(a, 'NS', 'dd', decimals)} {format_angle(o, 'EW', 'dd', decimals)}"
            for a, o in zip(lat.tolist(), lon.tolist(), strict=True)
        ],
        dtype=np.str_,
    )


FORMAT: Final = Format(
    name="latlon",
    example="48.8582N 2.2945E",
    readings=_readings,
    write=_write,
    read_array=lambda texts: squares_one_by_one(texts, _readings),
    write_array=_write_array,
)

FORMATS: Final = (FORMAT,)
