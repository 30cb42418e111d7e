"""Distances, watches and ground as they are drawn: frozen values in degrees."""

from dataclasses import dataclass
from typing import Literal, TypeAlias

from plotter.board.paths import LatLon, Path

__all__ = ["GroundKind", "GroundMark", "Outline", "RangeMark", "WatchMark"]

GroundKind: TypeAlias = Literal["ruled out", "searched", "likely"]


@dataclass(frozen=True, slots=True)
class Outline:
    """One closed line on the ground.

    Parameters
    ----------
    path : tuple of LatLon
        The first point comes again as the last, one turn farther east where the line goes round a
        pole.
    pole : {-1, 0, 1}
        Where it goes round a pole: 1 for the north pole, -1 for the south pole. The ground inside
        then reaches to that edge of the map.
    """

    path: Path
    pole: int = 0


@dataclass(frozen=True, slots=True)
class RangeMark:
    """A reported distance: a ring about the observer.

    Parameters
    ----------
    entry : int
        Index of its entry in the scene.
    label : str
        Sender, distance and error: "Kestrel 2.40 km ± 200 m"; with a "?" where doubtful.
    observer : LatLon
        The middle.
    line : Outline
        Ground at that distance.
    band : tuple of Outline
        Ground one standard deviation farther, then nearer; the second is left out where nearer
        would be nowhere.
    doubtful : bool
        Drawn dashed: guessed, to be asked about, or more likely wrong than right.
    """

    entry: int
    label: str
    observer: LatLon
    line: Outline
    band: tuple[Outline, ...]
    doubtful: bool


@dataclass(frozen=True, slots=True)
class WatchMark:
    """Somebody listened: all watches for one thing at one place with the same outcome.

    Parameters
    ----------
    entry : int
        Index of the entry of the latest of them.
    label : str
        "not heard, 2 times"; who listened is in the entry.
    place : LatLon
        The listener.
    heard : bool
        Chooses the shape.
    """

    entry: int
    label: str
    place: LatLon
    heard: bool


@dataclass(frozen=True, slots=True)
class GroundMark:
    """Ground that is more or less likely than other ground.

    Parameters
    ----------
    entry : int
        Index of its entry in the scene.
    label : str
        "ruled out", "searched, 70 %", "likely, 3 times"; with a "?" where doubtful.
    kind : {"ruled out", "searched", "likely"}
        Chooses the hatching.
    middle : LatLon
        A point on it, where the map goes when it is chosen.
    outlines : tuple of Outline
        Outer line first, then holes.
    outside : bool
        True where all ground outside is meant.
    doubtful : bool
        True where there is something to ask about it; its outline is dashed.
    """

    entry: int
    label: str
    kind: GroundKind
    middle: LatLon
    outlines: tuple[Outline, ...]
    outside: bool
    doubtful: bool
