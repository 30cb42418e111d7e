"""A search plan as something to show and to say: sectors in order, what is left, what to spend."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from plotter.board.answer_values import Sight, Spoken
from plotter.board.search_values import SearchView, SectorEffort, SectorMark
from plotter.errors import FormatError
from plotter.fix.search import best_effort
from plotter.fix.search_sectors import EqualBy, Search, Searched, SearchSector
from plotter.fix.wording import percent_words
from plotter.formats.groups import spoken_groups
from plotter.formats.registry import FORMATS
from plotter.geodesy.geodesic import geodesic, normal_bearing_deg
from plotter.geodesy.magnetic import declination
from plotter.geodesy.position import Position
from plotter.units import METRES_PER_KILOMETRE

__all__ = ["SEARCH_CAUTIONS", "Means", "search_view"]

SEARCH_CAUTIONS: Final = (
    "An aid to planning: the search manager or the authority in charge decides who searches what.",
    "Chances count bearings only: no paths, slopes, water or habits of people.",
)
# A place to go to, not a point to hit.
_REFERENCE_M: Final = 10.0
_KM2: Final = METRES_PER_KILOMETRE**2


@dataclass(frozen=True, slots=True)
class Means:
    """What there is to search with.

    Parameters
    ----------
    hours, teams : float
        How long, and how many at once.
    speed_kmh : float
        Of a team while it searches.
    sweep_width_m : float
        Effective sweep width of one team.

    Raises
    ------
    FormatError
        If one of them is not above 0.
    """

    hours: float
    teams: float
    speed_kmh: float
    sweep_width_m: float

    def __post_init__(self) -> None:
        """Reject what finds nothing."""
        values = (self.hours, self.teams, self.speed_kmh, self.sweep_width_m)
        if not all(math.isfinite(value) and value > 0.0 for value in values):
            raise FormatError(
                f"hours, teams, speed and sweep width must be above 0: {self.hours:g} h, "
                f"{self.teams:g} teams, {self.speed_kmh:g} km/h, {self.sweep_width_m:g} m"
            )

    @property
    def m2_per_team_hour(self) -> float:
        """Effort of one team in an hour."""
        return self.speed_kmh * METRES_PER_KILOMETRE * self.sweep_width_m


def search_view(
    subject: str,
    now: Searched,
    searches: Sequence[Search],
    stations: Sequence[tuple[str, Position]],
    *,
    equal: EqualBy,
    bearings: int,
    last_bearing_utc: datetime | None,
    day: date,
    means: Means | None = None,
) -> SearchView:
    """Turn sectors into what is shown of them.

    Parameters
    ----------
    subject : str
        Who or what is looked for.
    now : Searched
        The sectors after all searches.
    searches : sequence of Search
        Those searches.
    stations : sequence of (str, Position)
        From where distance and bearing are wanted.
    equal : {"probability", "area"}
        What the sectors had alike before any search.
    bearings : int
        How many bearings the sectors are cut from.
    last_bearing_utc : datetime or None
        When the last of them came in.
    day : date
        For the declination.
    means : Means, optional
        What there is to search with.

    """
    efforts = _efforts(now.sectors, means)
    top = max(now.sectors[0].probability_per_km2, 1e-300)
    marks = tuple(
        SectorMark(
            name=sector.name,
            probability=sector.probability,
            area_km2=sector.area_km2,
            weight=sector.probability_per_km2 / top,
            middle=sector.middle,
            reference=_reference(sector.middle),
            near=_nearest(stations, sector.middle, day),
            polygons=sector.polygons,
            effort=effort,
        )
        for sector, effort in zip(now.sectors, efforts, strict=True)
    )
    words = [
        f"Search {marks[0].name} first: most probability for each square kilometre.",
        *_searched_words(now, searches),
        f"In no sector: {percent_words(now.p_elsewhere)}.",
        *_effort_words(efforts, means),
        _cut_words(len(marks), equal, bearings, last_bearing_utc),
    ]
    return SearchView(subject, marks, tuple(words), SEARCH_CAUTIONS)


def _efforts(
    sectors: Sequence[SearchSector], means: Means | None
) -> tuple[SectorEffort | None, ...]:
    if means is None:
        return (None,) * len(sectors)
    spent = best_effort(
        [sector.probability for sector in sectors],
        [sector.area_km2 * _KM2 for sector in sectors],
        means.hours * means.teams * means.m2_per_team_hour,
    )
    rate = means.m2_per_team_hour
    return tuple(
        SectorEffort(each.effort_m2 / rate, each.p_detection, each.p_found) for each in spent
    )


def _cut_words(count: int, equal: EqualBy, bearings: int, last_utc: datetime | None) -> str:
    cut = f"{count} sectors of equal {equal}" if count > 1 else "1 sector"
    of = "1 bearing" if bearings == 1 else f"{bearings} bearings"
    until = f", the last at {last_utc:%H:%M} UTC" if last_utc else ""
    return (
        f"{cut}, cut from {of}{until}. A new bearing, or another number of sectors, cuts new ones: "
        "then say what was searched by its place, not by these names."
    )


def _effort_words(efforts: Sequence[SectorEffort | None], means: Means | None) -> list[str]:
    if means is None:
        return []
    success = sum(each.p_found for each in efforts if each is not None)
    spent = f"{means.hours * means.teams:g} team-hours at {means.speed_kmh:g} km/h"
    found = percent_words(success)
    return [
        f"{spent} and a sweep width of {means.sweep_width_m:g} m, as listed, find it with {found}.",
        "Tracks are taken as laid at random. The sweep width is yours: measure it where you can.",
    ]


def _searched_words(now: Searched, searches: Sequence[Search]) -> list[str]:
    words = [
        f"{search.name} searched with {percent_words(search.p_detection)}, nothing found: "
        f"{percent_words(before)} there before any search, {percent_words(left)} now."
        for search, before, left in zip(searches, now.p_before, now.p_left, strict=True)
    ]
    if searches:
        words.append(
            f"Chance that these searches would have found it: {percent_words(now.p_found)}."
        )
    return words


def _reference(position: Position) -> Spoken:
    text = FORMATS["mgrs"].write(position, _REFERENCE_M)
    return Spoken("MGRS", text, spoken_groups(text))


def _nearest(stations: Sequence[tuple[str, Position]], place: Position, day: date) -> Sight | None:
    ways = [(geodesic(station, place), name, station) for name, station in stations]
    if not ways:
        return None
    line, name, station = min(ways, key=lambda way: (way[0].distance_m, way[1]))
    magnetic = line.bearing_true_deg - declination(station, day).declination_deg
    return Sight(name, line.distance_m, line.bearing_true_deg, normal_bearing_deg(magnetic))
