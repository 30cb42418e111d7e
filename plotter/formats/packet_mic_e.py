"""Positions squeezed into a packet's destination and its first eight bytes: Mic-E."""

from typing import Final

from plotter.errors import FormatError
from plotter.formats.squares import graticule_square
from plotter.geodesy.position import Square

__all__ = ["mic_e_square"]

_DIGITS: Final = (
    {str(d): d for d in range(10)}
    | {chr(ord("A") + d): d for d in range(10)}
    | {chr(ord("P") + d): d for d in range(10)}
)
_BLANK: Final = frozenset("KLZ")
_UNITS: Final = (0.01, 0.1, 1.0, 10.0, 60.0)


def mic_e_square(destination: str, body: str, text: str) -> tuple[Square, int]:
    """Square of a Mic-E position, and how many of its figures are blank.

    Parameters
    ----------
    destination : str
        The packet's destination: six characters, each a figure of the latitude and one bit.
    body : str
        What follows the type byte, from the longitude's degrees on.
    text : str
        The whole packet, for what goes wrong.

    Raises
    ------
    FormatError
        If it is too short, or no such position can be.

    Source
    ------
    APRS Protocol Reference 1.0.1, chapter 10, from memory; checked against its worked example and
    another reader in the tests.
    """
    signs = destination.partition("-")[0]
    if len(signs) != 6 or len(body) < 8:
        raise FormatError(
            f"{text!r} is too short for a position in the destination: ask for another packet", text
        )
    blank = sum(sign in _BLANK for sign in signs)
    if blank > 4 or any(sign in _BLANK for sign in signs[: 6 - blank]):
        raise FormatError(f"{text!r}: figures are missing in the middle of its latitude", text)
    figures = [_DIGITS.get(sign, 0 if sign in _BLANK else -1) for sign in signs]
    north, far, west = (sign >= "P" for sign in signs[3:])
    degrees = ord(body[0]) - 28 + (100 if far else 0)
    if 180 <= degrees <= 189:
        degrees -= 80
    elif 190 <= degrees <= 199:
        degrees -= 190
    minutes = (ord(body[1]) - 28) % 60
    hundredths = ord(body[2]) - 28
    lat = (figures[0] * 10 + figures[1]) * 60 + figures[2] * 10 + figures[3]
    lat_minutes = lat + figures[4] / 10.0 + figures[5] / 100.0
    lon_minutes = degrees * 60 + minutes + hundredths / 100.0
    in_range = ord(body[1]) >= 28 and 0 <= hundredths <= 99 and 0 <= degrees < 180
    if min(figures) < 0 or figures[2] > 5 or not in_range or lat_minutes > 5400.0:
        raise FormatError(f"{text!r} holds no position that can be: ask for another packet", text)
    unit = _UNITS[blank]
    if blank:
        lat_minutes += unit / 2.0
        lon_minutes = lon_minutes // unit * unit + unit / 2.0
    return (
        graticule_square(
            lat_minutes / 60.0 if north else -lat_minutes / 60.0,
            -lon_minutes / 60.0 if west else lon_minutes / 60.0,
            unit / 60.0,
            unit / 60.0,
        ),
        blank,
    )
