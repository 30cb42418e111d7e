"""What speaks against a reported place, and what may have been meant instead."""

from collections.abc import Sequence
from typing import Final

from plotter.formats.result import Reading
from plotter.geodesy.geodesic import geodesic
from plotter.reports.lengths import length_in_words
from plotter.reports.report import Said
from plotter.reports.whereabouts import Moment, Whereabouts

__all__ = ["TOP_SPEED_M_PER_S", "doubts_about"]

# Faster than this between two reports, a position is asked for again: assumed, a vehicle on a
# clear road at 144 km/h.
TOP_SPEED_M_PER_S: Final = 40.0
_WORTH_SAYING: Final = 0.1


def doubts_about(
    known: Whereabouts,
    name: str,
    moment: Moment,
    line: Said,
    found: Sequence[Reading],
    spoken: str,
) -> tuple[str, ...]:
    """Questions about a place that lies outside the area, or farther off than anybody moves.

    Parameters
    ----------
    known : Whereabouts
        The area, and who was last where.
    name : str
        Who or what is there.
    moment : Moment
        When it was said.
    line : Said
        The report.
    found : sequence of Reading
        Its meanings, the plotted one first.
    spoken : str
        The position as said, to look for slips in; empty where it was not given in characters.

    Returns
    -------
    tuple of str
        Empty where nothing speaks against the place.
    """
    centre, size_m = found[0].square.centre, found[0].square.size_m
    area = known.area
    last = known.last_before(name, moment)
    seconds = 0.0
    if last is not None and last.time_utc and line.time_utc:
        seconds = max((line.time_utc - last.time_utc).total_seconds(), 60.0)
    against = ""
    if area is not None:
        beyond = geodesic(area.centre, centre).distance_m - area.radius_m
        if beyond > size_m:
            against = f"Lies {length_in_words(beyond)} outside the area of operations"
    if last is not None and seconds and not against:
        moved = geodesic(last.square.centre, centre).distance_m
        if moved - size_m - last.square.size_m > TOP_SPEED_M_PER_S * seconds:
            minutes = f"{seconds / 60:.0f} min"
            against = f"Moved {length_in_words(moved)} in {minutes} since its last report"
    if not against:
        return ()
    asked = f"{against}: read it back figure by figure."
    if area is None or not spoken:
        return (asked,)
    # Loaded late: most reports are where they are expected.
    from plotter.voice.doubt import Context, doubt

    context = Context(
        area, last.square.centre if last and seconds else None, seconds, TOP_SPEED_M_PER_S
    )
    slip = doubt(spoken, found, context)
    if not slip.alternatives or slip.ask is None:
        return (asked,)
    fitting = "; or ".join(
        f"{each.text} ({each.mistake}, {each.probability:.0%})"
        for i, each in enumerate(slip.alternatives[:3])
        if i == 0 or each.probability >= _WORTH_SAYING
    )
    return asked, f"{slip.ask} What would fit: {fitting}."
