"""Grid lines and the names of squares, as frozen values."""

from dataclasses import dataclass
from typing import Literal

from plotter.board.paths import Path
from plotter.tiles.grid import Box

__all__ = ["GridLabel", "GridLevel", "GridLine"]


@dataclass(frozen=True, slots=True)
class GridLine:
    """One grid line.

    Parameters
    ----------
    label : str
        Its figure.
    points : tuple of LatLon
        Along it.
    northing : bool
        True for a line of equal northing (or latitude), labelled at the side of the map.
    """

    label: str
    points: Path
    northing: bool


@dataclass(frozen=True, slots=True)
class GridLabel:
    """The name of a square.

    Parameters
    ----------
    area : Box
        Ground that has this name; it may be written anywhere inside.
    text : str
        The name.
    """

    area: Box
    text: str


@dataclass(frozen=True, slots=True)
class GridLevel:
    """A grid at one spacing.

    Parameters
    ----------
    system : {"utm", "maidenhead"}
        Which grid.
    spacing : float
        Metres for UTM, degrees of latitude for Maidenhead.
    lines : tuple of GridLine
        Its lines over the area.
    labels : tuple of GridLabel
        Names of squares.
    """

    system: Literal["utm", "maidenhead"]
    spacing: float
    lines: tuple[GridLine, ...]
    labels: tuple[GridLabel, ...]
