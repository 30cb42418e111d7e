"""Make what one would have of real ground at home: an extract of its map, a model of its heights.

Run with `pip install -e '.[scenario,maps]'` and then `python demo_scenario/make_extract.py`; writes
`island.osm` (OpenStreetMap's own XML) and `island_heights.tif`. All of it is invented and seeded.
"""

import itertools
from collections.abc import Iterator
from pathlib import Path
from xml.sax.saxutils import quoteattr

import contourpy
import numpy as np
import rasterio
import shapely
from make_island import PLACES, Ground, coast_of, make_ground, make_roads, put_places
from scipy.ndimage import gaussian_filter

HERE = Path(__file__).parent
SEED = 20260315
MAJOR = 2  # so many of the roads are the island's main ones
STREAMS = 26
# What the extract says that it covers: the island and the sea about it.
_BOUNDS = '<bounds minlat="-38.6" minlon="-22.6" maxlat="-38.24" maxlon="-22.1"/>'
PLACE_TAGS = {
    "town": {"place": "town"},
    "village": {"place": "village"},
    "summit": {"natural": "peak"},
    "headland": {"natural": "cape"},
}


class Extract:
    """Nodes and ways as they are written, each with its number."""

    def __init__(self) -> None:
        self.nodes: list[str] = []
        self.ways: list[str] = []
        self._numbers = itertools.count(1)
        self._known: dict[tuple[float, float], int] = {}

    def node(self, lat: float, lon: float, **tags: str) -> int:
        """Number of a node; the same place without tags is the same node."""
        key = (round(lat, 6), round(lon, 6))
        if not tags and key in self._known:
            return self._known[key]
        number = next(self._numbers)
        head = f'<node id="{number}" version="1" lat="{key[0]:.6f}" lon="{key[1]:.6f}"'
        self.nodes.append(f"{head}>{_tags(tags)}</node>" if tags else f"{head}/>")
        if not tags:
            self._known[key] = number
        return number

    def way(self, lat_lon: np.ndarray, **tags: str) -> None:
        """A line through these places."""
        refs = [self.node(lat, lon) for lat, lon in lat_lon.tolist()]
        members = "".join(f'<nd ref="{ref}"/>' for ref in refs)
        self.ways.append(
            f'<way id="{next(self._numbers)}" version="1">{members}{_tags(tags)}</way>'
        )

    def text(self) -> str:
        """The whole file."""
        body = "\n".join((*self.nodes, *self.ways))
        head = '<?xml version="1.0" encoding="UTF-8"?>\n<osm version="0.6">'
        return f"{head}\n{_BOUNDS}\n{body}\n</osm>\n"


def _tags(tags: dict[str, str]) -> str:
    return "".join(f"<tag k={quoteattr(k)} v={quoteattr(v)}/>" for k, v in tags.items())


def woods_of(ground: Ground, rng: np.random.Generator) -> Iterator[np.ndarray]:
    """Outlines of woods, on middle heights where a smooth chance has it."""
    chance = gaussian_filter(rng.normal(size=ground.height_m.shape), 14)
    chance /= chance.std()
    middle = (ground.height_m > 25.0) & (ground.height_m < 260.0)
    field = np.where(middle, chance - 0.9, -1.0)
    edges = contourpy.contour_generator(ground.lon, ground.lat, gaussian_filter(field, 2))
    for line in edges.lines(0.0):
        ring = shapely.Polygon(line).simplify(0.0004) if len(line) > 30 else None
        if ring is not None and ring.area > 2e-5 and ring.geom_type == "Polygon":
            yield np.asarray(ring.exterior.coords)[:, ::-1]


def streams_of(ground: Ground, rng: np.random.Generator) -> Iterator[np.ndarray]:
    """Ways of water from the hills down to the sea."""
    height = gaussian_filter(ground.height_m, 3)
    high = np.argwhere(height > 0.35 * height.max())
    for start in high[rng.choice(len(high), STREAMS, replace=False)]:
        row, column = start.tolist()
        path = []
        for _ in range(700):
            path.append((ground.lat[row], ground.lon[column]))
            around = height[row - 1 : row + 2, column - 1 : column + 2]
            if around.shape != (3, 3) or ground.height_m[row, column] <= 0.0:
                break
            step = np.unravel_index(around.argmin(), (3, 3))
            if step == (1, 1):
                break
            row, column = row + int(step[0]) - 1, column + int(step[1]) - 1
        if len(path) > 25 and ground.height_m[row, column] <= 5.0:
            line = shapely.LineString(path).simplify(0.0005)
            yield np.asarray(line.coords)


def write_extract(ground: Ground) -> None:
    """The map: coast with the land on its left, roads, streams, woods, places."""
    rng = np.random.default_rng(SEED)
    out = Extract()
    places = put_places(ground)
    kinds = {name: kind for name, kind, _, _ in PLACES}
    for name, (lat, lon) in places.items():
        out.node(lat, lon, name=name, **PLACE_TAGS[kinds[name]])
    for polygon in coast_of(ground).geoms:
        land = shapely.geometry.polygon.orient(polygon, 1.0)  # anticlockwise: land on the left
        for ring in (land.exterior, *land.interiors):
            out.way(np.asarray(ring.coords)[:, ::-1], natural="coastline")
    for number, road in enumerate(make_roads(ground, places)):
        out.way(road, highway="secondary" if number < MAJOR else "tertiary")
    for stream in streams_of(ground, rng):
        out.way(stream, waterway="stream")
    for wood in woods_of(ground, rng):
        out.way(wood, natural="wood")
    (HERE / "island.osm").write_text(out.text(), encoding="utf-8")


def write_heights(ground: Ground) -> None:
    """Heights in whole metres, every second of the ground's own, 0 at sea."""
    heights = np.maximum(ground.height_m[::-2, ::2], 0.0).round().astype("int16")
    lat, lon = ground.lat[::-2], ground.lon[::2]
    high, wide = float(lat[0] - lat[1]), float(lon[1] - lon[0])
    with rasterio.open(
        HERE / "island_heights.tif", "w", driver="GTiff", count=1, dtype="int16", crs="EPSG:4326",
        height=heights.shape[0], width=heights.shape[1], compress="deflate", predictor=2,
        transform=rasterio.transform.from_origin(lon[0] - wide / 2, lat[0] + high / 2, wide, high),
    ) as file:  # fmt: skip
        file.write(heights, 1)
        file.update_tags(TIFFTAG_COPYRIGHT="Invented ground")


def main() -> None:
    """Make both."""
    ground = make_ground()
    write_extract(ground)
    write_heights(ground)
    for name in ("island.osm", "island_heights.tif"):
        print(f"{name}: {(HERE / name).stat().st_size / 1e3:.0f} kB")


if __name__ == "__main__":
    main()
