"""What a fix says: the best point, the regions, the pieces, and a verdict on every bearing."""

from dataclasses import dataclass
from typing import Literal, TypeAlias

from plotter.geodesy.position import Position

Kind: TypeAlias = Literal["point", "strip", "ring", "disc", "wedge", "several places", "nothing"]
"""The shape of an answer; see `plotter.fix.shape`."""

__all__ = [
    "BearingVerdict",
    "ErrorEllipse",
    "Fix",
    "Kind",
    "Piece",
    "Polygon",
    "Region",
    "ReportVerdict",
]


@dataclass(frozen=True, slots=True)
class Polygon:
    """One connected outline with its holes.

    Parameters
    ----------
    outer : tuple of Position
        The outer ring, not closed, anticlockwise.
    holes : tuple of tuple of Position
        Inner rings, not closed.
    """

    outer: tuple[Position, ...]
    holes: tuple[tuple[Position, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class Piece:
    """One connected part of a region.

    Parameters
    ----------
    share : float
        The probability that the truth lies in this piece.
    best : Position
        The most likely point of this piece.
    polygon : Polygon
        Its outline.
    area_km2 : float
        Its area.
    """

    share: float
    best: Position
    polygon: Polygon
    area_km2: float


@dataclass(frozen=True, slots=True)
class Region:
    """The smallest ground that holds the truth with a stated probability.

    Parameters
    ----------
    probability : float
        Between 0 and 1.
    area_km2 : float
        Area of all its pieces together.
    pieces : tuple of Piece
        Largest share first; every piece, small ones too.
    """

    probability: float
    area_km2: float
    pieces: tuple[Piece, ...]


@dataclass(frozen=True, slots=True)
class BearingVerdict:
    """What the fix makes of one bearing; the three chances sum to 1.

    Parameters
    ----------
    sender : str
        Who reported it.
    p_good, p_reciprocal, p_gross : float
        Chance that it is right within its error, that it points the opposite way, that it is
        simply wrong.
    residual_deg : float
        Bearing reported minus bearing from the observer to the best point, [−180, 180).
    p_near : float or None
        Chance that it is right and no farther off than its stated error leads to expect; None where
        that was not weighed.
    """

    sender: str
    p_good: float
    p_reciprocal: float
    p_gross: float
    residual_deg: float
    p_near: float | None = None


@dataclass(frozen=True, slots=True)
class ReportVerdict:
    """What the fix makes of a distance or of a place.

    Parameters
    ----------
    kind : str
        ``distance`` or ``place``.
    sender : str
        Who reported it.
    p_good : float
        Chance that it is right within its error.
    residual_m : float
        Distance reported minus distance to the best point; for a place, how far off it is.
    """

    kind: str
    sender: str
    p_good: float
    residual_m: float


@dataclass(frozen=True, slots=True)
class ErrorEllipse:
    """The Cramér–Rao ellipse at one standard deviation, if every bearing is right.

    Parameters
    ----------
    semi_major_m, semi_minor_m : float
        Semi-axes at 1 sigma; times 2.4477 for 95 %.
    orientation_true_deg : float
        Bearing of the major axis, [0, 180).
    """

    semi_major_m: float
    semi_minor_m: float
    orientation_true_deg: float


@dataclass(frozen=True, slots=True)
class Fix:
    """The answer computed from several pieces of evidence.

    Parameters
    ----------
    best : Position
        The most likely point of the heaviest piece of the 50 % region; never a mean of pieces.
    regions : tuple of Region
        The 50 % and the 95 % region.
    bearings : tuple of BearingVerdict
        One for each bearing, in the order given.
    others : tuple of ReportVerdict
        One for each distance, then one for each place, in the order given.
    p_all_good : float
        Chance that every report is right within its error.
    chi2, degrees_of_freedom, p_chi2 : float, int, float
        Least chi-square of the reports, its degrees of freedom (their number, places counted twice,
        less two), and the chance of a larger one; p_chi2 is 1.0 without degrees of freedom.
    ellipse : ErrorEllipse or None
        None where the reports do not bound the point.
    shape : str
        ``point``, ``strip``, ``ring``, ``disc``, ``wedge``, ``several places`` or ``nothing``.
    otherwise_km2 : float or None
        About the area of the 95 % region if the stated errors were taken at face value, or, where
        all are exact, if they were half trusted; None where no error was stated.
    findings : tuple of str
        What to tell the coordinator, plain sentences, most important first.
    """

    best: Position
    regions: tuple[Region, ...]
    bearings: tuple[BearingVerdict, ...]
    p_all_good: float
    chi2: float
    degrees_of_freedom: int
    p_chi2: float
    ellipse: ErrorEllipse | None
    shape: Kind
    findings: tuple[str, ...]
    others: tuple[ReportVerdict, ...] = ()
    otherwise_km2: float | None = None

    @property
    def sector(self) -> bool:
        """True where no point describes it: it is told and drawn as its shape."""
        return self.shape not in ("point", "several places")
