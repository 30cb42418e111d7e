"""The three norths at the middle of a page, and the words that turn one bearing into another."""

from dataclasses import dataclass
from datetime import date

from plotter.board.words import norths_in_words
from plotter.geodesy.magnetic import declination
from plotter.sheet.frame import MapFrame
from plotter.sheet.plane import zone_at

__all__ = ["SheetNorths", "norths_of"]


@dataclass(frozen=True, slots=True)
class SheetNorths:
    """The norths of a page.

    Parameters
    ----------
    declination_deg : float
        Magnetic north, clockwise from true.
    convergence_deg : float
        Grid north of the zone of the page's middle, clockwise from true.
    lines : tuple of str
        In words.
    """

    declination_deg: float
    convergence_deg: float
    lines: tuple[str, ...]

    @property
    def grid_magnetic_deg(self) -> float:
        """Magnetic north, clockwise from grid north, (−180, 180]."""
        angle = (self.declination_deg - self.convergence_deg) % 360.0
        return angle - 360.0 if angle > 180.0 else angle


def norths_of(frame: MapFrame, day: date) -> SheetNorths:
    """Return the norths at the middle of a page on a day.

    The grid is that of the middle's own zone, which on a page across a boundary need not be the
    one that the page's plane belongs to.
    """
    middle = frame.middle
    zone = zone_at(middle)
    magnetic = declination(middle, day)
    later = declination(middle, _a_year_on(day))
    change_deg = (later.declination_deg - magnetic.declination_deg + 180.0) % 360.0 - 180.0
    convergence, _ = zone.convergence_and_scale(middle)
    norths = SheetNorths(magnetic.declination_deg, convergence, ())
    angle = norths.grid_magnetic_deg
    turn = f"{abs(angle):.1f}°"
    sign, back = ("add", "subtract") if angle >= 0 else ("subtract", "add")
    minutes = round(abs(change_deg) * 60.0)
    moving = f"moving {minutes}' {'E' if change_deg > 0 else 'W'} a year" if minutes else "steady"
    lines = [
        f"Magnetic to grid: {sign} {turn}. Grid to magnetic: {back} {turn}.",
        (
            f"Declination {norths_in_words(magnetic.declination_deg)} ± {magnetic.sigma_deg:.1f}°, "
            f"{moving}; grid north {norths_in_words(convergence)} of true ({zone.name}). At the "
            f"middle of the sheet, {day.isoformat()}. Angles not to scale."
        ),
        *magnetic.warnings,
    ]
    return SheetNorths(magnetic.declination_deg, convergence, tuple(lines))


def _a_year_on(day: date) -> date:
    # The 29th of February has no anniversary; a day does not matter to a yearly change.
    return day.replace(year=day.year + 1, day=min(day.day, 28))
