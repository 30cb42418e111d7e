"""Shapes and lines cut to the surroundings of a page's frame."""

from collections.abc import Sequence
from typing import Final

from plotter.sheet.frame import MapFrame

__all__ = ["near"]

_AROUND_MM: Final = 20.0

Point = tuple[float, float]


def near(
    frame: MapFrame, rings: Sequence[Sequence[Point]], *, closed: bool = True
) -> list[list[list[Point]]]:
    """Cut shapes or lines to the surroundings of the frame.

    A reach of a thousand kilometres is hundreds of metres on the page, and not every reader of a
    PDF can count that far.
    """
    import shapely

    rect, more = frame.rect, _AROUND_MM
    points = [point for ring in rings for point in ring]
    if all(
        rect.left - more <= x <= rect.right + more and rect.bottom - more <= y <= rect.top + more
        for x, y in points
    ):
        return [[list(ring) for ring in rings]]
    whole = shapely.Polygon(rings[0], rings[1:]) if closed else shapely.LineString(rings[0])
    cut = shapely.clip_by_rect(
        whole, rect.left - more, rect.bottom - more, rect.right + more, rect.top + more
    )
    found: list[list[list[Point]]] = []
    for part in shapely.get_parts(cut):
        if part.geom_type == "Polygon" and closed:
            edges = [part.exterior, *part.interiors]
            found.append([[(x, y) for x, y in edge.coords] for edge in edges])
        elif part.geom_type == "LineString" and not closed:
            found.append([[(x, y) for x, y in part.coords]])
    return found
