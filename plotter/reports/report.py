"""Reports as values: what was said, kept as heard, beside what it was taken to mean."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from plotter.fix import CommonError, Ground, Listening, Motion
from plotter.formats.result import Reading
from plotter.geodesy.position import Area, Position
from plotter.reports.quantities import North
from plotter.reports.subjects import Subject

__all__ = [
    "BearingReport",
    "DistanceReport",
    "GroundReport",
    "MotionReport",
    "North",
    "NoteReport",
    "Picture",
    "PositionReport",
    "Role",
    "Said",
    "UnreadReport",
    "WatchReport",
    "to_ask",
]

Role = Literal["station", "subject", "place"]


@dataclass(frozen=True, slots=True)
class Said:
    """One line as it came in, unchanged.

    Parameters
    ----------
    line : int
        Its line number in the file, from 1.
    time_utc : datetime or None
        Aware, UTC; None where the time itself could not be read.
    sender, subject, text : str
        Who reported, about whom or what, and the words.
    name : str
        What the log calls it; empty for a line of a file.
    """

    line: int
    time_utc: datetime | None
    sender: str
    subject: str
    text: str
    name: str = ""

    @property
    def called(self) -> str:
        """What a person finds it by: its entry in the log, or the line of the file."""
        return f"entry {self.name}" if self.name else f"line {self.line}"


@dataclass(frozen=True, slots=True)
class PositionReport:
    """Somebody or something is at a place.

    Parameters
    ----------
    said : Said
        The line.
    name : str
        Who or what is there: the subject, or the sender where no subject was given.
    role : {"station", "subject", "place"}
        Somebody with a radio, somebody or something looked for or waiting, or a named place.
    reading : Reading
        The meaning that is plotted.
    others : tuple of Reading
        Every other meaning the words admit.
    questions : tuple of str
        What to ask the sender; a doubtful position has at least one.
    out_of_place : bool
        Whether the place itself speaks against the report: outside the area of operations, or
        farther from the last one than anybody moves. Plotted as said, but nothing builds on it.
    sigma_m : float
        One standard deviation per axis that was stated beside the square; 0 where none was.
    subject : Subject or None
        What the words beside the position say of who or what is there, its number and its state;
        None where there are none.
    """

    said: Said
    name: str
    role: Role
    reading: Reading
    others: tuple[Reading, ...] = ()
    questions: tuple[str, ...] = ()
    out_of_place: bool = False
    sigma_m: float = 0.0
    subject: Subject | None = None

    @property
    def remark(self) -> str:
        """What was said beside the place, as heard; empty where nothing was."""
        return self.subject.said if self.subject else ""


@dataclass(frozen=True, slots=True)
class BearingReport:
    """A bearing towards something.

    Parameters
    ----------
    said : Said
        The line.
    name : str
        What the bearing points at.
    observer : Position
        Where it was taken.
    observer_sigma_m : float
        One standard deviation of that place, per axis.
    observer_from : str
        Where the observer's place comes from, in words.
    bearing_deg : float
        As said, [0, 360).
    north : {"true", "magnetic", "grid"} or None
        As said; None where it was not stated.
    bearing_true_deg : float
        From true north; where the north was not stated, as if it had been true.
    other_true_deg : float or None
        Where the north was not stated, as if it had been magnetic.
    sigma_deg : float
        One standard deviation.
    sigma_stated : bool
        False where a default was taken.
    questions : tuple of str
        What to ask the sender.
    p_reciprocal, p_gross : float
        Chance that it points the other way, or anywhere, before anything else is known.
    common : CommonError or None
        An error that it shares with other bearings.
    exact : bool
        Whether its error is that of a calibrated instrument, to be taken at its word.
    """

    said: Said
    name: str
    observer: Position
    observer_sigma_m: float
    observer_from: str
    bearing_deg: float
    north: North | None
    bearing_true_deg: float
    other_true_deg: float | None
    sigma_deg: float
    sigma_stated: bool
    questions: tuple[str, ...] = ()
    p_reciprocal: float = 0.02
    p_gross: float = 0.05
    common: CommonError | None = None
    exact: bool = False


@dataclass(frozen=True, slots=True)
class DistanceReport:
    """A distance to something.

    Parameters
    ----------
    said : Said
        The line.
    name : str
        To what.
    observer, observer_sigma_m, observer_from
        As for `BearingReport`.
    distance_m : float
        The distance.
    sigma_m : float or None
        One standard deviation; None where it was guessed.
    questions : tuple of str
        What to ask the sender.
    """

    said: Said
    name: str
    observer: Position
    observer_sigma_m: float
    observer_from: str
    distance_m: float
    sigma_m: float | None
    questions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class WatchReport:
    """Somebody listened for something, and heard it or did not.

    Parameters
    ----------
    said : Said
        The line.
    name : str
        For what.
    observer_from : str
        Where the observer's place comes from, in words.
    watch : Listening
        The watch as evidence.
    questions : tuple of str
        What to ask the sender.
    """

    said: Said
    name: str
    observer_from: str
    watch: Listening
    questions: tuple[str, ...] = ()

    @property
    def observer(self) -> Position:
        """Where they listened."""
        return self.watch.observer


@dataclass(frozen=True, slots=True)
class GroundReport:
    """Ground that is ruled out, was searched, or is likely.

    Parameters
    ----------
    said : Said
        The line.
    name : str
        For what it holds; empty for everything that is looked for.
    ground : Ground
        The ground with its weight.
    questions : tuple of str
        What to ask about its places.
    """

    said: Said
    name: str
    ground: Ground
    questions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class MotionReport:
    """How something moves."""

    said: Said
    name: str
    motion: Motion


@dataclass(frozen=True, slots=True)
class NoteReport:
    """Words with nothing to plot."""

    said: Said


@dataclass(frozen=True, slots=True)
class UnreadReport:
    """A line that could not be read, kept with the reason."""

    said: Said
    reason: str


@dataclass(frozen=True, slots=True)
class Picture:
    """Everything that the reports say, in the order they came.

    Parameters
    ----------
    title : str
        Name of the incident.
    positions : tuple of PositionReport
        Stations, subjects and named places, several for one name when it moved.
    bearings : tuple of BearingReport
        Bearings, in order.
    notes : tuple of NoteReport
        Notes.
    unread : tuple of UnreadReport
        Lines that could not be read.
    area : Area or None
        The area of operations, where one was reported or given.
    distances, watches, ground, motions : tuple
        What else is known of the things looked for, in order.
    """

    title: str
    positions: tuple[PositionReport, ...] = ()
    bearings: tuple[BearingReport, ...] = ()
    notes: tuple[NoteReport, ...] = ()
    unread: tuple[UnreadReport, ...] = ()
    area: Area | None = None
    distances: tuple[DistanceReport, ...] = ()
    watches: tuple[WatchReport, ...] = ()
    ground: tuple[GroundReport, ...] = ()
    motions: tuple[MotionReport, ...] = ()

    @property
    def last_time_utc(self) -> datetime | None:
        """Time of the latest line that has one."""
        lines = (
            *(report.said for report in self.positions),
            *(report.said for report in self.bearings),
            *(report.said for report in self.distances),
            *(report.said for report in self.watches),
            *(report.said for report in self.ground),
            *(report.said for report in self.motions),
            *(report.said for report in self.notes),
            *(report.said for report in self.unread),
        )
        return max((line.time_utc for line in lines if line.time_utc), default=None)


def to_ask(questions: Sequence[str]) -> tuple[str, ...]:
    """A report's questions but those that only say what was assumed, which is told elsewhere."""
    return tuple(each for each in questions if not each.startswith("Assumed "))
