"""Lengths and angles: the defining constants with their sources, and the words people use."""

from typing import Final

from plotter.errors import FormatError

__all__ = [
    "DEGREES_PER_NATO_MIL",
    "METRES_PER_FOOT",
    "METRES_PER_KILOMETRE",
    "METRES_PER_NAUTICAL_MILE",
    "METRES_PER_STATUTE_MILE",
    "METRES_PER_YARD",
    "NATO_MILS_PER_CIRCLE",
    "degrees_from_mils",
    "length_m",
    "length_words",
    "mils_from_degrees",
]

# First International Extraordinary Hydrographic Conference, Monaco 1929.
METRES_PER_NAUTICAL_MILE: Final = 1852.0
# International yard and pound agreement, 1959: the yard is exactly 0.9144 m.
METRES_PER_YARD: Final = 0.9144
METRES_PER_FOOT: Final = METRES_PER_YARD / 3.0
METRES_PER_STATUTE_MILE: Final = 1760.0 * METRES_PER_YARD
METRES_PER_KILOMETRE: Final = 1000.0
# The NATO mil divides the circle into 6400; other armies' 6000 and 6300 are not read here.
NATO_MILS_PER_CIRCLE: Final = 6400.0
DEGREES_PER_NATO_MIL: Final = 360.0 / NATO_MILS_PER_CIRCLE

_LENGTH_WORDS: Final = {
    "m": 1.0, "metre": 1.0, "metres": 1.0, "meter": 1.0, "meters": 1.0,
    "km": METRES_PER_KILOMETRE, "kms": METRES_PER_KILOMETRE,
    "kilometre": METRES_PER_KILOMETRE, "kilometres": METRES_PER_KILOMETRE,
    "kilometer": METRES_PER_KILOMETRE, "kilometers": METRES_PER_KILOMETRE,
    "nm": METRES_PER_NAUTICAL_MILE, "nmi": METRES_PER_NAUTICAL_MILE,
    "nautical mile": METRES_PER_NAUTICAL_MILE, "nautical miles": METRES_PER_NAUTICAL_MILE,
    "mi": METRES_PER_STATUTE_MILE, "mile": METRES_PER_STATUTE_MILE,
    "miles": METRES_PER_STATUTE_MILE, "statute mile": METRES_PER_STATUTE_MILE,
    "statute miles": METRES_PER_STATUTE_MILE,
    "ft": METRES_PER_FOOT, "foot": METRES_PER_FOOT, "feet": METRES_PER_FOOT,
    "yd": METRES_PER_YARD, "yds": METRES_PER_YARD, "yard": METRES_PER_YARD,
    "yards": METRES_PER_YARD,
}  # fmt: skip


def length_m(value: float, unit: str) -> float:
    """Convert a length with a unit word to metres.

    Parameters
    ----------
    value : float
        The number said.
    unit : str
        The unit as said: ``m``, ``km``, ``nm``, ``nautical miles``, ``miles``, ``ft``, ``yards``.

    Returns
    -------
    float
        Metres.

    Raises
    ------
    FormatError
        If the unit is not known.

    Examples
    --------
    >>> length_m(2, "nm")
    3704.0
    """
    word = " ".join(unit.lower().split())
    try:
        return value * _LENGTH_WORDS[word]
    except KeyError:
        raise FormatError(
            f"unknown unit of length {unit!r}; use m, km, nm, miles, yards or feet", unit
        ) from None


def length_words() -> frozenset[str]:
    """Every unit of length that `length_m` knows, in lower case."""
    return frozenset(_LENGTH_WORDS)


def degrees_from_mils(mils: float) -> float:
    """Convert NATO mils (6400 to the circle) to degrees.

    Examples
    --------
    >>> degrees_from_mils(1600)
    90.0
    """
    return mils * DEGREES_PER_NATO_MIL


def mils_from_degrees(degrees: float) -> float:
    """Convert degrees to NATO mils (6400 to the circle).

    Examples
    --------
    >>> mils_from_degrees(45)
    800.0
    """
    return degrees / DEGREES_PER_NATO_MIL
