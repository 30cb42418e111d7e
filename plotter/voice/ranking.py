"""Ranking what may have been meant: the chance of the slips times the chance of the place."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from plotter.formats.result import Reading
from plotter.geodesy.arrays import BoolArray, FloatArray, IntArray, as_float
from plotter.geodesy.position import Area, Position
from plotter.voice.candidates import Candidates, distances_m
from plotter.voice.channel import SLIP_RATE
from plotter.voice.fields import Fields
from plotter.voice.meant_angles import angle_candidates
from plotter.voice.meant_grids import grid_candidates
from plotter.voice.meant_locators import locator_candidates
from plotter.voice.prior import Context, chances_of_places

__all__ = ["Place", "Ranking", "ranked"]

# Places nearer to each other than this, or than this share of the area's radius, are one place.
_ONE_PLACE_M: Final = 1_000.0
_ONE_PLACE_SHARE: Final = 0.2
_MOST_PLACES: Final = 40
_MOST_CANDIDATES: Final = 4_000
# For each message with two slips, so many have more, or something else is wrong: assumed.
_BEYOND: Final = 0.3
_MEMBERS: Final = 0.95
_LISTED: Final = 12
_TRIED: Final = 40
# A screen shows three, and what is less probable than this is not worth a line of them.
_SHOWN: Final = 3
_WORTH: Final = 0.02


@dataclass(frozen=True, slots=True)
class Place:
    """Candidates so near to each other that they are one place.

    Parameters
    ----------
    fields : Fields
        How the text was taken apart.
    meant : dict of str to str
        What stands in each field of the likeliest of them.
    text : str
        Its text.
    kind : str
        The slip that concerns its whole text, else empty.
    undone : dict of str to str
        What was received in the fields that this slip touches, once it is undone.
    lat_deg, lon_deg : float
        Its place.
    probability : float
        Of all of them, among all that may have been meant.
    within_m : float
        Nearly all of them (95 % of their probability) lie so near to it.
    """

    fields: Fields
    meant: dict[str, str]
    text: str
    kind: str
    undone: dict[str, str]
    lat_deg: float
    lon_deg: float
    probability: float
    within_m: float

    @property
    def exchanged(self) -> bool:
        """Whether the slip of the whole text moved figures from one field to another."""
        return bool(self.kind) and "prefix" not in self.undone

    def before(self) -> Fields:
        """What was received, with the slip of the whole text undone."""
        return replace(
            self.fields,
            fields=tuple(
                replace(each, text=self.undone.get(each.name, each.text))
                for each in self.fields.fields
            ),
        )


@dataclass(frozen=True, slots=True)
class Ranking:
    """All that may have been meant; the probabilities add up to 1.

    Parameters
    ----------
    places : tuple of Place
        Other places than as said, the likeliest first.
    as_said : tuple of float
        Probability of each reading as said.
    other : float
        Probability of anything else: more slips than are looked for, places that are not listed.
    single : tuple of Place
        Where a single character taken for another would lead, whatever its probability: farthest
        from the first reading first, at most a few.
    """

    places: tuple[Place, ...]
    as_said: tuple[float, ...]
    other: float
    single: tuple[Place, ...]


@dataclass(frozen=True, slots=True)
class _Columns:
    """The candidates of every way to take a text apart, end to end."""

    lat: FloatArray
    lon: FloatArray
    fit: FloatArray
    weight: FloatArray
    slips: IntArray
    batch: IntArray
    row: IntArray
    batches: tuple[tuple[Fields, Candidates], ...]

    def place(self, at: int, probability: float, within_m: float) -> Place:
        fields, found = self.batches[int(self.batch[at])]
        meant = found.meant(int(self.row[at]))
        text = fields.with_texts(meant, fresh=found.fresh)
        return Place(
            fields, meant, text, found.kind, found.undone, float(self.lat[at]), float(self.lon[at]),
            probability, within_m,
        )  # fmt: skip


def ranked(ways: Sequence[Fields], readings: Sequence[Reading], context: Context) -> Ranking:
    """Rank the places that a text may have meant.

    Parameters
    ----------
    ways : sequence of Fields
        The text taken apart, in every way to be looked at.
    readings : sequence of Reading
        What it admits as said.
    context : Context
        Where the report can come from.
    """
    columns = _columns(ways, context)
    if columns is None:
        return Ranking((), (0.0,) * len(readings), 1.0, ())
    said, as_said = _said(columns, readings)
    beyond = _BEYOND * float(columns.weight[columns.slips > 1].sum())
    whole = float(columns.weight.sum()) + beyond
    if whole <= 0.0:
        return Ranking((), (0.0,) * len(readings), 1.0, _single(columns, readings))
    places = _places(columns, ~said, whole, context.area)
    shares = tuple(weight / whole for weight in as_said)
    rest = max(1.0 - sum(shares) - sum(each.probability for each in places), 0.0)
    return Ranking(places, shares, rest, _single(columns, readings))


def _columns(ways: Sequence[Fields], context: Context) -> _Columns | None:
    makers = {"latlon": angle_candidates, "maidenhead": locator_candidates}
    batches = [
        (fields, found)
        for fields in ways
        for found in makers.get(fields.format, grid_candidates)(fields, context.area)
        if found.slips.size
    ]
    if not batches:
        return None
    found = [each for _, each in batches]
    counts = [each.slips.size for each in found]
    lat, lon = (
        np.concatenate(each) for each in zip(*[(f.lat_deg, f.lon_deg) for f in found], strict=True)
    )
    cells = np.repeat(as_float([each.cell_m2 for each in found]), counts)
    slips = np.concatenate([each.slips for each in found])
    fit, prior = chances_of_places(lat, lon, np.sqrt(cells), context)
    chance = np.concatenate([each.chance for each in found])
    weight = chance * cells * prior * np.where(slips == 0, 1.0 - SLIP_RATE, 1.0)
    batch = np.repeat(np.arange(len(found)), counts)
    row = np.concatenate([np.arange(count) for count in counts])
    return _Columns(lat, lon, fit, weight, slips, batch, row, tuple(batches))


def _said(columns: _Columns, readings: Sequence[Reading]) -> tuple[BoolArray, list[float]]:
    """Which candidates are what was said, and the weight of each reading."""
    said = np.zeros(columns.lat.shape, dtype=bool)
    weights = []
    for each in readings:
        centre, half = each.square.centre, each.square.size_m / 2.0
        near = np.abs(columns.lat - centre.lat_deg) < 1.0 / 60.0 + half / 110_000.0
        near[near] = distances_m(centre, columns.lat[near], columns.lon[near]) < half
        plain = near & (columns.slips == 0) & ~said
        weights.append(float(columns.weight[plain].sum()))
        said |= plain
    return said, weights


def _places(columns: _Columns, among: BoolArray, whole: float, area: Area) -> tuple[Place, ...]:
    """The likeliest candidates, those of one place together."""
    order = np.flatnonzero(among & (columns.weight > 0.0))
    if order.size > _MOST_CANDIDATES:
        order = order[np.argpartition(-columns.weight[order], _MOST_CANDIDATES)[:_MOST_CANDIDATES]]
    order = order[np.argsort(-columns.weight[order], kind="stable")]
    apart_m = min(_ONE_PLACE_M, _ONE_PLACE_SHARE * area.radius_m)
    lat, lon, weight = columns.lat[order], columns.lon[order], columns.weight[order] / whole
    free = np.ones(order.size, dtype=bool)
    groups: list[tuple[float, IntArray]] = []
    for _ in range(_MOST_PLACES):
        if not free.any():
            break
        first = int(np.argmax(free))
        away = distances_m(Position(float(lat[first]), float(lon[first])), lat, lon)
        members = np.flatnonzero(free & (away <= apart_m))
        free[members] = False
        groups.append((float(weight[members].sum()), members))
    groups.sort(key=lambda each: -each[0])
    found = []
    for share, members in _split(groups, weight)[:_LISTED]:
        centre = Position(float(lat[members[0]]), float(lon[members[0]]))
        away = distances_m(centre, lat[members], lon[members])
        nearest = np.argsort(away)
        reached = np.searchsorted(np.cumsum(weight[members][nearest]), _MEMBERS * share)
        within = float(away[nearest[min(int(reached), nearest.size - 1)]])
        found.append(columns.place(int(order[members[0]]), share, within))
    return tuple(found)


def _split(
    groups: list[tuple[float, IntArray]], weight: FloatArray
) -> list[tuple[float, IntArray]]:
    """The places; where fewer than three are worth a look, squares of the first ones beside them.

    A place's likeliest square stands for it. Where other places are next to impossible, its other
    squares are what is to be told apart.
    """
    groups = list(groups)
    worth = sum(share >= _WORTH for share, _ in groups)
    while worth < _SHOWN:
        at, second = max(
            (
                (i, float(weight[members[1]]))
                for i, (_, members) in enumerate(groups)
                if members.size > 1
            ),
            key=lambda each: each[1],
            default=(0, 0.0),
        )
        if second < _WORTH:
            break
        share, members = groups[at]
        groups[at] = (share - second, np.delete(members, 1))
        groups.append((second, members[1:2]))
        worth += 1
    return sorted(groups, key=lambda each: -each[0])


def _single(columns: _Columns, readings: Sequence[Reading]) -> tuple[Place, ...]:
    """Where one character taken for another would lead that still fits, the farthest first."""
    if not readings:
        return ()
    rows = np.flatnonzero((columns.slips == 1) & (columns.fit >= 0.5))
    away = distances_m(readings[0].square.centre, columns.lat[rows], columns.lon[rows])
    found = []
    for at in itertools.islice(rows[np.argsort(-away)].tolist(), _TRIED):
        place = columns.place(at, 0.0, 0.0)
        if not place.kind and _one_character(place):
            found.append(place)
            break
    return tuple(found)


def _one_character(place: Place) -> bool:
    """Whether a place differs from what was said by one character taken for another."""
    differing = 0
    for each in place.fields.fields:
        other = place.meant.get(each.name, each.text)
        if each.name.endswith("side"):
            continue
        ours, theirs = ("".join(filter(str.isalnum, text)) for text in (each.text, other))
        if len(ours) != len(theirs):
            return False
        differing += sum(a != b for a, b in zip(ours, theirs, strict=True))
    return differing == 1
