"""What garbled degrees may have meant: places in or near the area."""

import itertools
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from plotter.formats.squares import metres_per_degree
from plotter.geodesy.arrays import FloatArray, IntArray, as_float
from plotter.geodesy.position import Area
from plotter.voice.candidates import Candidates, pairs, reach_of
from plotter.voice.channel import MOST_SLIPS, SLIP_RATE, Meant, meant_runs
from plotter.voice.fields import Fields
from plotter.voice.mistakes import kind_rate

__all__ = ["angle_candidates"]

_SIGNS: Final = {"N": 1, "E": 1, "": 1, "S": -1, "W": -1, "-": -1}
_OTHER: Final = {"N": "S", "S": "N", "E": "W", "W": "E", "-": "", "": "-"}
# A number without letter or sign is on the other side this often: assumed, as people far from the
# other hemisphere leave it out.
_SIDE_LEFT_OUT: Final = 0.2
# Latitude and longitude are seldom said with unlike numbers of decimals: assumed.
_UNLIKE: Final = 0.05
_SEXAGESIMAL: Final = 60
_QUARTER: Final = 90.0


# Middle of the values that are looked for, how far they reach to both sides, and the largest there
# is, degrees.
_Span = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class _Values:
    """What one number may have meant: degrees with their sign, and the runs they are made of."""

    degrees: FloatArray
    chance: FloatArray
    slips: IntArray
    sign: IntArray
    picks: IntArray  # (n, runs)
    runs: tuple[Meant, ...]
    decimals: int
    unit_deg: float


@dataclass(frozen=True, slots=True)
class _Number:
    """An angle as received: its whole parts, decimals and side, and whether zeros are written."""

    parts: tuple[str, ...]
    decimals: str
    mark: str
    padded: bool

    def text(self) -> str:
        """Its figures with blanks and a point."""
        return " ".join(self.parts) + (f".{self.decimals}" if self.decimals else "")


def _number(text: str, mark: str, *, padded: bool) -> _Number:
    whole = "".join(c if c.isdigit() else " " for c in text).split()
    if "." in text and len(whole) > 1:
        return _Number(tuple(whole[:-1]), whole[-1], mark, padded)
    return _Number(tuple(whole), "", mark, padded)


def angle_candidates(fields: Fields, area: Area) -> Iterator[Candidates]:
    """Places in or near an area that garbled degrees may have meant.

    Parameters
    ----------
    fields : Fields
        The text taken apart.
    area : Area
        The area of operations.
    """
    lat, lon, ns, ew = (
        fields.get(name) for name in ("latitude", "longitude", "latitude side", "longitude side")
    )
    if not (lat and lon and ns and ew):
        return
    padded = re.search(r"\D0\d(?!\d)", f"{lat.text} {lon.text}") is not None
    first = _number(lat.text, ns.text, padded=padded)
    second = _number(lon.text, ew.text, padded=padded)
    yield from _joint(fields, first, second, 1.0, 0, "", area)
    exchanged = "latitude and longitude swapped: longitude said before latitude"
    rate = SLIP_RATE * kind_rate("latitude and longitude")
    turned = (replace(second, mark=first.mark), replace(first, mark=second.mark))
    yield from _joint(fields, *turned, rate, 1, exchanged, area)
    minutes = SLIP_RATE * kind_rate("degrees for minutes") / 2.0
    both = (first, second)
    if all(len(n.parts) == 1 and len(n.decimals) > 1 for n in both):
        kind = "decimal degrees for minutes: degrees and minutes were written as decimal degrees"
        apart = [
            replace(n, parts=(*n.parts, n.decimals[:2]), decimals=n.decimals[2:]) for n in both
        ]
        yield from _joint(fields, apart[0], apart[1], minutes, 1, kind, area)
    if all(len(n.parts) == 2 and len(n.parts[1]) == 2 and n.decimals for n in both):
        kind = "minutes for decimal degrees: decimal degrees were written as degrees and minutes"
        apart = [replace(n, parts=n.parts[:1], decimals=n.parts[1] + n.decimals) for n in both]
        yield from _joint(fields, apart[0], apart[1], minutes, 1, kind, area)


def _joint(
    fields: Fields, lat: _Number, lon: _Number, sure: float, slips: int, kind: str, area: Area
) -> Iterator[Candidates]:
    total = fields.characters()
    per_lat, per_lon = metres_per_degree(area.centre.lat_deg)
    reach_m = reach_of(area)
    left = MOST_SLIPS - slips
    finest = {len(lat.decimals), len(lon.decimals)}
    half_lat = reach_m / per_lat
    half_lon = min(reach_m / max(per_lon * _narrowing(area, half_lat), 1.0), 180.0)
    lats = [
        each
        for decimals in finest
        for each in _values(lat, decimals, total, left, (area.centre.lat_deg, half_lat, 90.0))
    ]
    lons = [
        each
        for decimals in finest
        for each in _values(lon, decimals, total, left, (area.centre.lon_deg, half_lon, 180.0))
    ]
    for a in lats:
        for b in lons:
            i, j = pairs(a.slips, b.slips, left)
            if not i.size:
                continue
            alike = 1.0 if a.decimals == b.decimals else _UNLIKE
            parts = (a.slips[i] > 0).astype(int) + (b.slips[j] > 0) + (slips > 0)
            yield Candidates(
                a.degrees[i],
                b.degrees[j],
                sure * alike * a.chance[i] * b.chance[j] * np.where(parts > 1, 2.0, 1.0),
                a.slips[i] + b.slips[j] + slips,
                a.unit_deg * per_lat * b.unit_deg * per_lon,
                kind,
                _Texts(a, b, i, j, lat.mark, lon.mark),
                {"latitude": lat.text(), "longitude": lon.text()} if kind else {},
                kind.startswith(("decimal", "minutes")),
            )


def _narrowing(area: Area, half_lat_deg: float) -> float:
    """How much shorter a degree of longitude gets at the area's poleward edge."""
    lat = abs(area.centre.lat_deg)
    edge = np.cos(np.radians(min(lat + half_lat_deg, 89.9)))
    return float(edge / max(np.cos(np.radians(lat)), 1e-9))


def _values(
    number: _Number, decimals: int, total: int, most: int, span: _Span
) -> Iterator[_Values]:
    """Every value of one number within a span, with its slips."""
    whole, *parts = number.parts
    degrees = range(max(len(whole) - 1, 1), min(len(whole) + 1, 3) + 1)
    # Minutes and seconds have two figures; one stands for itself where zeros are left out.
    widths = [(2,) if len(part) > 1 else (1, 2) for part in parts]
    for lengths in itertools.product(degrees, *widths):
        runs = [
            meant_runs(part, length, total)
            for part, length in zip(number.parts, lengths, strict=True)
        ]
        scales = [60.0**-k for k in range(len(runs))]
        if decimals:
            runs.append(meant_runs(number.decimals, decimals, total))
            scales.append(scales[-1] * 10.0**-decimals)
        sure = _UNLIKE if number.padded and 1 in lengths[1:] else 1.0
        yield from _merged(tuple(runs), scales, decimals, number, sure, most, span)


def _merged(
    runs: tuple[Meant, ...],
    scales: Sequence[float],
    decimals: int,
    number: _Number,
    sure: float,
    most: int,
    span: _Span,
) -> Iterator[_Values]:
    degrees, chance = as_float(runs[0].values()), runs[0].chance * sure
    slips, picks = runs[0].slips, np.arange(runs[0].slips.size)[:, None]
    near = _reachable(degrees, 1.0, span)
    degrees, chance, slips, picks = degrees[near], chance[near], slips[near], picks[near]
    for k, (run, scale) in enumerate(zip(runs[1:], scales[1:], strict=True), start=1):
        i, j = pairs(slips, run.slips, most)
        value = run.values()[j]
        if k < len(number.parts):
            real = value < _SEXAGESIMAL
            i, j, value = i[real], j[real], value[real]
        both = (slips[i] > 0) & (run.slips[j] > 0)
        degrees = as_float(degrees[i] + value * scale)
        slips = slips[i] + run.slips[j]
        chance = chance[i] * run.chance[j] * np.where(both, 2.0, 1.0)
        picks = np.column_stack([picks[i], j])
        near = _reachable(degrees, scale, span)
        degrees, chance, slips, picks = degrees[near], chance[near], slips[near], picks[near]
    if not degrees.size:
        return
    signed, chances, counts, signs, rows = [], [], [], [], []
    for sign in (1, -1):
        as_said = _SIGNS[number.mark] == sign
        open_side = number.mark == ""
        factor, more = 1.0, 0
        if not as_said:
            factor = _SIDE_LEFT_OUT if open_side else SLIP_RATE * kind_rate("hemisphere") / 2.0
            more = 0 if open_side else 1
        fits = (_off(sign * degrees, span) <= span[1]) & (slips + more <= most)
        ok = np.flatnonzero(fits)
        signed.append(sign * degrees[ok])
        chances.append(chance[ok] * factor * np.where((slips[ok] > 0) & (more > 0), 2.0, 1.0))
        counts.append(slips[ok] + more)
        signs.append(np.full(ok.size, sign))
        rows.append(picks[ok])
    yield _Values(
        np.concatenate(signed),
        np.concatenate(chances),
        np.concatenate(counts),
        np.concatenate(signs),
        np.concatenate(rows),
        runs,
        decimals,
        scales[-1],
    )


def _off(degrees: FloatArray, span: _Span) -> FloatArray:
    """How far from the middle of a span; a span of longitudes may go over the antimeridian."""
    off = degrees - span[0]
    found: FloatArray = np.abs((off + 180.0) % 360.0 - 180.0 if span[2] > _QUARTER else off)
    return found


def _reachable(degrees: FloatArray, step_deg: float, span: _Span) -> IntArray:
    """Which values, with less than a step to be added, can still lie within a span."""
    half = step_deg / 2.0
    found = np.zeros(degrees.shape, dtype=bool)
    for sign in (1.0, -1.0):
        found |= _off(sign * (degrees + half), span) <= span[1] + half
    return np.flatnonzero(found & (degrees <= span[2]))


@dataclass(frozen=True, slots=True)
class _Texts:
    """What stands in the fields of each candidate."""

    lat: _Values
    lon: _Values
    i: IntArray
    j: IntArray
    lat_mark: str
    lon_mark: str

    def __call__(self, at: int) -> dict[str, str]:
        lat, lon = (
            self._written(self.lat, int(self.i[at])),
            self._written(self.lon, int(self.j[at])),
        )
        return {
            "latitude": lat,
            "longitude": lon,
            "latitude side": self._mark(self.lat_mark, int(self.lat.sign[self.i[at]])),
            "longitude side": self._mark(self.lon_mark, int(self.lon.sign[self.j[at]])),
        }

    @staticmethod
    def _mark(mark: str, sign: int) -> str:
        return mark if _SIGNS[mark] == sign else _OTHER[mark]

    @staticmethod
    def _written(values: _Values, at: int) -> str:
        texts = [run.text(int(k)) for run, k in zip(values.runs, values.picks[at], strict=True)]
        return f"{' '.join(texts[:-1])}.{texts[-1]}" if values.decimals else " ".join(texts)
