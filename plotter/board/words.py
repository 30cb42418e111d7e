"""Figures into the words that a coordinator reads out: ages, lengths, bearings."""

from datetime import datetime
from functools import cache

from plotter.units import METRES_PER_KILOMETRE

__all__ = [
    "age_in_words",
    "bearing_in_words",
    "length_in_words",
    "norths_in_words",
]


def age_in_words(since: datetime | None, now: datetime | None) -> str:
    """Say how old something is.

    Parameters
    ----------
    since, now : datetime or None
        Aware; None where unknown.

    Returns
    -------
    str
        "now", "7 min", "1 h 40", "2 d 3 h"; "in 5 min" for a time ahead; empty where unknown.

    Examples
    --------
    >>> from datetime import UTC, timedelta
    >>> noon = datetime(2026, 5, 1, 12, 0, tzinfo=UTC)
    >>> age_in_words(noon, noon + timedelta(minutes=100))
    '1 h 40'
    """
    if since is None or now is None:
        return ""
    # Whole minutes that have passed; a watch that runs ahead must show, not be hidden as "now".
    minutes = int((now - since).total_seconds() // 60)
    if minutes < 0:
        return f"in {_span(-minutes)}"
    return "now" if minutes == 0 else _span(minutes)


@cache
def _span(minutes: int) -> str:
    hours, rest = divmod(minutes, 60)
    if hours == 0:
        return f"{minutes} min"
    if hours < 24:
        return f"{hours} h {rest:02d}"
    days, hours = divmod(hours, 24)
    return f"{days} d {hours} h"


def length_in_words(length_m: float) -> str:
    """Say a length, to about three figures.

    Examples
    --------
    >>> length_in_words(870.4), length_in_words(4321.0), length_in_words(54321.0)
    ('870 m', '4.32 km', '54.3 km')
    """
    if length_m < 10.0:
        return f"{length_m:.1f} m"
    if length_m < 999.5:
        return f"{length_m:.0f} m"
    kilometres = length_m / METRES_PER_KILOMETRE
    decimals = 2 if kilometres < 9.995 else 1 if kilometres < 99.95 else 0
    return f"{kilometres:.{decimals}f} km"


def bearing_in_words(bearing_deg: float, north: str) -> str:
    """Say a bearing with its north, as three figures.

    Examples
    --------
    >>> bearing_in_words(7.4, "magnetic"), bearing_in_words(359.9, "true")
    ('007° magnetic', '000° true')
    """
    return f"{round(bearing_deg) % 360:03d}° {north}"


def norths_in_words(angle_deg: float) -> str:
    """Say a declination or convergence with its side.

    Examples
    --------
    >>> norths_in_words(-1.26), norths_in_words(0.01)
    ('1.3° W', '0.0°')
    """
    rounded = round(abs(angle_deg), 1)
    if rounded == 0.0:
        return "0.0°"
    return f"{rounded:.1f}° {'E' if angle_deg > 0 else 'W'}"
