"""Small MBTiles made by the test itself."""

import io
import sqlite3
from contextlib import closing

from PIL import Image

from plotter.tiles import Box, tiles_in

GROUND = Box(43.0, 5.9, 43.3, 6.3)


def png(colour=(200, 220, 230), side=16):
    out = io.BytesIO()
    Image.new("RGB", (side, side), colour).save(out, "PNG")
    return out.getvalue()


def noisy_png(seed, side=64):
    """An image that does not compress, so that budgets bite."""
    import numpy as np

    pixels = np.random.default_rng(seed).integers(0, 256, (side, side, 3), dtype=np.uint8)
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, "PNG")
    return out.getvalue()


def write_mbtiles(path, tiles, metadata=None):
    """Write rows as the MBTiles specification wants them: counted from the south."""
    with closing(sqlite3.connect(path)) as base:
        base.execute("CREATE TABLE metadata (name text, value text)")
        base.execute(
            "CREATE TABLE tiles (zoom_level integer, tile_column integer, tile_row integer, "
            "tile_data blob)"
        )
        base.executemany("INSERT INTO metadata VALUES (?, ?)", (metadata or {}).items())
        base.executemany(
            "INSERT INTO tiles VALUES (?, ?, ?, ?)",
            [(t.zoom, t.x, 2**t.zoom - 1 - t.y, image) for t, image in tiles],
        )
        base.commit()
    return path


def ground_archive(path, zooms=range(9, 13), image=None, **metadata):
    tiles = [
        (tile, image(tile) if image else png()) for zoom in zooms for tile in tiles_in(GROUND, zoom)
    ]
    told = {"name": "Ground", "format": "png", "attribution": "<a href='x'>Own</a> survey"}
    return write_mbtiles(path, tiles, told | metadata)
