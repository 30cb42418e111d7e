"""The map under a sheet: tiles in their place by PROJ's web mercator, light greys, gaps filled."""

import io
import math

import numpy as np
import pytest
from archive_examples import write_mbtiles
from PIL import Image
from pyproj import Transformer
from sheet_examples import Page, scene_of, sheet_of, text_of

from plotter.geodesy.position import Position
from plotter.sheet.frame import MapFrame, layout_of
from plotter.sheet.ground_image import grey_safe, ground_image
from plotter.sheet.plane import zone_at
from plotter.tiles import Box, open_archive, tiles_in

MERCATOR = Transformer.from_crs(4326, 3857, always_xy=True)
HALF_WORLD_M = 20037508.342789244  # EPSG Guidance Note 7-2, method 1024: pi times the radius


def frame_at(lat, lon, denominator=25_000):
    layout = layout_of("A4", "landscape")
    zone = zone_at(Position(lat, lon))
    east, north = (float(v[0]) for v in zone.forward([lat], [lon]))
    return MapFrame(zone, denominator, east - 2_000, north - 2_000, layout.map)


def dotted_tile(tile, dots):
    """A white tile with black dots at places, drawn by PROJ."""
    image = Image.new("RGB", (256, 256), "white")
    size = 2 * HALF_WORLD_M / 2**tile.zoom
    for lat, lon in dots:
        x, y = MERCATOR.transform(lon, lat)
        column = ((x + HALF_WORLD_M) / size - tile.x) * 256
        row = ((HALF_WORLD_M - y) / size - tile.y) * 256
        if -8 < column < 264 and -8 < row < 264:
            for r in range(math.floor(row - 2.5), math.ceil(row + 2.5)):
                for c in range(math.floor(column - 2.5), math.ceil(column + 2.5)):
                    if (
                        0 <= r < 256
                        and 0 <= c < 256
                        and math.hypot(r + 0.5 - row, c + 0.5 - column) < 2.5
                    ):
                        image.putpixel((c, r), (0, 0, 0))
    out = io.BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


@pytest.mark.parametrize("middle", [(48.2, 11.5), (-38.42, -22.35), (83.9, 12.5), (-17.0, 179.99)])
def test_tiles_lie_where_proj_puts_them(middle, tmp_path):
    frame = frame_at(*middle)
    layout = frame.rect
    mm = [(30.0, 20.0), (90.0, 110.0), (170.0, 140.0)]
    lat, lon = frame.latlon_of_mm(*np.array(mm).T + np.array([[layout.left], [layout.bottom]]))
    dots = list(zip(lat.tolist(), lon.tolist(), strict=True))
    centre = frame.middle.lon_deg
    run_on = [centre + (v - centre + 180) % 360 - 180 for v in lon.tolist()]
    box = Box(min(lat) - 0.02, min(run_on) - 0.2, max(lat) + 0.02, max(run_on) + 0.2)
    zoom = 14 if abs(middle[0]) > 80 else 15
    tiles = [(t, dotted_tile(t, dots)) for t in tiles_in(box, zoom)]
    path = tmp_path / "dots.mbtiles"
    write_mbtiles(path, tiles, {"name": "Dots"})
    made = ground_image(frame, [open_archive(path)])
    grey = np.asarray(made.image)
    for x, y in mm:
        column, row = x / layout.width * grey.shape[1], (1 - y / layout.height) * grey.shape[0]
        part = (
            255.0 - grey[round(row) - 16 : round(row) + 16, round(column) - 16 : round(column) + 16]
        )
        part[part < 60] = 0.0
        assert part.sum() > 0
        rows, columns = np.mgrid[0:32, 0:32] + 0.5
        off_row = (part * rows).sum() / part.sum() - 16 + round(row) - row
        off_column = (part * columns).sum() / part.sum() - 16 + round(column) - column
        # A fifth of a millimetre is 1.6 pixels of the picture.
        assert math.hypot(off_row, off_column) / (200 / 25.4) < 0.2


def flat_tile(colour):
    out = io.BytesIO()
    Image.new("RGB", (256, 256), colour).save(out, "PNG")
    return out.getvalue()


def test_a_gap_is_filled_from_a_coarser_level(tmp_path):
    frame = frame_at(48.2, 11.5)
    lat, lon = frame.edge()
    box = Box(lat.min(), lon.min(), lat.max(), lon.max())
    fine = list(tiles_in(box, 15))
    rows = [(t, flat_tile((250, 250, 250))) for t in fine[1:]]
    rows += [(t, flat_tile((60, 60, 60))) for t in tiles_in(box, 14)]
    path = tmp_path / "gap.mbtiles"
    write_mbtiles(path, rows, {"name": "Gap", "attribution": "Made here"})
    made = ground_image(frame, [open_archive(path)])
    grey = np.asarray(made.image)
    assert made.share == 1.0
    (words,) = made.sources
    assert words.startswith("Gap, level 15 (Made here), file of 20")
    assert grey[2, 2] == grey_safe(np.array([[[60, 60, 60]]], np.uint8))[0, 0]
    assert np.median(grey) > 250


def test_without_an_archive_the_outline_is_there_and_said():
    made = ground_image(frame_at(50.1, -5.7, 250_000), [])
    assert made.share == 0.0
    assert "Natural Earth" in made.sources[0]
    grey = np.asarray(made.image)
    assert len(np.unique(grey)) >= 3  # land, water, coast


def test_a_damaged_tile_is_passed_over(tmp_path):
    frame = frame_at(48.2, 11.5)
    lat, lon = frame.edge()
    box = Box(lat.min(), lon.min(), lat.max(), lon.max())
    rows = [
        (t, flat_tile((200, 200, 200))[: 60 if k else None])
        for k, t in enumerate(tiles_in(box, 14))
    ]
    path = tmp_path / "damaged.mbtiles"
    write_mbtiles(path, rows)
    assert 0.0 < ground_image(frame, [open_archive(path)]).share < 1.0


def luminance(grey):
    """Relative luminance of a grey (WCAG 2.1)."""
    value = grey / 255.0
    return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4


def contrast(one, other):
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_ink_stands_out_on_a_grey_printer(repository):
    """On the demo's ground: text 4.5 : 1, lines 3 : 1 (WCAG 2.1, 1.4.3 and 1.4.11)."""
    archive = open_archive(repository / "tiles_cache" / "demo.mbtiles")
    shown = scene_of(
        [
            ("Otter", "", "38.420000S 22.350000W"),
            ("Otter", "signal", "bearing 63 true ± 4"),
            ("Plover", "", "38.430000S 22.340000W"),
            ("Plover", "signal", "bearing 20 ± 4"),
        ],
        (-38.42, -22.35),
    )
    made, plan = sheet_of(shown, (-38.42, -22.345), denominator=25_000, archives=[archive])
    assert "Invented ground, CC0" in text_of(made.pdf)[0]
    frame = plan.pages[0].frame
    page = Page.of(made.pdf)
    grey = page.grey
    ground = np.median(
        page.cut(frame.rect.left, frame.rect.bottom, frame.rect.right, frame.rect.top)
    )
    darkest = np.quantile(np.asarray(ground_image(frame, [archive]).image), 0.02)
    assert contrast(ground, 0x1A) > 4.5
    assert contrast(darkest, 0x1A) > 4.5
    mm = 300 / 25.4
    shares = {}
    for mark in shown.bearings:
        x, y = np.array(frame.path(mark.line)).T
        length = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
        at = np.arange(6.0, min(length[-1], 60.0), 0.05)
        columns = (np.interp(at, length, x) * mm).astype(int)
        rows = (grey.shape[0] - np.interp(at, length, y) * mm).astype(int)
        inside = (rows > 0) & (columns > 0) & (rows < grey.shape[0]) & (columns < grey.shape[1])
        ink = grey[rows[inside], columns[inside]]
        dark = ink < 150
        shares.setdefault(mark.doubtful, []).append(dark.mean())
        assert contrast(ground, np.median(ink[dark])) > 3.0
    # Without any colour a doubtful line differs from a sure one: it is broken.
    assert min(shares[False]) > 0.85
    assert 0.4 < max(shares[True]) < 0.8
