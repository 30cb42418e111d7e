"""The rendered page, measured with PROJ as the oracle: scale, grid, points, romer, zone edges."""

import math

import numpy as np
import pytest
from sheet_examples import DPI, MM, PLACE_INK, VERMILION, Page, proj, scene_of, sheet_of, text_of

from plotter.sheet.frame import Rect
from plotter.sheet.grid_lines import page_grid, spacing_m
from plotter.sheet.plane import Zone

# What the printed grid promises. A pixel at 300 dpi is 0.085 mm.
READ_MM = 0.5
# place, scale, paper, its zone (0 and -1 for UPS)
CASES = [
    ((48.2013, 11.5027), 25_000, "A4", 32),
    ((-38.4207, -22.3511), 50_000, "A4", 27),
    ((-33.9102, 18.4433), 10_000, "A3", 34),
    ((43.1203, 6.0204), 25_000, "Letter", 32),  # 1.6 km from the edge of zone 31
    ((60.2004, 3.0101), 25_000, "A4", 32),  # the widened zone of Norway
    ((78.4005, 8.9511), 20_000, "A4", 31),  # Svalbard, beside zone 33
    ((83.9701, 12.5003), 25_000, "A4", 33),
    ((84.0302, 12.5003), 25_000, "A4", 0),
    ((-80.5203, 64.1004), 100_000, "A4", -1),
    ((0.0041, 9.3002), 5_000, "A4", 32),  # the equator is on the page
    ((-0.0041, 9.3002), 5_000, "A4", 32),
    ((-17.0005, 179.9803), 25_000, "A4", 60),
    ((51.5006, -0.2104), 250_000, "A3", 30),
]


def one_place(place, scale, paper, off=(0.0, 0.0)):
    """A sheet about a middle with one named place on it."""
    shown = scene_of([("Desk", "Rock", f"place {text_at(place)}")], place)
    return sheet_of(shown, (place[0] + off[0], place[1] + off[1]), denominator=scale, paper=paper)


def text_at(place):
    lat, lon = place
    return f"{abs(lat):.6f}{'N' if lat >= 0 else 'S'} {abs(lon):.6f}{'E' if lon >= 0 else 'W'}"


def read_off(page, rect, spacing, side, at):
    """Read a point with the printed grid: the line before it, its figure, and the rest by ruler.

    Lines are looked for about the point, for those of another zone may run elsewhere on the page.
    """
    left, bottom = max(rect.left, at[0] - side - 2), max(rect.bottom, at[1] - side - 2)
    near = Rect(
        left, bottom, min(rect.right, at[0] + side + 2) - left,
        min(rect.top, at[1] + side + 2) - bottom,
    )  # fmt: skip
    readings = []
    for lines, figures, where in (
        (page.uprights(near), page.eastings(rect), at[0]),
        (page.levels(near), page.northings(rect), at[1]),
    ):
        before = max(line for line in lines if line <= where)
        after = min(line for line in lines if line > where)
        figure, off = min(
            ((figure, abs(middle - before)) for figure, middle in figures.items()),
            key=lambda pair: pair[1],
        )
        assert off < 1.0, f"no figure at the line before the point: {figures}"
        readings.append(int(figure) * spacing + (where - before) / (after - before) * spacing)
    return readings


@pytest.mark.parametrize(("place", "scale", "paper", "zone"), CASES)
def test_a_point_read_off_with_the_printed_grid(place, scale, paper, zone):
    # The middle lies to the side, so that the point is not where the page is made from.
    off = (-7e-4 * scale / 25_000, 4e-4 * scale / 25_000 / math.cos(math.radians(place[0])))
    if zone in (0, -1):
        off = (0.0, 0.0)
    sheet, plan = one_place(place, scale, paper, off)
    page, rect = Page.of(sheet.pdf), plan.layout.map
    at = page.blob(PLACE_INK, rect)
    easting, northing = read_off(
        page, rect, spacing_m(scale), spacing_m(scale) * 1000.0 / scale, at
    )
    wanted = proj(zone, place[0] < 0).transform(place[1], place[0])
    assert plan.pages[0].frame.zone == Zone(zone)
    off_mm = 1000.0 / scale * np.abs(np.array([easting, northing]) - wanted)
    assert off_mm.max() < READ_MM / 2.0, off_mm


@pytest.mark.parametrize("paper", ["A4", "A3", "Letter"])
@pytest.mark.parametrize("orientation", ["portrait", "landscape"])
def test_the_check_bar_is_100_mm(paper, orientation):
    shown = scene_of([("Desk", "Rock", "place 48.2N 11.5E")], (48.2, 11.5))
    sheet, plan = sheet_of(shown, paper=paper, orientation=orientation)
    bars = plan.layout.bars
    page = Page.of(sheet.pdf)
    # Upper and lower edge of the bar run on for its whole length; figures and words do not.
    part = (
        page.cut(bars.right - 106.0, bars.bottom + 1.0, bars.right + 1.0, bars.bottom + 7.0) < 140
    )
    runs = [longest_run(row) for row in part]
    assert max(runs) / MM == pytest.approx(100.0, abs=0.2 + 1.0 / MM)
    # Ten boxes, black and white in turn, each 10 mm.
    middle = part[np.argmax(runs) + round(0.7 * MM)]
    right = np.flatnonzero(middle).max()
    bar = middle[right - round(100.0 * MM) : right]
    edges = np.flatnonzero(np.diff(bar[round(2 * MM) : -round(2 * MM)].astype(int)))
    gaps = np.diff(edges[np.concatenate([[True], np.diff(edges) > 2 * MM])]) / MM
    assert gaps == pytest.approx([10.0] * len(gaps), abs=0.2)
    assert len(gaps) >= 7


def longest_run(row):
    changes = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(int), [0]])))
    return int((changes[1::2] - changes[::2]).max()) if changes.size else 0


@pytest.mark.parametrize("scale", [5_000, 20_000, 25_000, 50_000, 100_000, 250_000])
def test_grid_squares_and_romer_have_the_same_size(scale):
    shown = scene_of([("Desk", "Rock", "place 48.2N 11.5E")], (48.2, 11.5))
    sheet, plan = sheet_of(shown, (48.2, 11.5), denominator=scale)
    page = Page.of(sheet.pdf)
    side = spacing_m(scale) * 1000.0 / scale
    lines = page.uprights(plan.layout.map)
    assert np.diff(lines) == pytest.approx([side] * (len(lines) - 1), abs=0.15)
    romer = plan.layout.panels[3]
    part = page.cut(romer.left, romer.bottom, romer.right, romer.top - 3.0) < 150
    # The solid upper edge is as long as a square is wide, and ends at the solid right edge.
    across = max(longest_run(row) for row in part) / MM
    down = max(longest_run(column) for column in part.T) / MM
    assert (across, down) == pytest.approx((side, side), abs=0.25)
    # Just inside the upper edge: ticks, evenly spaced over the whole side.
    row = int(np.argmax([longest_run(row) for row in part]))
    edge = np.flatnonzero(part[row])
    first = edge[-1] - round(side * MM) - 3
    ticks = peaks_of(part[row + round(0.5 * MM), first:])
    steps = np.diff(ticks) / MM
    assert len(steps) in (2, 5, 10, 20, 50, 100)
    assert steps == pytest.approx([side / len(steps)] * len(steps), abs=0.2)
    assert (ticks[-1] - ticks[0]) / MM == pytest.approx(side, abs=0.25)


def peaks_of(row):
    changes = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(int), [0]])))
    return (changes[1::2] + changes[::2]) / 2.0


@pytest.mark.parametrize(
    ("middle", "scale"),
    [
        ((43.12, 6.0), 25_000),
        ((43.12, 5.97), 100_000),
        ((60.0, 3.0), 50_000),
        ((72.0, 8.98), 100_000),  # where Svalbard's exceptions begin
        ((84.0, 12.0), 50_000),
        ((-80.0, 30.02), 100_000),
        ((-30.0, -60.0), 25_000),
        ((10.0, 180.0), 25_000),
        ((0.0, 6.0), 10_000),
    ],
)
def test_both_grids_are_where_proj_says_up_to_the_boundary(middle, scale):
    shown = scene_of([("Desk", "Rock", f"place {text_at(middle)}")], middle)
    sheet, plan = sheet_of(shown, middle, denominator=scale)
    frame = plan.pages[0].frame
    grid = page_grid(frame)
    assert len(grid.zones) >= 2
    assert grid.boundaries
    page = Page.of(sheet.pdf)
    grey = page.grey
    high = grey.shape[0]
    seen = 0
    for run in grid.runs:
        points = np.array(run.points)
        plane = proj(frame.zone.number, south=False)
        # Page to ground by PROJ, then to the grid that the line belongs to, by PROJ again.
        east = frame.west_m + (points[:, 0] - frame.rect.left) * scale / 1000.0
        north = frame.south_m + (points[:, 1] - frame.rect.bottom) * scale / 1000.0
        lon, lat = plane.transform(east, north, direction="INVERSE")
        found = proj(run.zone.number, south=False).transform(lon, lat)[0 if run.easting else 1]
        assert np.abs(found - run.value_m).max() * 1000.0 / scale < 0.05
        # And the ink is there: on the line, not beside it.
        x, y = thick(points)
        inside = (x > frame.rect.left + 1) & (x < frame.rect.right - 1)
        inside &= (y > frame.rect.bottom + 1) & (y < frame.rect.top - 1)
        if inside.sum() < 200:
            continue
        rows = (high - y[inside] * MM).astype(int)
        columns = (x[inside] * MM).astype(int)
        dark = np.min([grey[rows + a, columns + b] for a in (-2, 0, 2) for b in (-2, 0, 2)], axis=0)
        assert (dark < 200).mean() > 0.55
        seen += 1
    assert seen > 5


def thick(points):
    """Points every tenth of a millimetre along a line."""
    length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    at = np.arange(0.0, length[-1], 0.1)
    return np.interp(at, length, points[:, 0]), np.interp(at, length, points[:, 1])


def test_a_bearing_is_drawn_where_proj_has_its_geodesic():
    from pyproj import Geod

    start = (48.2013, 11.5027)
    lines = [
        ("Otter", "", text_at(start)),
        ("Otter", "signal", "bearing 63 true ± 4"),
    ]
    shown = scene_of(lines, start)
    sheet, plan = sheet_of(shown, start, denominator=25_000)
    page, frame = Page.of(sheet.pdf), plan.pages[0].frame
    plane = proj(32, south=False)
    rgb = page.rgb.astype(int)
    for along_m in (600.0, 1_100.0, 1_500.0):
        lon, lat, _ = Geod(ellps="WGS84").fwd(start[1], start[0], 63.0, along_m)
        east, north = plane.transform(lon, lat)
        x = frame.rect.left + (east - frame.west_m) / 25.0
        y = frame.rect.bottom + (north - frame.south_m) / 25.0
        row, column = rgb.shape[0] - y * MM, x * MM
        window = rgb[round(row) - 24 : round(row) + 24, round(column)]
        ink = np.flatnonzero(np.abs(window - np.array(VERMILION)).max(axis=-1) < 50)
        assert ink.size > 2
        across_mm = (ink.mean() - 24 + round(row) - row) / MM
        assert abs(across_mm) < 0.3


def test_distances_watches_and_ground_are_drawn():
    """The ring is where GeographicLib's geodesics of 1 km end (pyproj.Geod); words beside each."""
    from pyproj import Geod

    start = (48.2013, 11.5027)
    lines = [
        ("Otter", "", text_at(start)),
        ("Otter", "signal", "distance 1 km ± 100 m"),
        ("Plover", "", text_at((48.195, 11.49))),
        ("Plover", "signal", "not heard"),
        ("Plover", "signal", "searched 300 m around 48.195N 11.515E 70 %"),
    ]
    made, plan = sheet_of(scene_of(lines, start), start, denominator=25_000)
    page, frame = Page.of(made.pdf), plan.pages[0].frame
    rgb = page.rgb.astype(int)

    def share(radius_m):
        found = []
        for bearing in range(2, 362, 3):
            lon, lat, _ = Geod(ellps="WGS84").fwd(start[1], start[0], bearing, radius_m)
            east, north = proj(32, south=False).transform(lon, lat)
            row = rgb.shape[0] - (frame.rect.bottom + (north - frame.south_m) / 25.0) * MM
            column = (frame.rect.left + (east - frame.west_m) / 25.0) * MM
            window = rgb[round(row) - 2 : round(row) + 3, round(column) - 2 : round(column) + 3]
            found.append((np.abs(window - np.array(VERMILION)).max(axis=-1) < 60).any())
        return float(np.mean(found))

    assert share(1_000.0) > 0.55  # broken, for it is doubted; names stand on parts of it
    assert max(share(950.0), share(1_050.0)) < 0.1  # 2 mm beside it
    said = text_of(made.pdf)[0]
    for words in ("Otter 1.00 km ± 100 m", "not heard", "searched, 70 %"):
        assert words in said


def test_two_sheets_that_adjoin_show_the_same_ground():
    lines = [
        ("Desk", "West rock", "place 48.20N 11.40E"),
        ("Desk", "East rock", "place 48.21N 11.62E"),
    ]
    _, plan = sheet_of(scene_of(lines, (48.2, 11.5)), denominator=25_000)
    assert len(plan.pages) >= 2
    first, second = (page.frame for page in plan.pages[:2])
    shared = first.east_m - second.west_m
    assert shared == pytest.approx(10.0 * 25.0)
    assert plan.pages[0].neighbours["right"] == plan.pages[1].name
    assert DPI == 300
