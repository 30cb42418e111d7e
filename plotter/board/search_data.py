"""A search plan as what `assets/search.js` reads: JSON values only."""

from typing import Any

from plotter.board.answer_values import Sight
from plotter.board.data import packed_path
from plotter.board.ground import ring_of
from plotter.board.search_values import SearchView, SectorEffort, SectorMark
from plotter.board.words import bearing_in_words, length_in_words
from plotter.fix.wording import area_words, percent_words
from plotter.tiles.grid import Box

__all__ = ["effort_in_words", "search_data", "way_in_words"]

_LEAST_TEAM_HOURS = 0.05


def search_data(search: SearchView, view: Box) -> dict[str, Any]:
    """Turn a search plan into what the page's script reads.

    Parameters
    ----------
    search : SearchView
        What to show.
    view : Box
        Longitudes are put beside it.
    """
    middle = (view.west_deg + view.east_deg) / 2.0
    return {
        "subject": search.subject,
        "words": search.words,
        "cautions": search.cautions,
        "sectors": [_sector(mark, middle) for mark in search.sectors],
    }


def way_in_words(sight: Sight) -> str:
    """Say how far and on which bearing; the station's name is left to the caller.

    Examples
    --------
    >>> way_in_words(Sight("Ridge team", 1240.0, 321.2, 318.4))
    '1.24 km on 321° true (318° magnetic)'
    """
    true = bearing_in_words(sight.bearing_true_deg, "true")
    magnetic = bearing_in_words(sight.bearing_magnetic_deg, "magnetic")
    return f"{length_in_words(sight.distance_m)} on {true} ({magnetic})"


def effort_in_words(effort: SectorEffort) -> str:
    """Say what to spend on a sector, and what that finds.

    Examples
    --------
    >>> effort_in_words(SectorEffort(3.21, 0.634, 0.1))
    '3.2 team-hours, finds 63 % of what is there'
    """
    if effort.team_hours < _LEAST_TEAM_HOURS:
        return "no effort yet"
    found = percent_words(effort.p_detection)
    return f"{effort.team_hours:.1f} team-hours, finds {found} of what is there"


def _sector(mark: SectorMark, reference_deg: float) -> dict[str, Any]:
    (middle,) = ring_of([mark.middle], reference_deg)
    return {
        "name": mark.name,
        "chance": percent_words(mark.probability),
        "area": area_words(mark.area_km2),
        "weight": round(mark.weight, 3),
        "middle": packed_path([middle]),
        "format": [mark.reference.label, mark.reference.text, mark.reference.groups],
        "way": None if mark.near is None else [way_in_words(mark.near), mark.near.name],
        "effort": "" if mark.effort is None else effort_in_words(mark.effort),
        "rings": [
            packed_path(ring_of(ring, reference_deg))
            for polygon in mark.polygons
            for ring in (polygon.outer, *polygon.holes)
        ],
    }
