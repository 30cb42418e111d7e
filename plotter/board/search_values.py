"""What a search plan has to show and to say, as frozen values."""

from dataclasses import dataclass

from plotter.board.answer_values import Sight, Spoken
from plotter.fix.result import Polygon
from plotter.geodesy.position import Position

__all__ = ["SearchView", "SectorEffort", "SectorMark"]


@dataclass(frozen=True, slots=True)
class SectorEffort:
    """What to spend on a sector.

    Parameters
    ----------
    team_hours : float
        Teams times hours.
    p_detection : float
        Chance of finding it if it is there.
    p_found : float
        Chance of finding it there.
    """

    team_hours: float
    p_detection: float
    p_found: float


@dataclass(frozen=True, slots=True)
class SectorMark:
    """A sector on the ground.

    Parameters
    ----------
    name : str
        "A1".
    probability : float
        Chance that it is there, after all searches.
    area_km2 : float
        Its area.
    weight : float
        Probability per area beside that of the densest sector, 0 to 1.
    middle : Position
        Where its label stands.
    reference : Spoken
        The MGRS square of 10 m that holds the middle.
    near : Sight or None
        The way from the nearest station.
    polygons : tuple of Polygon
        Its ground.
    effort : SectorEffort or None
        None where no effort was given.
    """

    name: str
    probability: float
    area_km2: float
    weight: float
    middle: Position
    reference: Spoken
    near: Sight | None
    polygons: tuple[Polygon, ...]
    effort: SectorEffort | None = None


@dataclass(frozen=True, slots=True)
class SearchView:
    """All sectors in the order to search them.

    Parameters
    ----------
    subject : str
        Who or what is looked for.
    sectors : tuple of SectorMark
        Densest first.
    words : tuple of str
        What to know about them, most important first.
    cautions : tuple of str
        What they do not know, and who decides.
    """

    subject: str
    sectors: tuple[SectorMark, ...]
    words: tuple[str, ...]
    cautions: tuple[str, ...]
