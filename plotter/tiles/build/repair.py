"""Geometry made valid once, when it is read; cut so that no part can exceed its source."""

import numpy as np
import shapely
from numpy.typing import NDArray

__all__ = ["cut", "repaired"]


def repaired(shapes: NDArray[np.object_]) -> tuple[NDArray[np.object_], NDArray[np.bool_]]:
    """Shapes with their invalid areas made valid; what has no valid part becomes empty.

    Parameters
    ----------
    shapes : ndarray of shapely geometry, shape (n,)
        Any; None is empty.

    Returns
    -------
    tuple of ndarray
        The shapes, and which of them were invalid.

    Source
    ------
    OGC Simple Features, validity; GEOS' "structure" method: rings are made valid first, then holes
    are taken from shells, so that no area is filled that the source does not ring.
    """
    bad = ~shapely.is_valid(shapes) & ~shapely.is_missing(shapes)
    sound = shapes.copy()
    # Coordinates that are not finite have no valid part.
    xy, number = shapely.get_coordinates(shapes[bad], return_index=True)
    places = np.flatnonzero(bad)
    lost = places[np.unique(number[~np.isfinite(xy).all(axis=1)])]
    sound[lost] = shapely.GeometryCollection()
    mend = np.setdiff1d(places, lost)
    if len(mend):
        whole = shapely.make_valid(shapes[mend], method="structure", keep_collapsed=False)
        sound[mend] = whole
    return sound, bad


def cut(
    shapes: NDArray[np.object_], edges: tuple[float, float, float, float]
) -> NDArray[np.object_]:
    """Parts of valid shapes within a rectangle: west, south, east and north edge.

    Where the fast way fails, or gives more than its source, the slow one is taken: cutting an area
    that is not valid can give the whole rectangle.
    """
    box = shapely.box(*edges)
    try:
        parts: NDArray[np.object_] = shapely.clip_by_rect(shapes, *edges)
    except shapely.errors.GEOSException:
        return _one_by_one(shapes, box)
    more = shapely.area(parts) > shapely.area(shapes) * (1.0 + 1e-9)
    if more.any():
        parts[more] = _one_by_one(shapes[more], box)
    return parts


def _one_by_one(shapes: NDArray[np.object_], box: shapely.Polygon) -> NDArray[np.object_]:
    found = np.empty(len(shapes), dtype=object)
    for i, shape in enumerate(shapes):
        try:
            found[i] = shapely.intersection(shape, box)
        except shapely.errors.GEOSException:
            found[i] = shapely.intersection(shapely.make_valid(shape), box)
    return found
