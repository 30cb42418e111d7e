"""What a garbled grid reference may have meant: squares of the area, each with its slips."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from plotter.formats.mgrs_area import squares_about, zones_about
from plotter.formats.zones import BANDS, band_of, ground_of
from plotter.geodesy.arrays import BoolArray, FloatArray, IntArray, as_float, half_turn_deg
from plotter.geodesy.grid import (
    UTM_NORTH_LIMIT_DEG,
    UTM_SOUTH_FALSE_NORTHING_M,
    UTM_SOUTH_LIMIT_DEG,
    utm_zone_grid,
)
from plotter.geodesy.position import Area
from plotter.voice.candidates import Candidates, pairs, reach_of
from plotter.voice.channel import MOST_SLIPS, SLIP_RATE, Meant, meant_runs
from plotter.voice.fields import Fields
from plotter.voice.mistakes import kind_rate

__all__ = ["grid_candidates"]

_HALF_SQUARE_M: Final = 50_000.0
_UTM_EAST, _UTM_NORTH = 6, 7
_LETTERS: Final = 2
# Farther across than this a zone's plane is no map of the area.
_PLANE_M: Final = 150_000.0
_MOST_PLANES: Final = 64
_EDGE_DEG: Final = 0.01


@dataclass(frozen=True, slots=True)
class _Plane:
    """A part of the area on one grid: what stands before the figures, and where they count from."""

    prefix: str
    zone: int
    east_m: float
    north_m: float


def grid_candidates(fields: Fields, area: Area) -> Iterator[Candidates]:
    """Places in or near an area that a garbled MGRS or UTM reference may have meant.

    Parameters
    ----------
    fields : Fields
        The text taken apart.
    area : Area
        The area of operations.
    """
    planes = _squares(area) if fields.format == "mgrs" else _zones(area)
    prefixes = _with_chances(planes, fields)
    for slips in reversed(range(MOST_SLIPS)):
        # In a large area so many squares are two slips away that they tell nothing.
        if len(prefixes) > _MOST_PLANES:
            prefixes = [each for each in prefixes if each[2] <= slips]
    if len(prefixes) > _MOST_PLANES:
        return
    for east, north, sure, kind in _figures(fields):
        for lengths in _lengths(fields.format, east, north):
            yield from _combined(fields, prefixes, (east, north), lengths, sure, kind, area)


def _figures(fields: Fields) -> Iterator[tuple[str, str, float, str]]:
    """Easting and northing as received, in every way they may have been cut and exchanged."""
    east, north, run = (fields.get(name) for name in ("easting", "northing", "figures"))
    exchanged = SLIP_RATE * kind_rate("easting and northing")
    kind = "easting and northing swapped: northing said before easting"
    if east and north:
        yield east.text, north.text, 1.0, ""
        if east.text != north.text:
            yield north.text, east.text, exchanged, kind
    elif run:
        half, odd = divmod(len(run.text), 2)
        cuts = [half, half + 1] if odd else [half]
        for cut in cuts:
            yield run.text[:cut], run.text[cut:], 1.0, ""
        if not odd and run.text[:half] != run.text[half:]:
            yield run.text[half:], run.text[:half], exchanged, kind


def _lengths(name: str, east: str, north: str) -> list[tuple[int, int]]:
    if name == "utm":
        return [(_UTM_EAST, _UTM_NORTH)]
    low, high = sorted((len(east), len(north)))
    return [(n, n) for n in range(max(low, 1), min(high, 5) + 1)] or [(5, 5)]


@lru_cache(maxsize=8)
def _squares(area: Area) -> tuple[_Plane, ...]:
    """The 100 km squares that an area and its surroundings reach into."""
    corners = squares_about(Area(area.centre, reach_of(area)))
    if not corners.zone.size:
        return ()
    ends = as_float([0.0, 0.0, 2.0, 2.0, 1.0]) * _HALF_SQUARE_M
    lat, lon = corners.latlon(ends, as_float([0.0, 2.0, 0.0, 2.0, 1.0]) * _HALF_SQUARE_M)
    found = []
    for i, zone in enumerate(corners.zone.tolist()):
        for band in sorted({_band(float(lat[i].min())), _band(float(lat[i].max()))}):
            ground = ground_of(zone, band)
            off = half_turn_deg(lon[i] - 6.0 * zone + 183.0) + 6.0 * zone - 183.0
            if ground and off.min() < ground.east_deg and off.max() >= ground.west_deg:
                prefix = f"{zone:02d}{band}{corners.letters(i)}"
                found.append(
                    _Plane(prefix, zone, float(corners.east_m[i]), float(corners.north_m[i]))
                )
    return tuple(found)


@lru_cache(maxsize=8)
def _zones(area: Area) -> tuple[_Plane, ...]:
    """The UTM zones of an area; northings in the south count from the false one."""
    return tuple(
        _Plane(zone, int(zone[:2]), 0.0, -UTM_SOUTH_FALSE_NORTHING_M if zone[2] < "N" else 0.0)
        for zone in zones_about(Area(area.centre, reach_of(area)))
    )


def _band(lat_deg: float) -> str:
    return band_of(min(max(lat_deg, UTM_SOUTH_LIMIT_DEG), UTM_NORTH_LIMIT_DEG - 1e-9))


def _with_chances(
    planes: tuple[_Plane, ...], fields: Fields
) -> list[tuple[_Plane, float, int, str]]:
    """The parts of the area whose prefix may be the received one: chance, slips, kind."""
    field = fields.get("prefix")
    received = field.text if field else ""
    if received[:1].isdigit() and not received[1:2].isdigit():
        received = f"0{received}"
    if not received:
        return [(plane, 1.0, 0, "") for plane in planes]
    found: dict[str, tuple[_Plane, float, int, str]] = {}
    zone_or_band = SLIP_RATE * kind_rate("zone or band") / 4.0
    for said in zip(*(_said_parts(plane.prefix, received, fields.format) for plane in planes),
                    strict=True):  # fmt: skip
        runs = meant_runs(received, len(said[0]), fields.characters())
        if not runs.slips.size:
            continue
        chances, slips = runs.of(said)
        for i, plane in enumerate(planes):
            chance, count, kind = float(chances[i]), int(slips[i]), ""
            if said[i] != received and (near := _neighbours(received, said[i])):
                kind = f"wrong zone or band: {near[1]} was said as {near[0]}"
                chance, count = chance + zone_or_band, 1
            known = found.get(plane.prefix)
            if chance > 0.0 and (known is None or chance > known[1]):
                found[plane.prefix] = (plane, chance, count, kind)
    return list(found.values())


def _said_parts(prefix: str, received: str, name: str) -> tuple[str, ...]:
    """As much of a prefix as the received text says: all, or its letters alone."""
    if name == "utm":
        if not received[-1:].isalpha():
            return (prefix[:2],)
        if received[-1] in "NS":  # a band, or the hemisphere; every place has one of them
            return prefix, prefix[:2] + ("N" if prefix[2] >= "N" else "S")
        return (prefix,)
    if received[:1].isdigit():
        return (prefix,)
    return (prefix[-2:] if len(received) <= _LETTERS else prefix[2:],)


def _neighbours(received: str, meant: str) -> tuple[str, str] | None:
    """Received and meant zone and band, where they lie side by side and the rest is equal."""
    if len(received) != len(meant) or received[3:] != meant[3:] or not received[:2].isdigit():
        return None
    zones = (int(meant[:2]) - int(received[:2])) % 60
    ours, theirs = (BANDS.find(each[2:3]) for each in (received, meant))
    beside = zones in (1, 59) and received[2:3] == meant[2:3]
    if not beside and not (zones == 0 and abs(ours - theirs) == 1 and min(ours, theirs) >= 0):
        return None
    return received[:3], meant[:3]


def _combined(
    fields: Fields,
    prefixes: list[tuple[_Plane, float, int, str]],
    received: tuple[str, str],
    lengths: tuple[int, int],
    sure: float,
    kind: str,
    area: Area,
) -> Iterator[Candidates]:
    """Every easting with every northing behind each prefix, near enough and with few slips."""
    total = fields.characters()
    easts, norths = (meant_runs(r, n, total) for r, n in zip(received, lengths, strict=True))
    side = 1.0 if fields.format == "utm" else 10.0 ** (5 - lengths[0])
    if not easts.slips.size or not norths.slips.size:
        return
    east_m, north_m = ((each.values() + 0.5) * side for each in (easts, norths))
    limit_m = reach_of(area) * 1.01 + side
    for plane, chance, slips, named in prefixes:
        left = MOST_SLIPS - slips - (1 if kind else 0)
        if left < 0:
            continue
        x, y = east_m + plane.east_m, north_m + plane.north_m
        middle = _middle(area, plane.zone)
        ours, theirs = np.arange(x.size), np.arange(y.size)
        if area.radius_m < _PLANE_M:
            ours = ours[np.abs(x - middle[0]) <= limit_m]
            theirs = theirs[np.abs(y - middle[1]) <= limit_m]
        i, j = pairs(easts.slips[ours], norths.slips[theirs], left)
        i, j = ours[i], theirs[j]
        if area.radius_m < _PLANE_M:
            near = np.hypot(x[i] - middle[0], y[j] - middle[1]) <= limit_m
            i, j = i[near], j[near]
        if not i.size:
            continue
        grid = utm_zone_grid(plane.zone, south=False)
        lat, lon = grid.inverse(x[i], y[j])
        ok = _in_ground(plane, lat, lon)
        i, j = i[ok], j[ok]
        # Two slips in two places come about in two orders.
        here = easts.slips[i] + norths.slips[j]
        parts = (easts.slips[i] > 0).astype(int) + (norths.slips[j] > 0) + (slips > 0) + bool(kind)
        yield Candidates(
            lat[ok],
            lon[ok],
            sure * chance * easts.chance[i] * norths.chance[j] * np.where(parts > 1, 2.0, 1.0),
            here + slips + (1 if kind else 0),
            side * side,
            "; ".join(each for each in (named, kind) if each),
            _Texts(fields, plane.prefix, easts, norths, i, j),
            _undone(received, kind, plane.prefix if named else ""),
        )


def _undone(received: tuple[str, str], kind: str, prefix: str) -> dict[str, str]:
    """What was received, once a slip of the whole text is undone."""
    found = {"prefix": prefix} if prefix else {}
    if kind:
        east, north = received
        found |= {"easting": east, "northing": north, "figures": east + north}
    return found


@dataclass(frozen=True, slots=True)
class _Texts:
    """What stands in the fields of each candidate."""

    fields: Fields
    prefix: str
    easts: Meant
    norths: Meant
    i: IntArray
    j: IntArray

    def __call__(self, at: int) -> dict[str, str]:
        east, north = self.easts.text(int(self.i[at])), self.norths.text(int(self.j[at]))
        field = self.fields.get("prefix")
        said = {"easting": east, "northing": north, "figures": east + north}
        if field:
            parts = _said_parts(self.prefix, field.text, self.fields.format)
            as_it_is = field.text in parts or f"0{field.text}" in parts
            said["prefix"] = field.text if as_it_is else parts[0]
        return {each.name: said[each.name] for each in self.fields.fields}


@lru_cache(maxsize=64)
def _middle(area: Area, zone: int) -> tuple[float, float]:
    """The area's middle on a zone's plane; northings from the equator."""
    east, north = utm_zone_grid(zone, south=False).forward(
        [area.centre.lat_deg], [area.centre.lon_deg]
    )
    return float(east[0]), float(north[0])


def _in_ground(plane: _Plane, lat_deg: FloatArray, lon_deg: FloatArray) -> BoolArray:
    """Which places lie in the zone and band that the prefix says, or on their edge."""
    ground = ground_of(plane.zone, plane.prefix[2])
    if ground is None:
        return np.zeros(lat_deg.shape, dtype=bool)
    middle = (ground.west_deg + ground.east_deg) / 2.0
    off = (
        np.abs(half_turn_deg(lon_deg - middle))
        <= (ground.east_deg - ground.west_deg) / 2.0 + _EDGE_DEG
    )
    inside: BoolArray = (
        off & (lat_deg >= ground.south_deg - _EDGE_DEG) & (lat_deg < ground.north_deg + _EDGE_DEG)
    )
    return inside
