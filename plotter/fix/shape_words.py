"""How the findings say a shape that is no point, and what to ask next that would help it."""

from collections.abc import Sequence
from typing import Final

from plotter.fix.model import Evidence
from plotter.fix.shape import Shape
from plotter.fix.wording import (
    area_words,
    bearing_words,
    distance_words,
    place_words,
    span_words,
    stand_words,
)
from plotter.geodesy.position import Position

__all__ = ["shape_words", "what_to_do"]

_CUT: Final = ", cut off where the ground that is computed ends"


def shape_words(reports: Sequence[Evidence], best: Position, area_km2: float, shape: Shape) -> str:
    """Say a shape from a place with a name, in small letters and without an end."""
    cut = _CUT if shape.at_the_edge else ""
    if shape.kind == "nothing":
        return "nothing is known but where it was not heard: nobody has heard it or seen it yet"
    if shape.kind == "strip":
        axis = shape.axis_true_deg
        return (
            f"a strip, not a point: along {bearing_words(axis)} and {bearing_words(axis + 180.0)}, "
            f"{distance_words(shape.length_m)} long and up to {distance_words(shape.width_m)} "
            f"wide, likeliest {place_words(reports, best)}{cut}"
        )
    place = stand_words(reports, 0 if shape.start is None else shape.start)
    if shape.kind == "wedge":
        spread = max(round(shape.spread_deg), 1)
        return (
            f"a direction, not a point: {bearing_words(shape.direction_true_deg)} ± {spread}° from "
            f"{place}; 5, 50 and 95 % of the chance lie within "
            f"{span_words(shape.near_m, shape.middle_m, shape.far_m)}{cut}"
        )
    if shape.kind == "ring":
        half = 0.5 * (shape.far_m - shape.near_m)
        return (
            f"a ring, not a point: {distance_words(shape.middle_m)} from {place} on any side, "
            f"90 % within ± {distance_words(half)}; its ground is {area_words(area_km2)}"
        )
    return (
        f"an area, not a point: half of the chance within {distance_words(shape.middle_m)} of "
        f"{place}, 95 % within {distance_words(shape.far_m)}{cut}"
    )


def what_to_do(reports: Sequence[Evidence], shape: Shape) -> str:
    """Say what helps this shape most."""
    if shape.kind == "wedge":
        aside = bearing_words(shape.direction_true_deg + 90.0)
        other = bearing_words(shape.direction_true_deg - 90.0)
        place = stand_words(reports, 0 if shape.start is None else shape.start)
        return (
            "Ask for a bearing from somebody well off to the side of this line, as far on "
            f"{aside} or {other} of {place} as can be."
        )
    if shape.kind == "strip":
        return "Ask for a bearing from somebody well off to the side of this strip."
    if shape.kind == "ring":
        return "Ask for one bearing, from anywhere: it picks the place on the ring."
    if shape.kind == "nothing":
        return "Ask who hears it, and from where; every watch that hears nothing narrows it too."
    return "Ask for a bearing, and who else hears it or does not: each narrows this."
