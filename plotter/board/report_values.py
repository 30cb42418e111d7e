"""One line that came in and one reported position, as frozen values: what lists and maps show."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal, TypeAlias

from plotter.board.paths import LatLon, Ring
from plotter.reports.report import Role

__all__ = ["Entry", "EntryKind", "Mark"]

EntryKind: TypeAlias = Literal[
    "position", "bearing", "distance", "watch", "ground", "motion", "note", "unread"
]


@dataclass(frozen=True, slots=True)
class Entry:
    """One line that came in, as the list shows it.

    Parameters
    ----------
    kind : str
        "position", "bearing", "distance", "watch", "ground", "motion", "note" or "unread".
        What it was taken to be.
    called : str
        What it is found by: the number of its line in the file, or what the log calls it.
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
    called: str
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
