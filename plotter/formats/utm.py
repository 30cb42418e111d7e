"""UTM and UPS coordinates: zone, hemisphere, easting and northing, and what is missing of them."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np

from plotter.errors import FormatError
from plotter.formats.protocol import Format, squares_one_by_one, texts_one_by_one
from plotter.formats.result import Reading
from plotter.formats.squares import square_from_outline
from plotter.formats.zones import BANDS, band_of, check_zone, inside, zones_of_area
from plotter.geodesy.arrays import FloatArray
from plotter.geodesy.grid import (
    TRUNCATION_NUDGE_M,
    UPS_NORTH,
    UPS_SOUTH,
    UTM_NORTH_LIMIT_DEG,
    UTM_SOUTH_FALSE_NORTHING_M,
    UTM_SOUTH_LIMIT_DEG,
    latlon_from_utm,
    utm_from_latlon,
    zone_of,
    zones_of,
)
from plotter.geodesy.position import Area, Position, Square

__all__ = [
    "FORMATS",
    "UPS_FORMAT",
    "UTM_FORMAT",
    "format_ups",
    "format_utm",
    "ups_square",
    "utm_square",
]

# Eastings further than this from the central meridian belong to another zone even at the equator
# with a generous overlap (DMA TM 8358.2 prints 166 km to 834 km).
_EASTING: Final = (100_000.0, 900_000.0)
_NORTHING: Final = {False: (0.0, 9_350_000.0), True: (1_100_000.0, 10_000_000.0)}
_UPS_RANGE: Final = (800_000.0, 3_200_000.0)
_UPS_OVERLAP_DEG: Final = 0.5  # DMA TM 8358.2, 3-1: UPS maps reach 30 minutes into UTM
_NUMBER: Final = r"\d+(?:\.\d+)?"
_EN: Final = re.compile(
    rf"(?P<e1>e(?:asting)?)?\W*(?P<a>{_NUMBER})\s*(?P<ua>m?\s*[en]|m)?[\s,;/]+"
    rf"(?P<n1>n(?:orthing)?)?\W*(?P<b>{_NUMBER})\s*(?P<ub>m?\s*[en]|m)?",
    re.IGNORECASE,
)
# The whole degrees of 48.661578 are no zone.
_HEAD: Final = re.compile(
    r"(?:utm\b\W*)?(?:zone\b\W*)?(?P<zone>\d{1,2})(?!\.\d)\s*(?P<band>[a-z])?\b\W*"
    r"(?P<hemisphere>north|south|\((?:north|south)\))?(?:ern)?(?:\s+hemisphere)?\W*(?=\d|e|n)",
    re.IGNORECASE,
)
_UPS_HEAD: Final = re.compile(
    r"(?:ups\b\W*)?(?:(?P<letter>[abyz])|(?P<hemisphere>n|s|north|south))\b\W*(?=\d|e|n)",
    re.IGNORECASE,
)


_Inverse: TypeAlias = Callable[[FloatArray, FloatArray], tuple[FloatArray, FloatArray]]


@dataclass(frozen=True, slots=True)
class _Grid:
    """Easting and northing as written, metres, each with one unit of its last figure."""

    easting_m: float
    northing_m: float
    easting_unit_m: float
    northing_unit_m: float
    assumed: tuple[str, ...] = ()


def utm_square(
    zone: int, easting_m: float, northing_m: float, unit_m: float = 1.0, *, south: bool
) -> Square:
    """Square whose south-west corner has the given UTM coordinates (they truncate).

    Raises
    ------
    FormatError
        If the coordinates are outside what UTM covers.
    """
    return _square(
        lambda e, n: latlon_from_utm(e, n, zone, south=south), easting_m, northing_m, unit_m
    )


def ups_square(easting_m: float, northing_m: float, unit_m: float = 1.0, *, south: bool) -> Square:
    """Square whose lower left corner has the given UPS coordinates (they truncate)."""
    grid = UPS_SOUTH if south else UPS_NORTH
    return _square(grid.inverse, easting_m, northing_m, unit_m)


def _square(inverse: _Inverse, easting_m: float, northing_m: float, unit_m: float) -> Square:
    steps = np.array([0.5, 0.0, 1.0, 1.0, 0.0]), np.array([0.5, 0.0, 0.0, 1.0, 1.0])
    lat, lon = inverse(easting_m + steps[0] * unit_m, northing_m + steps[1] * unit_m)
    points = [(min(max(float(a), -90.0), 90.0), float(o)) for a, o in zip(lat, lon, strict=True)]
    return square_from_outline(points[1:], points[0], unit_m)


def format_utm(position: Position, unit_m: float = 1.0) -> str:
    """Write a place in UTM, truncated, with zone and band.

    The word north follows the band letter S, which alone could be taken for south.

    Examples
    --------
    >>> format_utm(Position(48.8582, 2.2945))
    '31U 448251 5411932'
    >>> format_utm(Position(38.889467, -77.035240))
    '18S north 323483 4306479'
    """
    zone = zone_of(position)
    if not zone:
        raise FormatError(f"latitude {position.lat_deg:g} is outside UTM; use UPS")
    easting, northing = utm_from_latlon([position.lat_deg], [position.lon_deg], zone)
    band = band_of(position.lat_deg)
    north_m = float(northing[0])
    if position.lat_deg < 0:  # a hair south of the equator is still south of it
        north_m = min(north_m, UTM_SOUTH_FALSE_NORTHING_M - unit_m / 2)
    return (
        f"{zone:02d}{band}{' north' if band == 'S' else ''} "
        f"{_truncated(float(easting[0]), unit_m)} {_truncated(north_m, unit_m, 7)}"
    )


def format_ups(position: Position, unit_m: float = 1.0) -> str:
    """Write a place near a pole in UPS, truncated, with its polar letter.

    Examples
    --------
    >>> format_ups(Position(84.0, 84.0))
    'Z 2663075 1930307'
    """
    south = position.lat_deg < 0
    grid = UPS_SOUTH if south else UPS_NORTH
    easting, northing = grid.forward([position.lat_deg], [position.lon_deg])
    letter = ("AB" if south else "YZ")[int(float(easting[0]) >= 2_000_000.0)]
    return (
        f"{letter} {_truncated(float(easting[0]), unit_m, 7)} "
        f"{_truncated(float(northing[0]), unit_m, 7)}"
    )


def _truncated(value_m: float, unit_m: float, width: int = 6) -> str:
    value_m += TRUNCATION_NUDGE_M
    if unit_m >= 1.0:
        return f"{int(value_m // unit_m * unit_m):0{width}d}"
    decimals = 1 if unit_m >= 0.1 else 2 if unit_m >= 0.01 else 3
    scale = 10**decimals
    whole, part = divmod(int(value_m * scale), scale)
    return f"{whole:0{width}d}.{part:0{decimals}d}"


def _grid(body: str, text: str) -> _Grid | None:
    match = _EN.fullmatch(body.strip())
    if match is None:
        return None
    a, b = match["a"], match["b"]
    letters = [
        (match["e1"] or "")[:1] or (match["ua"] or "")[-1:],
        (match["n1"] or "")[:1] or (match["ub"] or "")[-1:],
    ]
    first, second = (letter.lower().replace("m", "") for letter in letters)
    assumed: tuple[str, ...] = ()
    if first == "n" and second != "n":
        a, b = b, a
    elif not first and not second and float(a) > 1e6 > float(b):
        a, b, assumed = b, a, ("northing first: it has seven figures",)
    elif first == second and first:
        raise FormatError(f"both numbers of {text!r} are called {first!r}: ask for the other", text)
    units = [10.0 ** -len(number.partition(".")[2]) for number in (a, b)]
    return _Grid(float(a), float(b), units[0], units[1], assumed)


def _utm_readings(text: str, area: Area | None) -> list[Reading]:
    plain = text.strip()
    head = _HEAD.match(plain)
    if head is None or (grid := _grid(plain[head.end() :], text)) is None:
        bare = re.sub(r"^utm\b\W*", "", plain, flags=re.IGNORECASE)
        grid = _grid(bare, text)
        # Five figures a side and fewer are the inside of a 100 km square, not UTM.
        if grid is None or min(grid.easting_m, grid.northing_m) < 100_000.0:
            return []
        return _complete_zone(grid, area, text)
    zone = int(head["zone"])
    if grid.easting_m < 100_000.0 and grid.northing_m < 100_000.0:
        return []  # small numbers: a square reference or degrees
    check_zone(zone, text)
    band = (head["band"] or "").upper()
    word = (head["hemisphere"] or "").strip("()").lower()
    if band and band not in BANDS:
        raise FormatError(
            f"{band!r} in {text!r} is not a UTM band: bands are C to X without I and O", text
        )
    if word:
        south = word == "south"
        if band and band != "S" and (band < "N") != south:
            raise FormatError(f"band {band} in {text!r} is not in the {word}: ask which", text)
        if band == "S" and not south:
            return [_utm_reading(zone, grid, text, south=False)]
        return [_utm_reading(zone, grid, text, south=south, band=band if band != "S" else "")]
    if band == "S":
        return _letter_s(zone, grid, text)
    if band == "N":
        return [_utm_reading(zone, grid, text, south=False)]
    if band:
        return [_utm_reading(zone, grid, text, south=band < "N", band=band)]
    return _complete_hemisphere(zone, grid, area, text)


def _utm_reading(
    zone: int,
    grid: _Grid,
    text: str,
    assumed: tuple[str, ...] = (),
    *,
    south: bool,
    band: str = "",
) -> Reading:
    for value, (low, high), name in (
        (grid.easting_m, _EASTING, "easting"),
        (grid.northing_m, _NORTHING[south], "northing"),
    ):
        if not low <= value < high:
            raise FormatError(
                f"{name} {value:.0f} in {text!r} is outside {low:.0f} to {high:.0f} m"
                f"{' of the southern hemisphere' if south and name == 'northing' else ''}: "
                "ask for it again",
                text,
            )
    unit = max(grid.easting_unit_m, grid.northing_unit_m)
    square = utm_square(zone, grid.easting_m, grid.northing_m, unit, south=south)
    # A square on the edge of a band or zone belongs to both of them.
    places = (square.centre, *square.corners)
    lats = [p.lat_deg for p in places if UTM_SOUTH_LIMIT_DEG <= p.lat_deg < UTM_NORTH_LIMIT_DEG]
    if not lats:
        raise FormatError(
            f"{text!r} is at latitude {square.centre.lat_deg:.2f}, outside UTM: ask for it in UPS",
            text,
        )
    if band and band not in {band_of(lat) for lat in lats}:
        raise FormatError(
            f"northing {grid.northing_m:.0f} in {text!r} lies in band {band_of(lats[0])}, not "
            f"{band}: ask for the band letter and the northing again",
            text,
        )
    zones = zones_of([p.lat_deg for p in places], [p.lon_deg for p in places])
    if zone not in zones:
        why = f"taken in zone {zone} though the place itself lies in zone {zones[0]}"
        assumed = (*assumed, why)
    return Reading("utm", square, grid.assumed + assumed)


def _letter_s(zone: int, grid: _Grid, text: str) -> list[Reading]:
    """S is a band north of the equator and, for many, the southern hemisphere: give both."""
    found: list[Reading] = []
    for south, meaning in (
        (False, "S is the band from 32 to 40 north; it could also mean the southern hemisphere"),
        (True, "S is the southern hemisphere; it could also be the band from 32 to 40 north"),
    ):
        try:
            found.append(
                _utm_reading(zone, grid, text, (meaning,), south=south, band="" if south else "S")
            )
        except FormatError:
            continue
    if not found:
        return [_utm_reading(zone, grid, text, south=True)]
    if len(found) == 1 and found[0].square.centre.lat_deg < 0:
        only = "S is the southern hemisphere: the northing does not fit band S"
        return [Reading("utm", found[0].square, (*grid.assumed, only))]
    return found


def _complete_hemisphere(zone: int, grid: _Grid, area: Area | None, text: str) -> list[Reading]:
    if area is None:
        raise FormatError(
            f"{text!r} does not say the hemisphere: add the band letter, or the word north or "
            "south, or give the area of operations",
            text,
        )
    found = _candidates(((zone, False), (zone, True)), grid, text, area, "{side}")
    if found:
        return found
    south = area.centre.lat_deg < 0
    why = f"{'south' if south else 'north'}, from the area of operations"
    return [_utm_reading(zone, grid, text, (why,), south=south)]


def _complete_zone(grid: _Grid, area: Area | None, text: str) -> list[Reading]:
    if area is None:
        raise FormatError(
            f"{text!r} does not say the UTM zone: ask for it, or give the area of operations", text
        )
    zones = zones_of_area(area)
    found = _candidates(zones, grid, text, area, "zone {zone} {side}")
    if found or not zones:
        return found
    zone, south = zones[0]
    why = f"zone {zone} {'south' if south else 'north'}, from the area of operations"
    return [_utm_reading(zone, grid, text, (why,), south=south)]


def _candidates(
    zones: tuple[tuple[int, bool], ...], grid: _Grid, text: str, area: Area, added: str
) -> list[Reading]:
    """Readings in each zone and hemisphere that fall inside the area."""
    found: list[Reading] = []
    for zone, south in zones:
        side = "south" if south else "north"
        why = f"{added.format(zone=zone, side=side)}, from the area of operations"
        try:
            reading = _utm_reading(zone, grid, text, (why,), south=south)
        except FormatError:
            continue
        if inside(reading.square.centre, area):
            found.append(reading)
    return found


def _ups_readings(text: str, _area: Area | None) -> list[Reading]:
    plain = text.strip()
    head = _UPS_HEAD.match(plain)
    if head is None:
        return []
    grid = _grid(plain[head.end() :], text)
    if grid is None or min(grid.easting_m, grid.northing_m) < 100_000.0:
        return []
    letter = (head["letter"] or "").upper()
    south = letter in "AB" if letter else (head["hemisphere"] or "")[0].lower() == "s"
    for value, name in ((grid.easting_m, "easting"), (grid.northing_m, "northing")):
        if not _UPS_RANGE[0] <= value < _UPS_RANGE[1]:
            raise FormatError(
                f"{name} {value:.0f} in {text!r} is outside UPS (800000 to 3200000 m): ask again",
                text,
            )
    if letter and (letter in "AY") != (grid.easting_m < 2_000_000.0):
        raise FormatError(
            f"easting {grid.easting_m:.0f} in {text!r} is on the other side of the pole than "
            f"{letter}: ask for the letter and the easting again",
            text,
        )
    unit = max(grid.easting_unit_m, grid.northing_unit_m)
    square = ups_square(grid.easting_m, grid.northing_m, unit, south=south)
    lat = square.centre.lat_deg
    if UTM_SOUTH_LIMIT_DEG + _UPS_OVERLAP_DEG < lat < UTM_NORTH_LIMIT_DEG - _UPS_OVERLAP_DEG:
        raise FormatError(
            f"{text!r} is at latitude {lat:.2f}, outside UPS: ask for it in UTM", text
        )
    return [Reading("ups", square, grid.assumed)]


def _unit(size_m: float) -> float:
    """Finest decimal unit of a metre that is no larger than a size, 0.001 to 1."""
    return next((unit for unit in (1.0, 0.1, 0.01) if unit <= size_m), 0.001)


def _write_utm(position: Position, size_m: float) -> str:
    return format_utm(position, _unit(size_m))


def _write_ups(position: Position, size_m: float) -> str:
    return format_ups(position, _unit(size_m))


UTM_FORMAT: Final = Format(
    name="utm",
    example="31U 448251 5411932",
    readings=_utm_readings,
    write=_write_utm,
    read_array=lambda texts: squares_one_by_one(texts, _utm_readings),
    write_array=lambda lat, lon, size_m: texts_one_by_one(lat, lon, size_m, _write_utm),
    covers=lambda position: zone_of(position) > 0,
)
UPS_FORMAT: Final = Format(
    name="ups",
    example="Z 2663075 1930307",
    readings=_ups_readings,
    write=_write_ups,
    read_array=lambda texts: squares_one_by_one(texts, _ups_readings),
    write_array=lambda lat, lon, size_m: texts_one_by_one(lat, lon, size_m, _write_ups),
    covers=lambda position: zone_of(position) == 0,
)

FORMATS: Final = (UTM_FORMAT, UPS_FORMAT)
