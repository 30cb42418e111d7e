"""What there is to draw and to say, as frozen values: no HTML, no pixels, no map library."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal, TypeAlias

from plotter.log.report import Role
from plotter.tiles.grid import Box

__all__ = [
    "Answer",
    "BearingMark",
    "Entry",
    "EntryKind",
    "GridLabel",
    "GridLevel",
    "GridLine",
    "LatLon",
    "Mark",
    "Norths",
    "Path",
    "PieceMark",
    "Question",
    "Ring",
    "Scene",
    "Sight",
    "Spoken",
    "Track",
]

# Latitude and longitude in degrees. Inside a scene longitudes are not wrapped: they run on past
# 180, so that what lies side by side on the ground lies side by side on the map.
LatLon: TypeAlias = tuple[float, float]
Path: TypeAlias = tuple[LatLon, ...]
Ring: TypeAlias = tuple[LatLon, ...]
EntryKind: TypeAlias = Literal["position", "bearing", "note", "unread"]


@dataclass(frozen=True, slots=True)
class Entry:
    """One line that came in, as the list shows it.

    Parameters
    ----------
    kind : {"position", "bearing", "note", "unread"}
        What it was taken to be.
    line : int
        Line number in the file.
    time_utc : datetime or None
        When; None where the time could not be read.
    sender, subject, text : str
        As heard, unchanged.
    age : str
        How old at the time of the board, in words; empty where the time is unknown.
    understood : str
        What it was taken to mean, in words.
    questions : tuple of str
        What to ask the sender.
    place : tuple of float or None
        Where the map goes when it is chosen.
    """

    kind: EntryKind
    line: int
    time_utc: datetime | None
    sender: str
    subject: str
    text: str
    age: str
    understood: str
    questions: tuple[str, ...] = ()
    place: LatLon | None = None


@dataclass(frozen=True, slots=True)
class Mark:
    """A reported position: its square, and the shape of who or what is there.

    Parameters
    ----------
    entry : int
        Index of its entry in the scene.
    name : str
        Who or what.
    role : {"station", "subject", "place"}
        Chooses the shape.
    square : tuple of LatLon
        Corners of the square it names.
    size_m : float
        Its longer side.
    latest : bool
        False where a later report of the same name exists.
    doubtful : bool
        True where it has other readings or questions.
    others : tuple of rings
        The squares of its other readings.
    """

    entry: int
    name: str
    role: Role
    square: Ring
    size_m: float
    latest: bool
    doubtful: bool
    others: tuple[Ring, ...] = ()


@dataclass(frozen=True, slots=True)
class BearingMark:
    """A line of bearing with its error.

    Parameters
    ----------
    entry : int
        Index of its entry in the scene.
    label : str
        Sender, bearing and north: "Kestrel 245° magnetic"; with a "?" where doubtful.
    observer : LatLon
        Where it starts.
    line : tuple of LatLon
        The geodesic.
    wedge : tuple of LatLon
        Ground within one standard deviation of it.
    doubtful : bool
        Drawn dashed.
    """

    entry: int
    label: str
    observer: LatLon
    line: Path
    wedge: Ring
    doubtful: bool


@dataclass(frozen=True, slots=True)
class Track:
    """Where something has been, oldest first.

    Parameters
    ----------
    name : str
        Who or what.
    points : tuple of LatLon
        Thinned; the first and the last are always kept.
    ages : tuple of str
        Age of each point in words.
    """

    name: str
    points: Path
    ages: tuple[str, ...]


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
        True where the answer is a direction, not a point.
    """

    subject: str
    findings: tuple[str, ...]
    best: LatLon
    formats: tuple[Spoken, ...]
    sights: tuple[Sight, ...]
    sights_left_out: int
    pieces: tuple[PieceMark, ...]
    sector: bool


@dataclass(frozen=True, slots=True)
class Question:
    """What to ask, and whom.

    Parameters
    ----------
    entry : int
        Index of the entry it is about.
    sender : str
        Whom to ask.
    words : str
        The question.
    """

    entry: int
    sender: str
    words: str


@dataclass(frozen=True, slots=True)
class Norths:
    """The three norths at one place on one day.

    Parameters
    ----------
    place : LatLon
        Where.
    day : date
        When.
    declination_deg : float
        Magnetic north, clockwise from true.
    convergence_deg : float
        UTM grid north, clockwise from true.
    warnings : tuple of str
        Why the declination may not be trusted.
    """

    place: LatLon
    day: date
    declination_deg: float
    convergence_deg: float
    warnings: tuple[str, ...] = ()


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


@dataclass(frozen=True, slots=True)
class Scene:
    """Everything that a board or a sheet shows.

    Parameters
    ----------
    title : str
        Name of the incident.
    view : Box
        Ground to show first.
    outside : int
        How many latest positions lie outside that view.
    last_report_utc, as_at_utc : datetime or None
        Time of the last report; the time that ages count from.
    norths : Norths
        At the middle of the view.
    answers : tuple of Answer
        One for each fix.
    entries : tuple of Entry
        Every line, newest first.
    marks, bearings, tracks : tuple
        What is drawn of them.
    questions : tuple of Question
        In the order of the entries.
    grids : tuple of GridLevel
        Coarse to fine for each system.
    """

    title: str
    view: Box
    outside: int
    last_report_utc: datetime | None
    as_at_utc: datetime | None
    norths: Norths
    answers: tuple[Answer, ...]
    entries: tuple[Entry, ...]
    marks: tuple[Mark, ...]
    bearings: tuple[BearingMark, ...]
    tracks: tuple[Track, ...]
    questions: tuple[Question, ...]
    grids: tuple[GridLevel, ...]
