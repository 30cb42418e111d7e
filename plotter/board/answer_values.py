"""What a fix has to show and to say, as frozen values."""

from dataclasses import dataclass
from datetime import datetime

from plotter.board.paths import LatLon, Ring

__all__ = ["Answer", "PieceMark", "Sight", "Spoken"]


@dataclass(frozen=True, slots=True)
class Spoken:
    """A position in one format, as it is copied and as it is said.

    Parameters
    ----------
    label : str
        The format's name for people: "MGRS".
    text : str
        The reference.
    groups : tuple of str
        The same characters in the groups that are spoken; joined they give `text`.
    """

    label: str
    text: str
    groups: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sight:
    """The way from a station to the best point.

    Parameters
    ----------
    name : str
        The station.
    distance_m : float
        Along the geodesic.
    bearing_true_deg : float
        From the station.
    bearing_magnetic_deg : float
        The same from magnetic north, by the declination at the station.
    """

    name: str
    distance_m: float
    bearing_true_deg: float
    bearing_magnetic_deg: float


@dataclass(frozen=True, slots=True)
class PieceMark:
    """One piece of a region on the ground.

    Parameters
    ----------
    probability : float
        Of the whole region: 0.5 or 0.95.
    share : float
        Probability that the truth lies in this piece.
    best : LatLon
        Its most likely point.
    rings : tuple of rings
        Outer ring first, then holes.
    """

    probability: float
    share: float
    best: LatLon
    rings: tuple[Ring, ...]


@dataclass(frozen=True, slots=True)
class Answer:
    """What was computed about one subject.

    Parameters
    ----------
    subject : str
        Who or what.
    findings : tuple of str
        Plain sentences, most important first.
    best : LatLon
        The most likely point.
    formats : tuple of Spoken
        That point in every format.
    sights : tuple of Sight
        From each station, nearest first.
    sights_left_out : int
        How many farther stations are not listed.
    pieces : tuple of PieceMark
        Both regions, the larger probability first.
    sector : bool
        True where no point describes the answer.
    called : str
        What it is: "best point", or the name of its shape.
    at_utc : datetime or None
        For which time; None where it is taken to stand still.
    earlier : tuple of Answer
        The same for earlier times, oldest first.
    """

    subject: str
    findings: tuple[str, ...]
    best: LatLon
    formats: tuple[Spoken, ...]
    sights: tuple[Sight, ...]
    sights_left_out: int
    pieces: tuple[PieceMark, ...]
    sector: bool
    called: str = "best point"
    at_utc: datetime | None = None
    earlier: "tuple[Answer, ...]" = ()
