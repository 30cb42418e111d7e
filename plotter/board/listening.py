"""Advice on where to listen next as something to show and to say."""

from collections.abc import Sequence
from datetime import date
from typing import Final

from plotter.board.answer_values import Sight, Spoken
from plotter.board.listening_values import Listening, ListeningPlace
from plotter.fix.next_place import Advice, NextPlace
from plotter.fix.wording import area_words, percent_words
from plotter.formats.groups import spoken_groups
from plotter.formats.registry import FORMATS
from plotter.geodesy.geodesic import geodesic, normal_bearing_deg
from plotter.geodesy.magnetic import declination
from plotter.geodesy.position import Position

__all__ = ["CAUTIONS", "listening_of", "outcome_words", "reference_of", "way_to"]

CAUTIONS: Final = (
    "An aid to planning. The authority on site says whether a place can be reached and is safe.",
    "Hills and walls are not known to it: take the highest open ground near the place.",
)

# A place to walk to, not a point to hit.
_REFERENCE_M: Final = 10.0
_SAME_PLACE_M: Final = 20.0


def listening_of(
    subject: str,
    advice: Advice,
    origins: Sequence[tuple[str, Position]],
    *,
    weighed: str,
    day: date,
) -> Listening:
    """Turn advice into what is shown of it.

    Parameters
    ----------
    subject : str
        Who or what is looked for.
    advice : Advice
        The result.
    origins : sequence of (str, Position)
        From where the way to a place may be said; the nearest is taken.
    weighed : str
        Which places were weighed, in words.
    day : date
        For the declination.
    """
    now = f"95 % region now {area_words(advice.present_area_km2)}, wrong bearings allowed for"
    findings = [f"{now}. Weighed: {weighed}."]
    if advice.reason:
        findings.insert(0, f"One more bearing would help little: {advice.reason}.")
    return Listening(
        subject,
        tuple(findings),
        tuple(
            ListeningPlace(
                rank,
                each.name,
                each.position,
                reference_of(each.position),
                way_to(each, origins, day),
                outcome_words(each, advice.present_area_km2),
            )
            for rank, each in enumerate(advice.places, start=1)
        ),
        CAUTIONS,
    )


def reference_of(position: Position) -> Spoken:
    """Give the MGRS square of 10 m that holds a place, in the groups that are spoken."""
    text = FORMATS["mgrs"].write(position, _REFERENCE_M)
    return Spoken("MGRS", text, spoken_groups(text))


def way_to(place: NextPlace, origins: Sequence[tuple[str, Position]], day: date) -> Sight | None:
    """Way to a place from the nearest origin that is not the place itself."""
    ways = [
        (geodesic(start, place.position), name, start)
        for name, start in origins
        if name != place.name
    ]
    ways = [way for way in ways if way[0].distance_m > _SAME_PLACE_M]
    if not ways:
        return None
    line, name, start = min(ways, key=lambda way: way[0].distance_m)
    magnetic_deg = normal_bearing_deg(
        line.bearing_true_deg - declination(start, day).declination_deg
    )
    return Sight(name, line.distance_m, line.bearing_true_deg, magnetic_deg)


def outcome_words(place: NextPlace, present_km2: float) -> str:
    """Say what a report from a place is expected to leave of the region.

    Examples
    --------
    >>> outcome_words(NextPlace(Position(0, 0), "", 2.0, 1.0, 4.1, 1.3), 36.0)
    '95 % region from 36 km² to about 4.1 km² on average, every second time under 1.3 km²'
    """
    median = area_words(place.median_area_km2)
    if place.expected_area_km2 < present_km2:
        words = (
            f"95 % region from {area_words(present_km2)} to about "
            f"{area_words(place.expected_area_km2)} on average, every second time under {median}"
        )
    else:
        # The mean is that of the few reports that contradict the others: they open new ground, and
        # then the region was too small before. Listening makes nothing worse.
        words = (
            f"95 % region from {area_words(present_km2)}, every second time under {median}; a "
            "report that contradicts the others would open new ground"
        )
    if place.p_heard < 0.995:
        words += f"; heard there with {percent_words(place.p_heard)}"
    return words
