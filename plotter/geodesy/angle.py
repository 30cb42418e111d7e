"""Angles as text: decimal degrees, degrees and minutes, degrees minutes and seconds."""

from typing import Literal

from plotter.errors import FormatError

__all__ = ["AngleStyle", "Hemispheres", "degrees_from_parts", "format_angle"]

AngleStyle = Literal["dd", "ddm", "dms"]
Hemispheres = Literal["NS", "EW"]


def format_angle(
    value_deg: float, hemispheres: Hemispheres, style: AngleStyle, decimals: int
) -> str:
    r"""Write a latitude or longitude, rounded to the nearest last figure, never printing 60.

    Parameters
    ----------
    value_deg : float
        Signed degrees.
    hemispheres : {"NS", "EW"}
        Letters for positive and negative.
    style : {"dd", "ddm", "dms"}
        Degrees; degrees and minutes; degrees, minutes and seconds.
    decimals : int
        Decimals of the last part, 0 to 10.

    Returns
    -------
    str
        Degrees padded to two (latitude) or three (longitude) figures in the sexagesimal styles.

    Examples
    --------
    >>> format_angle(-12.99999999, "NS", "dms", 1)
    '13°00\'00.0"S'
    >>> format_angle(8.5, "EW", "dd", 4)
    '8.5000E'
    """
    letter = hemispheres[0] if value_deg >= 0 or value_deg == 0 else hemispheres[1]
    if style == "dd":
        text = f"{abs(value_deg):.{decimals}f}"
        return f"{text}{letter if float(text) else hemispheres[0]}"
    scale = 10**decimals
    parts = 60 if style == "ddm" else 3600
    # One rounding, of the whole angle in units of its last figure, then exact division: a carry
    # runs up into minutes and degrees by itself.
    units = round(abs(value_deg) * parts * scale)
    if units == 0:
        letter = hemispheres[0]
    last, fraction = divmod(units, scale)
    tail = f".{fraction:0{decimals}d}" if decimals else ""
    width = 2 if hemispheres == "NS" else 3
    if style == "ddm":
        degrees, minutes = divmod(last, 60)
        return f"{degrees:0{width}d}°{minutes:02d}{tail}'{letter}"
    minutes, seconds = divmod(last, 60)
    degrees, minutes = divmod(minutes, 60)
    return f"{degrees:0{width}d}°{minutes:02d}'{seconds:02d}{tail}\"{letter}"


def degrees_from_parts(parts: tuple[str, ...], text: str) -> tuple[float, float]:
    """Combine degrees, minutes and seconds as written into unsigned degrees and their last unit.

    Parameters
    ----------
    parts : tuple of str
        One to three unsigned numbers as written; only the last may have decimals.
    text : str
        The whole text, quoted in errors.

    Returns
    -------
    value_deg, unit_deg : float
        The angle, and the size of one unit in its last written figure.

    Raises
    ------
    FormatError
        If minutes or seconds reach 60, or a part before the last has decimals.

    Examples
    --------
    >>> degrees_from_parts(("48", "30"), "48 30")
    (48.5, 0.016666666666666666)
    """
    names = ("degrees", "minutes", "seconds")
    value = 0.0
    for i, part in enumerate(parts):
        if i < len(parts) - 1 and "." in part:
            raise FormatError(
                f"{names[i]} {part!r} in {text!r} have decimals, but {names[i + 1]} follow: only "
                "the last part may have decimals",
                text,
            )
        if i > 0 and float(part) >= 60.0:
            raise FormatError(
                f"{names[i]} {part!r} in {text!r} must be below 60: check for a misheard figure",
                text,
            )
    # From the smallest part up, so that each division happens once.
    for part in reversed(parts):
        value = float(part) + value / 60.0
    decimals = len(parts[-1].partition(".")[2])
    return value, 10.0**-decimals / 60.0 ** (len(parts) - 1)
