"""The region cut into pieces that a team can be given, and what each holds after searches."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal, TypeAlias

import numpy as np

from plotter.errors import FormatError
from plotter.fix.chart import AnyChart
from plotter.fix.posterior import Posterior
from plotter.fix.quadtree import DEEPEST, Leaves
from plotter.fix.region import densest_first, densest_leaves, polygons_of
from plotter.fix.result import Polygon
from plotter.fix.search import after_search
from plotter.fix.search_cells import cut, cut_along, inside
from plotter.geodesy.arrays import BoolArray, FloatArray, IntArray
from plotter.geodesy.position import Position

__all__ = [
    "MOST_SECTORS",
    "EqualBy",
    "Search",
    "SearchPlan",
    "SearchSector",
    "Searched",
    "after_searches",
    "search_plan",
    "sectors",
]

EqualBy: TypeAlias = Literal["probability", "area"]

MOST_SECTORS: Final = 40
# Lattice lines across an average sector: a cut runs along one of them, with one step in it.
_LINES: Final = 32


@dataclass(frozen=True, slots=True)
class SearchSector:
    """A piece of ground for one team.

    Parameters
    ----------
    name : str
        "A1", "A2" ...: a letter for what is looked for, numbers from the densest before any search.
    polygons : tuple of Polygon
        Its ground, largest first; nearly always one.
    probability : float
        Chance that it is there.
    area_km2 : float
        Its area.
    middle : Position
        A place in it, near its middle by probability.
    """

    name: str
    polygons: tuple[Polygon, ...]
    probability: float
    area_km2: float
    middle: Position

    @property
    def probability_per_km2(self) -> float:
        """What it is ordered by: where this is greatest, an hour finds most."""
        return self.probability / self.area_km2


@dataclass(frozen=True, slots=True, eq=False)
class SearchPlan:
    """The sectors and the cells behind them.

    Parameters
    ----------
    chart : Chart
        Where the cells lie.
    leaves : Leaves
        Every cell of the posterior, cut so that none lies in two sectors.
    sector : ndarray of int, shape (m,)
        The place of each cell's sector in `sectors`, −1 outside all.
    sectors : tuple of SearchSector
        Densest first.
    """

    chart: AnyChart
    leaves: Leaves
    sector: IntArray
    sectors: tuple[SearchSector, ...]

    def called(self, name: str) -> SearchSector:
        """Find a sector by its name.

        Raises
        ------
        FormatError
            If no sector has that name.
        """
        for each in self.sectors:
            if each.name.lower() == name.strip().lower():
                return each
        names = ", ".join(each.name for each in self.sectors)
        raise FormatError(f"no sector is called {name!r}: the sectors are {names}", name)


@dataclass(frozen=True, slots=True)
class Search:
    """Ground that was searched without finding anything.

    Parameters
    ----------
    ground : SearchSector or Polygon
        Where.
    p_detection : float
        Chance that it would have been found there, from 0 up to, but not, 1.
    name : str
        What the ground is called.
    """

    ground: SearchSector | Polygon
    p_detection: float
    name: str = ""


@dataclass(frozen=True, slots=True)
class Searched:
    """What is known after all searches.

    Parameters
    ----------
    sectors : tuple of SearchSector
        With their probability now, densest first: search in this order.
    p_elsewhere : float
        Chance that it is in no sector.
    p_found : float
        Chance, before the first search, that they would have found it by now.
    p_before, p_left : tuple of float
        Chance that it is in the ground of each search, before the first of them and now.
    """

    sectors: tuple[SearchSector, ...]
    p_elsewhere: float
    p_found: float
    p_before: tuple[float, ...]
    p_left: tuple[float, ...]


def sectors(
    after: Posterior, count: int, *, equal: EqualBy = "probability", within: float = 0.95
) -> tuple[SearchSector, ...]:
    """Cut the region into sectors; see `search_plan`."""
    return search_plan(after, count, equal=equal, within=within).sectors


def search_plan(
    after: Posterior,
    count: int,
    *,
    equal: EqualBy = "probability",
    within: float = 0.95,
    letter: str = "A",
) -> SearchPlan:
    """Cut the region into sectors of equal probability or equal area.

    The ground is halved again and again by straight lines north-south or east-west across its
    longer side, each where it leaves equal shares.

    Parameters
    ----------
    after : Posterior
        Where it can be.
    count : int
        How many sectors, 1 to 40.
    equal : {"probability", "area"}
        What they have alike.
    within : float
        Probability of the region that is cut.
    letter : str
        First letter of their names.

    Returns
    -------
    SearchPlan
        The same input gives the same sectors. Their probabilities sum to that of the region.

    Raises
    ------
    FormatError
        If a value is out of range.
    """
    if not 1 <= count <= MOST_SECTORS:
        raise FormatError(f"a region is cut into 1 to {MOST_SECTORS} sectors, not {count!r}")
    if not 0.0 < within < 1.0:
        raise FormatError(f"the probability of the region lies between 0 and 1: {within!r}")
    leaves, chosen = after.leaves, np.zeros(after.leaves.mass.size, dtype=np.bool_)
    chosen[densest_leaves(densest_first(leaves), leaves.mass, within)] = True
    side_m = math.sqrt(float(leaves.area_m2[chosen].sum()) / count) / _LINES
    lattice = min(max(math.ceil(math.log2(2.0 * leaves.radius_m / side_m)), 0), DEEPEST)
    while (coarse := chosen & (leaves.level < lattice)).any():
        leaves, parent = cut(leaves, coarse)
        chosen = chosen[parent]
    weight = leaves.mass if equal == "probability" else leaves.area_m2
    parts = _cut_in(leaves, weight, np.flatnonzero(chosen), count, lattice)
    parts.sort(key=lambda cells: -leaves.mass[cells].sum() / leaves.area_m2[cells].sum())
    sector = np.full(leaves.mass.size, -1, dtype=np.int64)
    found = []
    for k, cells in enumerate(parts):
        sector[cells] = k
        found.append(_sector(f"{letter}{k + 1}", after.chart, leaves, cells))
    return SearchPlan(after.chart, leaves, sector, tuple(found))


def _cut_in(
    leaves: Leaves, weight: FloatArray, cells: IntArray, count: int, lattice: int
) -> list[IntArray]:
    """Halve by weight until there are as many parts as wanted."""
    if count == 1:
        return [cells]
    finer = leaves.level[cells] - lattice
    column, row = leaves.column[cells], leaves.row[cells]
    lines = column >> finer, row >> finer
    wide, high = (
        float(np.sqrt(np.cov(line, aweights=leaves.area_m2[cells]))) if line.size > 1 else 0.0
        for line in lines
    )
    along, across = (column, row) if wide >= high else (row, column)
    # By lattice line, then along it: the cut is a straight line with one step.
    order = np.lexsort((along / np.exp2(finer), across / np.exp2(finer), along >> finer))
    held = np.cumsum(weight[cells[order]])
    first = count // 2
    at = int(np.searchsorted(held, held[-1] * first / count)) + 1
    at = min(max(at, first), cells.size - (count - first))
    return [
        *_cut_in(leaves, weight, cells[order[:at]], first, lattice),
        *_cut_in(leaves, weight, cells[order[at:]], count - first, lattice),
    ]


def _sector(name: str, chart: AnyChart, leaves: Leaves, cells: IntArray) -> SearchSector:
    parts = polygons_of(chart, leaves, np.sort(cells))
    main, _ = parts[0]
    mass = leaves.mass[main]
    x, y = leaves.x_m[main], leaves.y_m[main]
    off = np.hypot(x - (mass @ x) / mass.sum(), y - (mass @ y) / mass.sum())
    middle = int(off.argmin())
    return SearchSector(
        name,
        tuple(polygon for _, polygon in parts),
        float(leaves.mass[cells].sum()),
        float(leaves.area_m2[cells].sum()) / 1e6,
        chart.position(float(x[middle]), float(y[middle])),
    )


def after_searches(plan: SearchPlan, searches: Sequence[Search]) -> Searched:
    """Update the sectors after searches that found nothing.

    Parameters
    ----------
    plan : SearchPlan
        The sectors before any search.
    searches : sequence of Search
        In any order; each is taken as independent of the others.

    Returns
    -------
    Searched
        The sectors keep their names and ground.

    Raises
    ------
    FormatError
        If a chance of detection is out of range.
    GeometryError
        If searched ground is more than 2 000 km from the middle of the scene.
    """
    leaves, sector = plan.leaves, plan.sector
    for search in searches:
        if isinstance(search.ground, Polygon):
            leaves, parent = cut_along(plan.chart, leaves, search.ground)
            sector = sector[parent]
    mass, p_missed = leaves.mass, 1.0
    names = [each.name for each in plan.sectors]
    grounds: list[BoolArray] = []
    for search in searches:
        if isinstance(search.ground, Polygon):
            grounds.append(inside(plan.chart, leaves, search.ground))
        else:
            grounds.append(sector == names.index(search.ground.name))
        outcome = after_search(mass, grounds[-1], search.p_detection)
        mass, p_missed = outcome.mass, p_missed * (1.0 - outcome.p_found)
    held = np.bincount(sector + 1, weights=mass, minlength=len(plan.sectors) + 1)
    now = [
        replace(each, probability=float(share))
        for each, share in zip(plan.sectors, held[1:], strict=True)
    ]
    now.sort(key=lambda each: -each.probability_per_km2)
    return Searched(
        tuple(now),
        float(held[0]),
        1.0 - p_missed,
        tuple(float(leaves.mass[ground].sum()) for ground in grounds),
        tuple(float(mass[ground].sum()) for ground in grounds),
    )
