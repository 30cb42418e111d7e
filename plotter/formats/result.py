"""One way to read a text: which format, which square, and what had to be assumed."""

from dataclasses import dataclass

from plotter.geodesy.position import Square

__all__ = ["Reading"]


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
    """

    format: str
    square: Square
    assumed: tuple[str, ...] = ()
