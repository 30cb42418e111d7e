"""What a fix is computed from: bearings, each with its own doubts, and where the thing can be."""

import math
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Final

from plotter.errors import FormatError
from plotter.geodesy.geodesic import normal_bearing_deg
from plotter.geodesy.position import Area, Position

if TYPE_CHECKING:
    from plotter.fix.ground import Ground

__all__ = [
    "Bearing",
    "CommonError",
    "Support",
    "check_report",
    "default_sigma_deg",
    "wrong_chances",
]

# Assumed, not measured: one standard deviation by how the bearing was taken. The classes A, B, C of
# the Radio Regulations (Atlantic City 1947, appendix 15) are 2, 5 and 10 degrees; reading those as
# 95 % limits, two standard deviations, is our own.
_SIGMA_DEG: Final = {
    "class A": 1.0,
    "class B": 2.5,
    "class C": 5.0,
    "hand-held directional": 6.0,
    "null or loop": 10.0,
    "that way": 20.0,
}
_COMPASS_DEG: Final = 3.0


def default_sigma_deg(kind: str, *, compass: bool = False) -> float:
    """Assumed error of a bearing where nobody stated one.

    Parameters
    ----------
    kind : str
        ``class A``, ``class B``, ``class C``, ``hand-held directional``, ``null or loop`` or
        ``that way`` (a pointed arm).
    compass : bool
        True where the direction was read off a magnetic compass: adds 3 degrees in quadrature.

    Returns
    -------
    float
        One standard deviation, degrees. Judgement, so say that it was assumed.

    Raises
    ------
    FormatError
        If the kind is not known.

    Examples
    --------
    >>> default_sigma_deg("class C")
    5.0
    """
    try:
        sigma_deg = _SIGMA_DEG[kind]
    except KeyError:
        raise FormatError(
            f"unknown kind of bearing {kind!r}; use {', '.join(_SIGMA_DEG)}", kind
        ) from None
    return math.hypot(sigma_deg, _COMPASS_DEG) if compass else sigma_deg


def wrong_chances(kind: str, *, sense_confirmed: bool = False) -> tuple[float, float]:
    """Prior chances of the reciprocal and of a gross error, by how a bearing was taken; assumed.

    Parameters
    ----------
    kind : str
        As for `default_sigma_deg`. A loop or a null looks the same from both sides.
    sense_confirmed : bool
        True where the observer made sure which way it points.

    Examples
    --------
    >>> wrong_chances("null or loop")
    (0.48, 0.04)
    """
    if sense_confirmed:
        return 0.005, 0.05
    return (0.48, 0.04) if kind == "null or loop" else (0.02, 0.05)


def check_report(
    name: str, observer_sigma_m: float, p_gross: float, time_utc: datetime | None
) -> None:
    """Reject what no report can have, whatever its kind.

    Raises
    ------
    FormatError
        If the observer's error or the chance of a wrong report is out of range, or the time has no
        zone.
    """
    if not (math.isfinite(observer_sigma_m) and observer_sigma_m >= 0):
        raise FormatError(f"observer sigma must be 0 m or more: {observer_sigma_m!r}")
    if not 0 <= p_gross < 1:
        raise FormatError(
            f"the chance of a wrong {name} must be 0 or more and below 1: {p_gross!r}"
        )
    if time_utc is not None and time_utc.tzinfo is None:
        raise FormatError(f"the time of a {name} must say its zone: {time_utc!r}; use UTC")


@dataclass(frozen=True, slots=True)
class CommonError:
    """An error that several bearings share: one operator's wrong declination, one bad compass.

    Parameters
    ----------
    name : str
        What they share; bearings with the same name have the same error.
    sigma_deg : float
        One standard deviation of it, above zero.
    """

    name: str
    sigma_deg: float

    def __post_init__(self) -> None:
        """Reject an error without size."""
        if not (math.isfinite(self.sigma_deg) and 0 < self.sigma_deg <= 90):
            raise FormatError(
                f"a shared error must be above 0 and at most 90 degrees: {self.sigma_deg!r}"
            )


@dataclass(frozen=True, slots=True)
class Bearing:
    """One bearing towards the thing that is looked for.

    Parameters
    ----------
    observer : Position
        Where it was taken.
    bearing_true_deg : float
        From true north, kept in [0, 360).
    sigma_deg : float
        One standard deviation of its error, degrees, above zero.
    sender : str
        Who reported it; named in the findings.
    observer_sigma_m : float
        One standard deviation of the observer's own position, per axis, metres.
    other_true_deg : float or None
        What the same words would mean from another north, where the north was not stated.
    p_reciprocal, p_gross : float
        Prior probability that it points the opposite way, or anywhere.
    as_said : str
        The bearing in the sender's own words, for findings that quote it; "229° true" where empty.
    p_other : float
        Prior probability of that other meaning.
    sigma_stated : bool
        False where the error was assumed, as by `default_sigma_deg`: it is then weighed with a
        factor common to all assumed errors, instead of being taken for certain.
    common : CommonError or None
        An error that it shares with other bearings, beside its own.
    time_utc : datetime or None
        When it was taken, aware; needed where the thing moves.
    exact : bool
        True where the error is that of a calibrated instrument and is taken at its word. A stated
        error is an opinion otherwise: see `plotter.fix.likelihood`.

    Raises
    ------
    FormatError
        If a value is out of range.
    """

    observer: Position
    bearing_true_deg: float
    sigma_deg: float
    sender: str = ""
    observer_sigma_m: float = 0.0
    other_true_deg: float | None = None
    p_reciprocal: float = 0.02
    p_gross: float = 0.05
    as_said: str = ""
    p_other: float = 0.5
    sigma_stated: bool = True
    common: CommonError | None = None
    time_utc: datetime | None = None
    exact: bool = False

    def __post_init__(self) -> None:
        """Reject what cannot be a bearing, and make plain floats of what numpy or people give."""
        for name in ("sigma_deg", "observer_sigma_m", "p_reciprocal", "p_gross"):
            object.__setattr__(self, name, float(getattr(self, name)))
        object.__setattr__(self, "bearing_true_deg", normal_bearing_deg(self.bearing_true_deg))
        if self.other_true_deg is not None:
            object.__setattr__(self, "other_true_deg", normal_bearing_deg(self.other_true_deg))
        if not (math.isfinite(self.sigma_deg) and 0 < self.sigma_deg <= 180):
            raise FormatError(f"sigma must be above 0 and at most 180 degrees: {self.sigma_deg!r}")
        if not (self.p_reciprocal >= 0 and self.p_gross >= 0):
            raise FormatError("the chances of a wrong bearing cannot be negative")
        check_report("bearing", self.observer_sigma_m, self.p_gross, self.time_utc)
        if not 0 <= self.p_other <= 1:
            raise FormatError(f"the chance of another north must be 0 to 1: {self.p_other!r}")
        if not self.p_reciprocal + self.p_gross < 1:
            raise FormatError("the chances of a wrong bearing must leave room for a good one")


@dataclass(frozen=True, slots=True)
class Support:
    """Where the thing can be before any direction: from who heard it, or a patch that is stated.

    Parameters
    ----------
    radius_m : float or None
        Half the side of a square patch in which the thing is certain to be, anywhere alike, metres.
        Unless given, see `plotter.fix.hearing`: near those who heard it rather than far.
    centre : Position or None
        Its middle; the mean of the observers unless given.
    ground : tuple of Ground
        Ground that is ruled out, unlikely or likely: water, what was searched, a path.
    area : Area or None
        The area of operations, where no patch is stated: the thing may well be in it.
    """

    radius_m: float | None = None
    centre: Position | None = None
    ground: "tuple[Ground, ...]" = ()
    area: Area | None = None

    def __post_init__(self) -> None:
        """Reject a patch without extent."""
        # A whole number would make the cells' sides narrow integers that overflow.
        if self.radius_m is None:
            return
        object.__setattr__(self, "radius_m", float(self.radius_m))
        if not (math.isfinite(self.radius_m) and self.radius_m > 0):
            raise FormatError(f"the support needs a positive radius in metres: {self.radius_m!r}")
