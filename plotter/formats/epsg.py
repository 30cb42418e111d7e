"""Any projected reference system by its number: EPSG:28992 155000 463000, easting first."""

import re
from typing import Final

from plotter.errors import FormatError
from plotter.formats.projected import (
    finest_unit,
    grid_pair_readings,
    pair_of,
    projected_pair,
    truncated_pair,
)
from plotter.formats.protocol import Format, squares_one_by_one, texts_one_by_one
from plotter.formats.result import Reading
from plotter.geodesy.grid import zone_of
from plotter.geodesy.position import Area, Position

__all__ = ["FORMAT", "FORMATS", "format_epsg"]

_HEAD: Final = r"(?i:epsg)\s*:?\s*(\d{4,6})\b[\s,:]*"


def format_epsg(position: Position, epsg: int, unit: float = 1.0) -> str:
    """Write a place on a projected system, easting first, truncated.

    Parameters
    ----------
    position : Position
        The place.
    epsg : int
        Code of a projected system.
    unit : float
        1, 0.1, 0.01 or 0.001 of the system's own unit.

    Examples
    --------
    >>> format_epsg(Position(52.1551723, 5.3872036), 28992)
    'EPSG:28992 155000 463000'
    """
    return f"EPSG:{epsg} {truncated_pair(projected_pair(epsg, position), unit)}"


def _readings(text: str, _area: Area | None) -> list[Reading]:
    head = re.match(_HEAD, text) if text[:4].lower() == "epsg" else None
    if head is None:
        return []
    epsg = int(head[1])
    pair = pair_of(text[head.end() :], text)
    if pair is None:
        raise FormatError(
            f"{text!r} does not give an easting and a northing: expected two numbers after the "
            "code, as in EPSG:28992 155000 463000",
            text,
        )
    return grid_pair_readings("epsg", f"the ground of EPSG:{epsg}", epsg, pair, text)


def _write(position: Position, size_m: float) -> str:
    """UTM on WGS 84 under its own number, of the hemisphere and zone of the place.

    The registry knows plain zones of six degrees: the exceptions of Norway and Svalbard are MGRS's.
    """
    if not zone_of(position):
        raise FormatError(f"{position} is outside UTM: name a system, as in format_epsg")
    zone = min(int((position.lon_deg + 180.0) // 6.0), 59) + 1
    return format_epsg(
        position, (32600 if position.lat_deg >= 0 else 32700) + zone, finest_unit(size_m)
    )


FORMAT: Final = Format(
    name="epsg",
    example="EPSG:28992 155000 463000",
    readings=_readings,
    write=_write,
    read_array=lambda texts: squares_one_by_one(texts, _readings),
    write_array=lambda lat, lon, size_m: texts_one_by_one(lat, lon, size_m, _write),
    covers=lambda position: zone_of(position) > 0,
)

FORMATS: Final = (FORMAT,)
