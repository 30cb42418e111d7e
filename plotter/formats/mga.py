"""The map grid of Australia: a zone, and eastings and northings on GDA2020 or GDA94."""

import re
from typing import Final

from plotter.errors import FormatError
from plotter.formats.projected import (
    Box,
    finest_unit,
    grid_reading,
    on_ground,
    pair_of,
    projected_pair,
    truncated_pair,
)
from plotter.formats.protocol import Format, squares_one_by_one, texts_one_by_one
from plotter.formats.result import Reading
from plotter.geodesy.grid import zone_of
from plotter.geodesy.position import Area, Position

__all__ = ["FORMAT", "FORMATS"]

# EPSG registry: first code of each datum, to which the zone is added, and its zones.
_DATUMS: Final = {"94": (28300, range(48, 59)), "2020": (7800, range(46, 60))}
_GROUND: Final = Box(-60.55, -8.47, 93.41, 173.34)
_BETWEEN_M: Final = 2.0  # from one datum to the other, 1.8 m (ICSM, GDA2020 technical manual)
# Compiled at the first text that may need them: most texts are in another format.
_HEAD: Final = (
    r"(?i)(?:australian\s+)?mga\s*(?P<datum>94|2020)?\b[\s,/-]*(?:zone\s*)?"
    r"(?P<zone>\d{1,2})(?P<band>[a-z])?(?!\d)[\s,:]+"
)
_NAMED: Final = r"(?i)(?:australian\s+)?mga\s*(?:94|2020|\d\d)?\b"
_EXAMPLE: Final = "MGA2020 zone 55 273741 5796490"


def _readings(text: str, _area: Area | None) -> list[Reading]:
    if "mga" not in text.lower():
        return []
    # MGA55 is zone 55; MGA94 is a datum, for there is no zone 94.
    plain = re.sub(r"(?i)^((?:australian\s+)?mga)\s*(?!94\b|2020\b)(\d\d)\b", r"\1 \2", text)
    if not re.match(_NAMED, plain):
        return []
    head = re.match(_HEAD, plain)
    pair = pair_of(plain[head.end() :], text) if head else None
    if head is None or pair is None:
        raise FormatError(
            f"{text!r} is not a reference on the Australian grid: expected a zone, an easting and "
            f"a northing, as in {_EXAMPLE}; ask for what is missing",
            text,
        )
    zone, datum = int(head["zone"]), head["datum"]
    base, zones = _DATUMS[datum or "2020"]
    if zone not in zones:
        raise FormatError(
            f"zone {zone} in {text!r} is none of the Australian grid's ({zones[0]} to "
            f"{zones[-1]}): ask for the zone",
            text,
        )
    easting, northing, unit = pair.first, pair.second, max(pair.first_unit, pair.second_unit)
    assumed: tuple[str, ...] = ()
    if pair.order == "ne" or (not pair.order and easting > 1e6 > northing):
        easting, northing = northing, easting
        if not pair.order:
            assumed = ("northing first: it has seven figures",)
    if not datum:
        assumed += (f"GDA2020: on GDA94 it would lie {_BETWEEN_M:g} m away",)
    name = f"zone {zone} of the Australian grid"
    more = 0.0 if datum else _BETWEEN_M
    return [grid_reading("mga", name, base + zone, (easting, northing), unit, text, assumed, more)]


def _zone(position: Position) -> int:
    zone = zone_of(position)
    return zone if _GROUND.holds(position) and zone in _DATUMS["2020"][1] else 0


def _covers(position: Position) -> bool:
    return _zone(position) > 0


def _write(position: Position, size_m: float) -> str:
    zone = _zone(position)
    epsg = _DATUMS["2020"][0] + zone
    if not zone or not on_ground(epsg, position):
        raise FormatError(f"{position} lies outside the Australian grid")
    pair = projected_pair(epsg, position)
    return f"MGA2020 zone {zone} {truncated_pair(pair, finest_unit(size_m))}"


FORMAT: Final = Format(
    name="mga",
    example=_EXAMPLE,
    readings=_readings,
    write=_write,
    read_array=lambda texts: squares_one_by_one(texts, _readings),
    write_array=lambda lat, lon, size_m: texts_one_by_one(lat, lon, size_m, _write),
    covers=_covers,
)

FORMATS: Final = (FORMAT,)
