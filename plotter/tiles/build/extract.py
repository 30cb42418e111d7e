"""An OpenStreetMap extract as a stream of features: areas whole or not at all, lines where known.

An extract that is cut by a box lacks nodes of what crosses its edge. Nothing is closed over a gap:
an area that is not whole is counted and left out, a line keeps the runs whose nodes are there.
"""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray

from plotter.errors import TileError
from plotter.geodesy.arrays import FloatArray, as_float
from plotter.tiles.build.kinds import AREA_KINDS, KEYS, MARK_KINDS, MARK_TAGS, kinds_of, number_of

if TYPE_CHECKING:
    import osmium

__all__ = ["Chunk", "Gleaned", "features_of", "header_box"]

_CHUNK: Final = 100_000
_LARGE_BYTES: Final = 5_000_000
_SAMPLES: Final = 200_000  # houses that are remembered to see whether any stand in the sea


@dataclass(frozen=True, slots=True, eq=False)
class Chunk:
    """Some features.

    Parameters
    ----------
    shapes : ndarray of shapely geometry, shape (n,)
        In longitude and latitude.
    sizes : ndarray of float64, shape (n,)
        The longer side of each one's box, in degrees of longitude; a mark's of the area it is on.
    kinds, names, numbers : tuple of str, length n
        What each is drawn as, what it is called, a road's number or a summit's height.
    """

    shapes: NDArray[np.object_]
    sizes: FloatArray
    kinds: tuple[str, ...]
    names: tuple[str, ...]
    numbers: tuple[str, ...]


@dataclass(slots=True)
class Gleaned:
    """What is learnt of an extract while its features go by.

    Parameters
    ----------
    areas_cut, relations_cut, lines_cut : int
        Areas of one outline, and of several, that are not whole and are left out; lines of which
        only parts are known.
    coast : list of (node numbers, places)
        Runs of coastline, land on their left.
    houses : list of (n, 2) arrays
        Where some of the houses stand.
    """

    areas_cut: int = 0
    relations_cut: int = 0
    lines_cut: int = 0
    coast: list[tuple[NDArray[np.int64], FloatArray]] = field(default_factory=list)
    houses: list[FloatArray] = field(default_factory=list)


def header_box(path: Path) -> tuple[float, float, float, float] | None:
    """West, south, east and north edge that the extract says it has; None where it says nothing."""
    with _readable(path):
        box = _osmium().FileProcessor(str(path)).header.box()
        if not box.valid():
            return None
        low, high = box.bottom_left, box.top_right
        edges = (low.lon, low.lat, high.lon, high.lat)
    return edges if edges[0] < edges[2] and edges[1] < edges[3] else None


def features_of(path: Path, gleaned: Gleaned) -> Iterator[Chunk]:
    """Stream the features that have a look; memory does not grow with the file.

    Parameters
    ----------
    path : Path
        An ``.osm.pbf`` or ``.osm`` file.
    gleaned : Gleaned
        Filled while the stream runs.

    Yields
    ------
    Chunk
        Up to 100 000 features.

    Raises
    ------
    TileError
        If the file cannot be read, or pyosmium is not installed.

    Source
    ------
    OpenStreetMap wiki, "Area" and "Relation:multipolygon"; put together by libosmium.
    """
    osmium = _osmium()
    # A file of places left over from another extract would be taken as this one's own.
    with TemporaryDirectory(prefix="plotter-") as folder, _readable(path):
        path = _in_order(osmium, path, Path(folder))
        stream = (
            osmium.FileProcessor(str(path))
            .with_locations(f"sparse_file_array,{folder}/places")
            .with_areas(osmium.filter.KeyFilter(*KEYS))
            .with_filter(osmium.filter.TagFilter(*MARK_TAGS).enable_for(osmium.osm.NODE))
            .with_filter(
                osmium.filter.KeyFilter(*KEYS).enable_for(
                    osmium.osm.WAY | osmium.osm.RELATION | osmium.osm.AREA
                )
            )
        )
        yield from _Reader(osmium, gleaned, _ringed(osmium, path)).chunks(stream)


def _in_order(osmium: Any, path: Path, folder: Path) -> Path:  # noqa: ANN401 - the module
    """The extract itself, or a copy in the order of its numbers: made by hand, it may have none."""
    if path.stat().st_size > _LARGE_BYTES:
        return path  # tools that make extracts of this size keep the order
    before = (0, 0)
    for found in osmium.FileProcessor(str(path)):
        now = ("nwr".index(found.type_str()), found.id)
        if now <= before and before != (0, 0):
            break
        before = now
    else:
        return path
    whole = folder / "sorted.osm.pbf"
    reader = osmium.MergeInputReader()
    reader.add_file(str(path))
    with osmium.SimpleWriter(str(whole)) as writer:
        reader.apply(writer)
    return whole


def _ringed(osmium: Any, path: Path) -> dict[int, tuple[str, ...]]:  # noqa: ANN401 - the module
    """Kinds of the areas, made of several outlines, that each way is an outer outline of.

    Such a way often repeats the tags; an area of its own would fill the holes.
    """
    found: dict[int, tuple[str, ...]] = {}
    relations = osmium.FileProcessor(str(path), osmium.osm.RELATION).with_filter(
        osmium.filter.KeyFilter(*KEYS)
    )
    for relation in relations:
        tags = dict(relation.tags)
        kinds = kinds_of(tags, 2) if tags.get("type") == "multipolygon" else ()
        for member in relation.members if kinds else ():
            if member.type == "w" and member.role != "inner":
                found[member.ref] = found.get(member.ref, ()) + kinds
    return found


def _osmium() -> Any:  # noqa: ANN401 - the module
    try:
        import osmium  # loaded late: only building a map needs it
        import osmium.filter
        import osmium.geom
    except ImportError as error:
        raise TileError(
            "reading an extract needs the extra: pip install 'plotter[maps]'"
        ) from error
    return osmium


@contextmanager
def _readable(path: Path) -> Iterator[None]:
    """Turn what the library raises into words."""
    try:
        yield
    except (RuntimeError, OSError) as error:
        raise TileError(f"{str(path)!r} cannot be read as an extract: {error}") from error


class _Reader:
    """Objects of the library to features, one by one."""

    def __init__(
        self,
        osmium: Any,  # noqa: ANN401 - the module
        gleaned: Gleaned,
        ringed: dict[int, tuple[str, ...]],
    ) -> None:
        self._ringed = ringed
        self._shapes = osmium.geom.WKBFactory()
        self._unknown = osmium.InvalidLocationError
        self._gleaned = gleaned
        self._rows: list[tuple[str, str, str, str]] = []
        self._rings: list[int] = []  # rows whose line is an area's outline
        self._passed_houses = 0

    def chunks(self, stream: "osmium.FileProcessor") -> Iterator[Chunk]:
        take = {"n": self._node, "w": self._way, "r": self._relation, "a": self._area}
        for found in stream:
            take[found.type_str()](found)
            if len(self._rows) >= _CHUNK:
                yield self._emptied()
        if self._rows:
            yield self._emptied()

    def _emptied(self) -> Chunk:
        wkb, kinds, names, numbers = zip(*self._rows, strict=True)
        shapes = shapely.from_wkb(np.array(wkb, dtype=object))
        shapes[self._rings] = _areas(shapes[self._rings])
        self._rows, self._rings = [], []
        sizes = _sizes(shapes)
        marks = np.array([kind in MARK_KINDS for kind in kinds]) & (sizes > 0.0)
        shapes[marks] = shapely.point_on_surface(shapes[marks])
        houses = shapes[np.array([kind == "building" for kind in kinds])]
        step = 1 + self._passed_houses // _SAMPLES
        self._passed_houses += len(houses)
        self._gleaned.houses.append(
            as_float(shapely.get_coordinates(shapely.point_on_surface(houses[::step])))
        )
        return Chunk(shapes, sizes, kinds, names, numbers)

    def _keep(
        self, wkb: str, kinds: tuple[str, ...], tags: Mapping[str, str], *, ring: bool = False
    ) -> None:
        name = tags.get("name", "").strip()
        for kind in kinds:
            if ring:
                self._rings.append(len(self._rows))
            self._rows.append((wkb, kind, name, number_of(tags, kind)))

    def _node(self, node: Any) -> None:  # noqa: ANN401 - the library's own object
        tags = dict(node.tags)
        kinds = kinds_of(tags, 0)
        if kinds and node.location.valid():
            self._keep(self._shapes.create_point(node), kinds, tags)

    def _way(self, way: Any) -> None:  # noqa: ANN401
        tags = dict(way.tags)
        closed = way.is_closed()
        if closed and tags.get("area") != "no":
            self._closed(way, tags)
        for kind in kinds_of(tags, 1) if not closed or tags.get("area") != "yes" else ():
            if kind == "coast":
                self._coast(way)
            whole, runs = self._runs(way)
            self._gleaned.lines_cut += not whole
            for run in runs:
                self._keep(run, (kind,), tags)
            if runs and tags.get("bridge:name"):
                self._keep(runs[0], ("bridge",), {"name": tags["bridge:name"]})

    def _closed(self, way: Any, tags: Mapping[str, str]) -> None:  # noqa: ANN401
        """A way that rings an area: whole, or counted; of a water that is not, the known shore."""
        of_relation = self._ringed.get(way.id, ())
        kinds = tuple(kind for kind in kinds_of(tags, 2) if kind not in of_relation)
        if not kinds:
            return
        try:
            self._keep(self._shapes.create_linestring(way), kinds, tags, ring=True)
        except self._unknown:
            if any(kind in AREA_KINDS for kind in kinds):
                self._gleaned.areas_cut += 1
            for run in self._runs(way)[1] if "water" in kinds else ():
                self._keep(run, ("shore",), {})
        except RuntimeError:
            return  # all its nodes lie in one place

    def _relation(self, relation: Any) -> None:  # noqa: ANN401
        tags = dict(relation.tags)
        areas = tags.get("type") in {"multipolygon", "boundary"}
        if areas and any(kind in AREA_KINDS for kind in kinds_of(tags, 2)):
            self._gleaned.relations_cut += 1

    def _area(self, area: Any) -> None:  # noqa: ANN401
        if area.from_way():
            return  # made above, of every closed way
        tags = dict(area.tags)
        kinds = kinds_of(tags, 2)
        if not kinds:
            return
        try:
            shape = self._shapes.create_multipolygon(area)
        except RuntimeError:
            return  # its outlines do not close: it stays counted among what is not whole
        if any(kind in AREA_KINDS for kind in kinds):
            self._gleaned.relations_cut -= 1
        self._keep(shape, kinds, tags)

    def _runs(self, way: Any) -> tuple[bool, list[str]]:  # noqa: ANN401
        """Whether every node of a line is there, and its runs of known nodes."""
        try:
            return True, [self._shapes.create_linestring(way)]
        except self._unknown:
            runs = [places for _, places in _known_runs(way)]
            return False, [shapely.to_wkb(shapely.linestrings(run), hex=True) for run in runs]
        except RuntimeError:
            return True, []  # all its nodes lie in one place

    def _coast(self, way: Any) -> None:  # noqa: ANN401
        self._gleaned.coast += _known_runs(way)


def _known_runs(way: Any) -> list[tuple[NDArray[np.int64], FloatArray]]:  # noqa: ANN401
    """Runs of at least two known nodes: their numbers, longitudes and latitudes."""
    runs: list[list[tuple[int, float, float]]] = [[]]
    for node in way.nodes:
        if node.location.valid():
            runs[-1].append((node.ref, node.location.lon, node.location.lat))
        elif runs[-1]:
            runs.append([])
    return [
        (np.array([n for n, _, _ in run], dtype=np.int64), as_float([at for _, *at in run]))
        for run in runs
        if any(a[1:] != b[1:] for a, b in pairwise(run))
    ]


def _areas(rings: NDArray[np.object_]) -> NDArray[np.object_]:
    """Areas within closed lines; one of fewer than three places is empty."""
    found = np.full(len(rings), shapely.Polygon(), dtype=object)
    enough = shapely.get_num_coordinates(rings) >= 4
    xy, number = shapely.get_coordinates(rings[enough], return_index=True)
    if len(xy):
        found[enough] = shapely.polygons(shapely.linearrings(xy, indices=number))
    return found


def _sizes(shapes: NDArray[np.object_]) -> FloatArray:
    west, south, east, north = shapely.bounds(shapes).T
    high = (north - south) / np.maximum(np.cos(np.radians(0.5 * (north + south))), 1e-3)
    return as_float(np.maximum(east - west, high))
