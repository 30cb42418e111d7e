"""A reference cut into the groups in which it is read out and written on a sheet."""

import re
from typing import Final

__all__ = ["spoken_groups"]

# Zone and band, or the band alone near the poles; the square of 100 km; the figures.
_MGRS: Final = re.compile(r"(\d{1,2}[A-Z]|[ABYZ])([A-Z]{2})((?:\d\d)*)")
_RUN: Final = re.compile(r"[A-Za-z]+|\d+|[^A-Za-z\d]+")
_WORD: Final = re.compile(r"\s*\S+(?:\s+\Z)?|\s+")


def spoken_groups(text: str) -> tuple[str, ...]:
    """Cut a reference into the groups that are spoken; joined they give the text again.

    Parameters
    ----------
    text : str
        A grid reference or a position.

    Returns
    -------
    tuple of str
        An MGRS reference as grid zone, square, easting and northing; any other text at its
        blanks, which stay with the group after them, or where letters and figures part company.

    Examples
    --------
    >>> spoken_groups("33TWN1234567890")
    ('33T', 'WN', '12345', '67890')
    >>> "".join(spoken_groups("33T 312345 5267890"))
    '33T 312345 5267890'
    """
    named = _MGRS.fullmatch(text)
    if named is not None:
        zone, square, figures = named.groups()
        half = len(figures) // 2
        return tuple(group for group in (zone, square, figures[:half], figures[half:]) if group)
    pattern = _WORD if " " in text else _RUN
    return tuple(pattern.findall(text)) or (text,)
