"""Grid references as the sheet writes them: in groups, as fine as what they name."""

from collections.abc import Callable

from plotter.errors import FormatError
from plotter.formats.groups import spoken_groups
from plotter.formats.registry import FORMATS
from plotter.geodesy.position import Position, wrap_longitude_deg

__all__ = ["Reference", "grid_reference", "square_letters", "square_reference"]

# Latitude, longitude and size in metres of the square to be named.
Reference = Callable[[float, float, float], str]

_STEPS_M = (1.0, 10.0, 100.0, 1_000.0, 10_000.0)


def grid_reference(lat_deg: float, lon_deg: float, size_m: float) -> str:
    """Return the MGRS reference of a place, in the groups that are spoken.

    Examples
    --------
    >>> grid_reference(-38.4, -22.3, 10.0)
    '27H UT 8648 4900'
    """
    text = FORMATS["mgrs"].write(Position(lat_deg, wrap_longitude_deg(lon_deg)), size_m)
    return " ".join(group.strip() for group in spoken_groups(text.replace(" ", "")))


def square_reference(place: tuple[float, float], size_m: float, reference: Reference) -> str:
    """Return the reference of the square about a place.

    A square of the grid gets its own reference; of any other the middle is named a step finer, as
    a square of the grid would not be the same ground.
    """
    step = max((s for s in _STEPS_M if s <= 1.001 * size_m), default=_STEPS_M[0])
    if size_m > 1.001 * step:
        step = max(step / 10.0, _STEPS_M[0])
    try:
        return reference(*place, step)
    except FormatError as error:
        return str(error)


def square_letters(place: Position) -> str:
    """Return the name of the square of 100 km at a place: "27H UT"."""
    words = grid_reference(place.lat_deg, place.lon_deg, 10_000.0).split()
    return " ".join(words[:2])
