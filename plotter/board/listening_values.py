"""Where to listen next, as frozen values."""

from dataclasses import dataclass

from plotter.board.answer_values import Sight, Spoken
from plotter.geodesy.position import Position

__all__ = ["Listening", "ListeningPlace"]


@dataclass(frozen=True, slots=True)
class ListeningPlace:
    """One proposed place to listen from.

    Parameters
    ----------
    rank : int
        1 for the best.
    name : str
        What people call it; may be empty.
    position : Position
        Where.
    reference : Spoken
        Its grid reference.
    sight : Sight or None
        The way to it from the nearest station or place; None where there is none.
    outcome : str
        What it is expected to give, in words.
    """

    rank: int
    name: str
    position: Position
    reference: Spoken
    sight: Sight | None
    outcome: str


@dataclass(frozen=True, slots=True)
class Listening:
    """The advice for one subject.

    Parameters
    ----------
    subject : str
        Who or what is looked for.
    findings : tuple of str
        What to say before the list: what was weighed, or why nothing helps.
    places : tuple of ListeningPlace
        Best first.
    cautions : tuple of str
        What the advice does not know.
    """

    subject: str
    findings: tuple[str, ...]
    places: tuple[ListeningPlace, ...]
    cautions: tuple[str, ...]
