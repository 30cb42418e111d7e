"""What reading gives: one meaning of a text, or the columns of many."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from plotter.geodesy.arrays import BoolArray, FloatArray
from plotter.geodesy.position import Square

__all__ = ["Reading", "Squares", "Unstated", "asks_of", "said_beside"]

Unstated: TypeAlias = Literal["lat side", "lon side", "order", "units", "which part"]


@dataclass(frozen=True, slots=True)
class Reading:
    """One meaning that a text admits.

    Parameters
    ----------
    format : str
        Name of the format: ``latlon``, ``utm``, ``ups``, ``mgrs``, ``maidenhead`` ...
    square : Square
        The cell it names.
    assumed : tuple of str
        What this meaning rests on beyond the text itself; empty when the text says it all.
    rests_on : str
        The part of the text that it was read from, as it stands there; empty for all of it.
    left_out : tuple of str
        The other parts of the text, as they stand there, in order; words about who or what is
        there are among them.
    unstated : frozenset of Unstated
        What the text leaves open that a position should state, whatever it was then taken for: a
        side, which angle comes first, the units of its figures, which part of the line is meant.
    asks : tuple of str
        What was said beside it and may move it, each with what to ask; nobody is sent to a place
        that has one.
    """

    format: str
    square: Square
    assumed: tuple[str, ...] = ()
    rests_on: str = ""
    left_out: tuple[str, ...] = ()
    unstated: frozenset[Unstated] = frozenset()
    asks: tuple[str, ...] = ()


def asks_of(found: Sequence[Reading]) -> tuple[str, ...]:
    """What was said beside a text's position and may move it, over all its readings."""
    return tuple(dict.fromkeys(ask for each in found for ask in each.asks))


def said_beside(found: Sequence[Reading]) -> str:
    """Words beside a text's position that no reading uses, quoted; empty where there are none."""
    used = [set(each.left_out) for each in found]
    common = set.intersection(*used) if used else set()
    return ", ".join(repr(words) for words in found[0].left_out if words in common) if found else ""


@dataclass(frozen=True, slots=True)
class Squares:
    """Many squares as columns, one row a text; an unreadable row is NaN and has its reason.

    Parameters
    ----------
    lat_deg, lon_deg, size_m : ndarray, shape (n,)
        Centres and longer sides; NaN where the text could not be read.
    reasons : dict of int to str
        Row number to what was wrong with it.
    """

    lat_deg: FloatArray
    lon_deg: FloatArray
    size_m: FloatArray
    reasons: dict[int, str] = field(default_factory=dict)

    @property
    def ok(self) -> BoolArray:
        """Which rows were read, shape (n,)."""
        ok: BoolArray = ~(self.lat_deg != self.lat_deg)  # NaN is not itself
        return ok
