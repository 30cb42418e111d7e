"""What speaks against a place: how far outside the area it lies, and how far from the last one."""

from dataclasses import dataclass
from typing import Final

from plotter.formats.result import Reading
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Position
from plotter.voice.points import point_name
from plotter.voice.prior import SHAKE_M, Context

__all__ = ["Against", "against", "length_in_words"]

_FAR_KM: Final = 100.0


@dataclass(frozen=True, slots=True)
class Against:
    """What speaks against a place.

    Parameters
    ----------
    outside_m : float
        How far it lies outside the area of operations; 0 inside.
    bearing_true_deg : float
        Direction to it from the area's middle.
    swapped_outside_m : float or None
        How far outside it would lie if the area's own latitude and longitude had been swapped when
        the area was given; None where its longitude can be no latitude.
    moved_m : float or None
        How far it lies from the sender's last place; None where that is not known.
    reach_m : float
        How far the sender can have come since.
    size_m : float
        Side of the square: nothing is told finer.
    """

    outside_m: float
    bearing_true_deg: float
    swapped_outside_m: float | None
    moved_m: float | None
    reach_m: float
    size_m: float

    def words(self) -> tuple[str, ...]:
        """The same in sentences, the weightiest first; empty where nothing speaks against it."""
        found = []
        if self.outside_m > self.size_m:
            found.append(
                f"As said it lies {length_in_words(self.outside_m)} outside the area of "
                f"operations, to the {point_name(self.bearing_true_deg)} of it "
                f"({self.bearing_true_deg:03.0f}° true from its middle)."
            )
            if self.swapped_outside_m is not None:
                found.append(self._swapped())
        if self.moved_m is not None and self.moved_m > self.reach_m + self.size_m + SHAKE_M:
            found.append(
                f"As said it lies {length_in_words(self.moved_m)} from the sender's last place; "
                f"no more than {length_in_words(self.reach_m)} can have been covered since."
            )
        return tuple(found)

    def _swapped(self) -> str:
        if self.swapped_outside_m is None or self.swapped_outside_m > self.size_m:
            away = length_in_words(self.swapped_outside_m or 0.0)
            return f"With the area's own latitude and longitude swapped: {away} outside as well."
        return (
            "With the area's own latitude and longitude swapped it would lie inside: check how "
            "the area was given."
        )

    def data(self) -> dict[str, object]:
        """As JSON data."""
        return {
            "outside_m": self.outside_m,
            "bearing_true_deg": self.bearing_true_deg,
            "swapped_outside_m": self.swapped_outside_m,
            "moved_m": self.moved_m,
            "reach_m": self.reach_m,
        }


def against(reading: Reading, context: Context) -> Against:
    """Weigh one reading against what is known of the sender.

    Parameters
    ----------
    reading : Reading
        What was said.
    context : Context
        Where the report can come from.
    """
    area, centre = context.area, reading.square.centre
    way = geodesic(area.centre, centre)
    swapped = None
    if abs(area.centre.lon_deg) <= 90.0:
        turned = Position(area.centre.lon_deg, area.centre.lat_deg)
        swapped = max(geodesic(turned, centre).distance_m - area.radius_m, 0.0)
    moved = geodesic(context.last, centre).distance_m if context.last is not None else None
    return Against(
        max(way.distance_m - area.radius_m, 0.0),
        way.bearing_true_deg,
        swapped,
        moved,
        context.reach_m,
        reading.square.size_m,
    )


def length_in_words(metres: float) -> str:
    """Length for a sentence.

    Examples
    --------
    >>> length_in_words(850.4), length_in_words(19_640.0), length_in_words(6_740_000.0)
    ('850 m', '19.6 km', '6 740 km')
    """
    if metres < 1_000.0:
        return f"{metres:.0f} m"
    kilometres = metres / 1_000.0
    if kilometres < _FAR_KM:
        return f"{kilometres:.1f} km"
    return f"{kilometres:,.0f} km".replace(",", " ")
