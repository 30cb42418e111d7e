"""Features of a map as values, and what they come from: layers held, extracts by index."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from plotter.geodesy.arrays import FloatArray, as_float
from plotter.tiles.build.index import Index
from plotter.tiles.build.places import placed, to_lon_lat
from plotter.tiles.build.style import from_zoom

__all__ = ["NO_FEATURES", "MapFeatures", "MapSource", "Reading", "joined", "source_of"]

_TILE: Final = 256.0
_LEAST_PIXELS: Final = 0.7


@dataclass(frozen=True, slots=True, eq=False)
class MapFeatures:
    """What there is to draw.

    Parameters
    ----------
    geometries : ndarray of shapely geometry, shape (n,)
        In units of the world's side, x from 180 degrees west, y from the north edge, 0 to 1.
    kinds, names : tuple of str, length n
        What each is drawn as, and what it is called.
    credit : str
        Whom to credit by what the files say of themselves; empty where they say nothing.
    numbers : tuple of str, length n, optional
        Of roads, and heights of summits.
    known : shapely geometry or None
        Ground of which the source says something, in the same units; None for all of it.
    unsure : shapely geometry or None
        The part of it of which it is not known whether it is land or sea.
    sea_around : bool
        Whether what no land is said of is sea.
    """

    geometries: NDArray[np.object_]
    kinds: tuple[str, ...]
    names: tuple[str, ...]
    credit: str
    numbers: tuple[str, ...] = ()
    known: shapely.Geometry | None = None
    unsure: shapely.Geometry | None = None
    sea_around: bool = False


NO_FEATURES: Final = MapFeatures(np.array([], dtype=object), (), (), "", known=shapely.Polygon())
"""Nothing to draw but what lies under the features."""


def joined(one: MapFeatures, other: MapFeatures) -> MapFeatures:
    """Both features, on the ground of the first."""
    return replace(
        one,
        geometries=np.concatenate((one.geometries, other.geometries)),
        kinds=one.kinds + other.kinds,
        names=one.names + other.names,
        numbers=_numbers(one) + _numbers(other),
    )


def _numbers(features: MapFeatures) -> tuple[str, ...]:
    return features.numbers or ("",) * len(features.kinds)


@dataclass(frozen=True, slots=True)
class Reading:
    """What was found out while the files were read.

    Parameters
    ----------
    notes : tuple of str
        What is not drawn, or not known, in words.
    hashes : tuple of str
        Of the files' bytes.
    """

    notes: tuple[str, ...] = ()
    hashes: tuple[str, ...] = ()


@dataclass(slots=True, eq=False)
class MapSource:
    """What a map is drawn from; the features of a box are taken out when they are asked for.

    Parameters
    ----------
    held : MapFeatures
        Of layers that were read whole; its ground is that of all.
    indexes : tuple of Index
        Of extracts.
    reading : Reading
        What was found out while they were read.
    """

    held: MapFeatures
    indexes: tuple[Index, ...] = ()
    reading: Reading = field(default_factory=Reading)
    _tree: shapely.STRtree | None = None
    _shown: tuple[NDArray[np.int64], FloatArray] | None = None

    @property
    def credit(self) -> str:
        """Whom to credit by what the files say of themselves."""
        return self.held.credit

    def within(self, edges: Sequence[float], zoom: int) -> MapFeatures:
        """Features that touch a box and show at a level.

        Parameters
        ----------
        edges : sequence of float
            West, north, east and south edge in units of the world's side; it may run on over 0 or
            1, where the world begins anew.
        zoom : int
            The level.

        Returns
        -------
        MapFeatures
            In the box's own units: what lies on the other side of 180 degrees is moved along.
        """
        found = replace(self.held, geometries=np.array([], dtype=object), kinds=(), names=(),
                        numbers=())  # fmt: skip
        known, unsure = [], []
        for turn in (-1.0, 0.0, 1.0):
            west, north, east, south = edges[0] - turn, edges[1], edges[2] - turn, edges[3]
            if east < -0.5 or west > 1.5:
                continue
            box = (west, north, east, south)
            for part in (self._held(box, zoom), *(_indexed(i, box, zoom) for i in self.indexes)):
                found = joined(found, _moved(part, turn) if turn else part)
            known.append(_shifted(self.held.known, turn))
            unsure.append(_shifted(self.held.unsure, turn))
        return replace(
            found,
            known=None if self.held.known is None else shapely.union_all(known),
            unsure=None if self.held.unsure is None else shapely.union_all(unsure),
        )

    def _held(self, edges: tuple[float, float, float, float], zoom: int) -> MapFeatures:
        features = self.held
        if self._tree is None:
            self._tree = shapely.STRtree(features.geometries)
            levels = np.array([from_zoom(kind) for kind in features.kinds], dtype=np.int64)
            west, north, east, south = shapely.bounds(features.geometries).reshape(-1, 4).T
            sizes = np.maximum(east - west, south - north)
            self._shown = levels, np.where(sizes == 0.0, 1.0, sizes)
        assert self._shown is not None  # noqa: S101 - set together with the tree
        levels, sizes = self._shown
        west, north, east, south = edges
        here = np.sort(self._tree.query(shapely.box(west, north, east, south), "intersects"))
        least = _LEAST_PIXELS / (_TILE * 2**zoom)
        here = here[(levels[here] <= zoom) & (sizes[here] >= least)]
        numbers = _numbers(features)
        return replace(
            features,
            geometries=features.geometries[here],
            kinds=tuple(features.kinds[i] for i in here.tolist()),
            names=tuple(features.names[i] for i in here.tolist()),
            numbers=tuple(numbers[i] for i in here.tolist()),
        )


def source_of(features: "MapFeatures | MapSource") -> MapSource:
    """What a map is drawn from, of features that are all held."""
    return features if isinstance(features, MapSource) else MapSource(features)


def _indexed(index: Index, edges: tuple[float, float, float, float], zoom: int) -> MapFeatures:
    west, north, east, south = edges
    corners = to_lon_lat(as_float([[west, south], [east, north]]))
    if corners[1, 0] < -180.5 or corners[0, 0] > 180.5:
        return NO_FEATURES
    (low_lon, low_lat), (high_lon, high_lat) = corners.tolist()
    chunk = index.read((low_lon, low_lat, high_lon, high_lat), zoom)
    return MapFeatures(placed(chunk.shapes), chunk.kinds, chunk.names, "", chunk.numbers)


def _moved(features: MapFeatures, turn: float) -> MapFeatures:
    there = np.array([_shifted(each, turn) for each in features.geometries], dtype=object)
    return replace(features, geometries=there)


def _shifted(shape: shapely.Geometry | None, turn: float) -> shapely.Geometry:
    if shape is None:
        return shapely.Polygon()
    return shapely.transform(shape, lambda xy: as_float(xy) + as_float([turn, 0.0]))
