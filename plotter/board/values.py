"""What there is to draw and to say, as frozen values: no HTML, no pixels, no map library."""

from dataclasses import dataclass
from datetime import date, datetime

from plotter.board.answer_values import Answer
from plotter.board.entries import Entries
from plotter.board.evidence_values import GroundMark, RangeMark, WatchMark
from plotter.board.listening_values import Listening
from plotter.board.marks import Marks
from plotter.board.paths import LatLon, Path, Ring
from plotter.board.report_values import Entry, EntryKind, Mark
from plotter.board.search_values import SearchView
from plotter.tiles.grid import Box

__all__ = [
    "BearingMark",
    "Entry",
    "EntryKind",
    "Mark",
    "Norths",
    "Question",
    "Scene",
    "Track",
]


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
    entries : Entries
        Every line, newest first.
    marks : Marks
        Every reported position.
    bearings : tuple of BearingMark
        Lines of bearing.
    questions : tuple of Question
        In the order of the entries.
    listening : Listening or None
        Where to listen next, where that was asked.
    search : SearchView or None
        Where to search, where that was asked.
    ranges, watches, ground : tuple
        What is drawn of reported distances, of who listened, and of ground.
    """

    title: str
    view: Box
    outside: int
    last_report_utc: datetime | None
    as_at_utc: datetime | None
    norths: Norths
    answers: tuple[Answer, ...]
    entries: Entries
    marks: Marks
    bearings: tuple[BearingMark, ...]
    questions: tuple[Question, ...]
    listening: Listening | None = None
    search: SearchView | None = None
    ranges: tuple[RangeMark, ...] = ()
    watches: tuple[WatchMark, ...] = ()
    ground: tuple[GroundMark, ...] = ()
