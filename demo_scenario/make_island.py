"""Makes the invented ground of the demo: relief, coast, roads, places, and the map archive of them.

Run from the top of the checkout, with the `scenario` extra installed::

    python demo_scenario/make_island.py

Everything comes from one seed: the same packages give the same island. Nothing of it exists.
"""

import io
import itertools
import json
import math
import sqlite3
from pathlib import Path
from typing import NamedTuple

import contourpy
import geopandas
import numpy as np
import shapely
from PIL import Image, ImageDraw, ImageFont
from scipy import ndimage
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import dijkstra

from plotter.geodesy.geodesic import direct_arrays
from plotter.tiles.grid import Box, tiles_in

SEED = 20260314
HERE = Path(__file__).parent
ARCHIVE = HERE.parent / "tiles_cache" / "demo.mbtiles"

# Open ocean in the middle of the South Atlantic, far from any land.
CENTRE_LAT, CENTRE_LON = -38.42, -22.35
HALF_HEIGHT_DEG, HALF_WIDTH_DEG = 0.125, 0.215
STEP_M = 60.0
ZOOMS = range(8, 16)
CONTOUR_M = 50

# Names, invented; (east, north) in km from the middle of the island, as a wish: each place moves to
# the nearest suitable ground.
PLACES = (
    ("Port Ellery", "town", 9.5, -4.5),
    ("Kestle", "town", -10.0, 1.5),
    ("Sallow", "village", 3.0, 6.5),
    ("Dunmarrow", "village", -4.0, -5.5),
    ("Quern", "village", 0.5, -0.5),
    ("Tern Point", "headland", 13.5, 1.5),
    ("Mount Orrin", "summit", -3.0, 2.2),
    ("Brade Hill", "summit", 5.5, 1.0),
)
ROADS = (
    ("Port Ellery", "Quern"), ("Quern", "Kestle"), ("Quern", "Sallow"), ("Quern", "Dunmarrow"),
    ("Port Ellery", "Tern Point"), ("Dunmarrow", "Kestle"),
)  # fmt: skip

WATER, LAND, COAST = (213, 223, 227), (244, 239, 228), (110, 112, 110)
CONTOUR, INDEX_CONTOUR, ROAD, LABEL = (205, 200, 190), (178, 173, 162), (186, 148, 74), (70, 70, 66)


class Ground(NamedTuple):
    """Heights in metres on a latitude-longitude grid, south to north and west to east."""

    lat: np.ndarray
    lon: np.ndarray
    height_m: np.ndarray


def make_ground() -> Ground:
    """A long ridge, a second one, bays, and roughness that grows with height."""
    rng = np.random.default_rng(SEED)
    per_lat = 111_000.0
    per_lon = per_lat * math.cos(math.radians(CENTRE_LAT))
    lat = np.arange(-HALF_HEIGHT_DEG, HALF_HEIGHT_DEG, STEP_M / per_lat) + CENTRE_LAT
    lon = np.arange(-HALF_WIDTH_DEG, HALF_WIDTH_DEG, STEP_M / per_lon) + CENTRE_LON
    east = (lon[None, :] - CENTRE_LON) * per_lon / 1000
    north = (lat[:, None] - CENTRE_LAT) * per_lat / 1000

    def hump(x: float, y: float, along: float, across: float, turn_deg: float) -> np.ndarray:
        turn = math.radians(turn_deg)
        u = (east - x) * math.sin(turn) + (north - y) * math.cos(turn)
        v = (east - x) * math.cos(turn) - (north - y) * math.sin(turn)
        return np.exp(-((u / along) ** 2) - (v / across) ** 2)

    shape = 1.15 * hump(-2, 0, 11, 6.2, 80) + 0.9 * hump(6, -1, 7.5, 4.6, 115)
    shape += 0.5 * hump(11, 1.5, 3.6, 2.0, 70) + 0.4 * hump(3, 6, 3.2, 2.2, 10)
    shape -= 0.55 * hump(1.5, -6.6, 3.4, 2.2, 20) + 0.4 * hump(-8, 6, 3.0, 2.6, 30)
    shape -= 0.5 * hump(9.0, 4.6, 2.6, 2.2, 140)
    rough = sum(
        ndimage.gaussian_filter(rng.normal(size=shape.shape), 1500 / STEP_M / 2**k, mode="wrap")
        * (1500 / STEP_M / 2**k)
        * 0.55**k
        for k in range(5)
    )
    rough /= np.std(rough)
    relief = 430 * hump(-3, 2.2, 5.2, 2.2, 72) + 260 * hump(5.5, 1.0, 3.0, 1.7, 110)
    relief += 190 * hump(-9, -1.5, 3.0, 1.6, 40)
    base = 260 * (shape - 0.42) + 30 * rough
    height = np.where(base > 0, base * 0.55 + relief * np.clip(base / 90, 0, 1), base)
    height += np.where(height > 20, np.clip(height / 250, 0, 1) * 26 * rough, 0)
    # Islets of a few pixels are noise, not places.
    land, count = ndimage.label(height > 0)
    sizes = ndimage.sum_labels(np.ones_like(land), land, range(1, count + 1))
    for i, size in enumerate(sizes, start=1):
        if size < 400:
            height[land == i] = -3.0
    return Ground(lat, lon, height)


def coast_of(ground: Ground) -> shapely.MultiPolygon:
    """Land as polygons, longitude first as shapely has it."""
    lines = contourpy.contour_generator(
        ground.lon, ground.lat, ground.height_m, fill_type="OuterOffset"
    ).filled(0.0, 1e9)
    polygons = []
    for points, offsets in zip(*lines, strict=True):
        rings = [points[a:b] for a, b in itertools.pairwise(offsets)]
        polygons.append(shapely.Polygon(rings[0], rings[1:]))
    kept = [p.simplify(0.0002) for p in polygons if p.area > 1e-6]
    return shapely.MultiPolygon([p for p in kept if p.geom_type == "Polygon"])


def put_places(ground: Ground) -> dict[str, tuple[float, float]]:
    """Latitude and longitude of each place: summits on tops, the rest on low ground."""
    found = {}
    for name, kind, east_km, north_km in PLACES:
        lat, lon, _ = direct_arrays(
            CENTRE_LAT, CENTRE_LON, math.degrees(math.atan2(east_km, north_km)),
            1000 * math.hypot(east_km, north_km),
        )  # fmt: skip
        away = np.hypot(ground.lat[:, None] - lat, (ground.lon[None, :] - lon) * 0.78) * 111
        h = ground.height_m
        if kind == "summit":
            score = np.where(away < 3, h, -np.inf)
        elif kind == "headland":
            score = np.where(h > 8, -away, -np.inf)
        else:
            score = np.where((h > 8) & (h < 120), -away, -np.inf)
        i, j = np.unravel_index(np.argmax(score), score.shape)
        found[name] = (round(float(ground.lat[i]), 5), round(float(ground.lon[j]), 5))
    return found


def make_roads(ground: Ground, places: dict[str, tuple[float, float]]) -> list[np.ndarray]:
    """Cheapest ways over land, steep ground being dear; arrays of (lat, lon)."""
    stride = 3
    h = ground.height_m[::stride, ::stride]
    lat, lon = ground.lat[::stride], ground.lon[::stride]
    rows, columns = h.shape
    index = np.arange(rows * columns).reshape(rows, columns)
    starts, ends, costs = [], [], []
    for di, dj in ((0, 1), (1, 0), (1, 1), (1, -1)):
        a = index[: rows - di, max(0, -dj) : columns - max(0, dj)]
        b = index[di:, max(0, dj) : columns + min(0, dj)]
        ha, hb = h.ravel()[a.ravel()], h.ravel()[b.ravel()]
        run = STEP_M * stride * math.hypot(di, dj)
        cost = run * (1 + (np.abs(ha - hb) / run * 14) ** 2)
        cost[(ha < 4) | (hb < 4)] = 1e9
        starts.append(a.ravel()), ends.append(b.ravel()), costs.append(cost)
    graph = coo_matrix(
        (np.concatenate(costs), (np.concatenate(starts), np.concatenate(ends))),
        shape=(index.size, index.size),
    ).tocsr()

    def nearest(name: str) -> int:
        a, o = places[name]
        return int(index[np.argmin(np.abs(lat - a)), np.argmin(np.abs(lon - o))])

    roads = []
    for start, end in ROADS:
        _, before = dijkstra(
            graph, directed=False, indices=nearest(start), return_predecessors=True
        )
        path, at = [], nearest(end)
        while at >= 0:
            path.append(at)
            at = before[at]
        line = np.column_stack([lat[np.array(path) // columns], lon[np.array(path) % columns]])
        smooth = shapely.LineString(line).simplify(0.0012)
        roads.append(_rounded(np.array(smooth.coords)))
    return roads


def write_layers(
    coast: shapely.MultiPolygon,
    roads: list[np.ndarray],
    places: dict[str, tuple[float, float]],
) -> None:
    """The ground as GeoJSON, for anyone who wants to see it elsewhere."""
    kinds = {name: kind for name, kind, _, _ in PLACES}
    geometry = [coast, *(shapely.LineString(r[:, ::-1]) for r in roads)]
    geometry += [shapely.Point(lon, lat) for lat, lon in places.values()]
    frame = geopandas.GeoDataFrame(
        {
            "name": ["", *("" for _ in roads), *places],
            "kind": ["coast", *("road" for _ in roads), *(kinds[name] for name in places)],
        },
        geometry=[shapely.set_precision(g, 1e-5) for g in geometry],
        crs="EPSG:4326",
    )
    (HERE / "island.geojson").write_text(
        json.dumps(json.loads(frame.to_json(drop_id=True)), indent=None, separators=(",", ":"))
        + "\n",
        encoding="utf-8",
    )


def draw_zoom(
    ground: Ground,
    coast: shapely.MultiPolygon,
    roads: list[np.ndarray],
    places: dict[str, tuple[float, float]],
    zoom: int,
) -> dict[tuple[int, int], bytes]:
    """All tiles of one zoom, as PNG bytes by (column, row), drawn as one picture and cut."""
    box = Box(
        float(ground.lat[0]), float(ground.lon[0]), float(ground.lat[-1]), float(ground.lon[-1])
    )
    tiles = list(tiles_in(box, zoom))
    x0, x1 = min(t.x for t in tiles), max(t.x for t in tiles)
    y0, y1 = min(t.y for t in tiles), max(t.y for t in tiles)
    width, height = 256 * (x1 - x0 + 1), 256 * (y1 - y0 + 1)
    world = 256 * 2**zoom

    def to_pixel(lat: np.ndarray, lon: np.ndarray) -> np.ndarray:
        x = (lon + 180) / 360 * world - 256 * x0
        y = (1 - np.arcsinh(np.tan(np.radians(lat))) / np.pi) / 2 * world - 256 * y0
        return np.column_stack([x, y])

    columns, rows = np.arange(width) + 0.5 + 256 * x0, np.arange(height) + 0.5 + 256 * y0
    lon = columns / world * 360 - 180
    lat = np.degrees(np.arctan(np.sinh(np.pi * (1 - 2 * rows / world))))
    i = (lat - ground.lat[0]) / (ground.lat[1] - ground.lat[0])
    j = (lon - ground.lon[0]) / (ground.lon[1] - ground.lon[0])
    h = ndimage.map_coordinates(
        ground.height_m, np.meshgrid(i, j, indexing="ij"), order=1, mode="constant", cval=-50
    )
    land = h > 0
    # Light from the north-west, sober: a few shades only, which also keeps the tiles small.
    metres = 40_075_016.7 * math.cos(math.radians(CENTRE_LAT)) / world
    gy, gx = np.gradient(ndimage.gaussian_filter(h, max(1.0, 45 / metres)), metres)
    shade = np.clip(1 + 0.55 * (gx + gy) / np.hypot(1, np.hypot(gx, gy)), 0.80, 1.06)
    shade = np.round(shade * 40) / 40
    picture = np.where(land[..., None], np.array(LAND) * shade[..., None], np.array(WATER))
    step = CONTOUR_M if zoom >= 12 else 100
    if zoom >= 11:
        level = np.floor(h / step)
        edge = np.zeros_like(land)
        edge[:-1] |= level[:-1] != level[1:]
        edge[:, :-1] |= level[:, :-1] != level[:, 1:]
        upper = np.maximum(level, np.roll(level, -1, 0))
        index = (upper % (250 // step) == 0) if step == CONTOUR_M else np.zeros_like(land)
        picture[edge & land] = CONTOUR
        picture[edge & land & index] = INDEX_CONTOUR
    image = Image.fromarray(np.clip(picture, 0, 255).astype(np.uint8))
    draw = ImageDraw.Draw(image)
    for polygon in coast.geoms:
        for ring in (polygon.exterior, *polygon.interiors):
            points = np.array(ring.coords)
            draw.line(to_pixel(points[:, 1], points[:, 0]).ravel().tolist(), COAST, 1 + (zoom > 12))
    if zoom >= 10:
        for road in roads:
            draw.line(
                to_pixel(road[:, 0], road[:, 1]).ravel().tolist(), ROAD, 1 + (zoom > 11), "curve"
            )
    _label(draw, places, to_pixel, zoom)
    palette = image.quantize(palette=_palette(), dither=Image.Dither.NONE)
    return {(t.x, t.y): _png(palette, t.x - x0, t.y - y0) for t in tiles}


def _palette() -> Image.Image:
    """The few colours of the ground and their mixtures, so that no thin line loses its own."""
    shades = [tuple(min(255, round(c * k / 40)) for c in LAND) for k in range(32, 44)]
    inks = [WATER, COAST, CONTOUR, INDEX_CONTOUR, ROAD, LABEL]
    mixed = [
        tuple((a + b) // 2 for a, b in zip(ink, LAND, strict=True)) for ink in (COAST, ROAD, LABEL)
    ]
    colours = [*shades, *inks, *mixed]
    image = Image.new("P", (1, 1))
    image.putpalette([c for colour in colours for c in colour])
    return image


def _rounded(line: np.ndarray) -> np.ndarray:
    """Corners cut off twice (Chaikin), the ends kept."""
    for _ in range(2):
        a, b = line[:-1], line[1:]
        inner = np.stack([0.75 * a + 0.25 * b, 0.25 * a + 0.75 * b], axis=1).reshape(-1, 2)
        line = np.vstack([line[:1], inner, line[-1:]])
    return line


def _label(draw: ImageDraw.ImageDraw, places: dict, to_pixel: object, zoom: int) -> None:
    for name, kind, _, _ in PLACES:
        least = {"town": 10, "village": 12, "headland": 12, "summit": 12}[kind]
        if zoom < least:
            continue
        lat, lon = places[name]
        ((x, y),) = to_pixel(np.array([lat]), np.array([lon]))
        font = ImageFont.load_default(17 if kind == "town" else 14)
        if kind == "summit":
            draw.polygon([(x, y - 5), (x - 4, y + 3), (x + 4, y + 3)], outline=LABEL)
        draw.text((x + 8, y + 4), name, fill=LABEL, font=font, stroke_width=2, stroke_fill=LAND)


def _png(image: Image.Image, column: int, row: int) -> bytes:
    tile = image.crop((256 * column, 256 * row, 256 * column + 256, 256 * row + 256))
    out = io.BytesIO()
    tile.save(out, "PNG", optimize=True)
    return out.getvalue()


def write_archive(tiles: dict[int, dict[tuple[int, int], bytes]], ground: Ground) -> None:
    """MBTiles 1.3: rows counted from the south."""
    ARCHIVE.parent.mkdir(exist_ok=True)
    ARCHIVE.unlink(missing_ok=True)
    bounds = (ground.lon[0], ground.lat[0], ground.lon[-1], ground.lat[-1])
    metadata = {
        "name": "Isle of Varrow (invented)",
        "format": "png",
        "type": "baselayer",
        "version": "1",
        "description": "Invented ground of the demo; nothing of it exists.",
        "attribution": "Invented ground, CC0",
        "bounds": ",".join(f"{v:.5f}" for v in bounds),
        "minzoom": str(min(tiles)),
        "maxzoom": str(max(tiles)),
    }
    with sqlite3.connect(ARCHIVE) as connection:
        connection.execute("CREATE TABLE metadata (name TEXT, value TEXT)")
        connection.execute(
            "CREATE TABLE tiles (zoom_level INTEGER, tile_column INTEGER, tile_row INTEGER, "
            "tile_data BLOB)"
        )
        connection.execute(
            "CREATE UNIQUE INDEX tile_index ON tiles (zoom_level, tile_column, tile_row)"
        )
        connection.executemany("INSERT INTO metadata VALUES (?, ?)", sorted(metadata.items()))
        connection.executemany(
            "INSERT INTO tiles VALUES (?, ?, ?, ?)",
            [
                (zoom, column, 2**zoom - 1 - row, data)
                for zoom, of_zoom in sorted(tiles.items())
                for (column, row), data in sorted(of_zoom.items())
            ],
        )
    connection.close()
    with sqlite3.connect(ARCHIVE) as connection:
        connection.execute("VACUUM")
    connection.close()


def main() -> None:
    """Make everything."""
    ground = make_ground()
    coast = coast_of(ground)
    places = put_places(ground)
    roads = make_roads(ground, places)
    write_layers(coast, roads, places)
    write_archive({z: draw_zoom(ground, coast, roads, places, z) for z in ZOOMS}, ground)
    print(f"{ARCHIVE.name}: {ARCHIVE.stat().st_size / 1e6:.1f} MB")
    for name, (lat, lon) in places.items():
        print(f"{name:12} {lat:.5f} {lon:.5f}")


if __name__ == "__main__":
    main()
