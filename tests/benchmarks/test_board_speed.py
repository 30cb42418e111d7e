"""How fast a board of 10 000 and of 100 000 reports is built, painted, moved; its memory.

The other side is one folium.GeoJson layer of the same points, with the same inlined Leaflet and the
same canvas. Both are built and painted in the same run, in turns; the medians are compared. Times
of building are those of the processor. Run with `-m slow -s`.
"""

import datetime as dt
import statistics
import time
from pathlib import Path

import numpy as np
import pytest
from browser_support import browser, chromium_path, open_page

from plotter.board import build_board, page, scene
from plotter.formats.result import Reading
from plotter.geodesy.position import Position, Square
from plotter.reports.report import Picture, PositionReport, Said

COUNTS = (10_000, 100_000)
TEAMS = 500
ROUNDS = 5
START = dt.datetime(2026, 5, 14, 8, 0, tzinfo=dt.UTC)
HALF_DEG = 0.00045
CORNERS = ((-1, -1), (-1, 1), (1, 1), (1, -1))
PAINTED_AT = "performance.getEntriesByName('board-painted')[0].startTime"
TWO_FRAMES = """<script>document.addEventListener("DOMContentLoaded", () =>
requestAnimationFrame(() => requestAnimationFrame(() => performance.mark("board-painted"))));
</script>"""


def until_painted(page):
    while not page.evaluate("performance.getEntriesByName('board-painted').length > 0"):
        page.wait_for_timeout(50)


def walks(count):
    """500 teams that walk about, reporting in turns."""
    random = np.random.default_rng(20260514)
    start = random.normal(size=(TEAMS, 1, 2)) * (0.05, 0.07) + (43.1, 6.03)
    steps = random.normal(size=(TEAMS, count // TEAMS, 2)) * 0.002
    return (start + np.cumsum(steps, axis=1)).transpose(1, 0, 2).reshape(-1, 2).tolist()


def picture(points):
    reports = []
    for index, (lat, lon) in enumerate(points):
        name = f"Team {index % TEAMS}"
        time_utc = START + dt.timedelta(seconds=2 * index)
        text = f"{name} now at square {index:05d}, all well, moving on along the track"
        corners = tuple(Position(lat + a * HALF_DEG, lon + b * HALF_DEG) for a, b in CORNERS)
        reports.append(
            PositionReport(
                Said(index + 1, time_utc, name, "", text),
                name,
                ("station", "subject", "place")[index % 3],
                Reading("mgrs", Square(Position(lat, lon), 100.0, corners)),
            )
        )
    return Picture("Many reports", tuple(reports))


def our_html(reports):
    built = scene(reports, date=START.date(), all_formats=lambda _: {"mgrs": "31TGH0000000000"})
    return build_board(built).html


def geojson_html(points):
    """One folium.GeoJson layer on canvas, everything inlined the way a board does it."""
    import folium
    from branca.element import Element

    other = folium.Map(location=(43.1, 6.03), zoom_start=12, tiles=None, prefer_canvas=True)
    other.default_js, other.default_css = [], []
    features = [
        {
            "type": "Feature",
            "properties": {},
            "geometry": {"type": "Point", "coordinates": [round(lon, 6), round(lat, 6)]},
        }
        for lat, lon in points
    ]
    folium.GeoJson(
        {"type": "FeatureCollection", "features": features},
        marker=folium.CircleMarker(radius=6, weight=2, fill=True),
    ).add_to(other)
    figure = other.get_root()
    head = f"<style>{page._leaflet_css()}</style><script>{page._leaflet_js()}</script>"
    figure.header.add_child(Element("{% raw %}" + head + "{% endraw %}"), name="inlined")
    figure.html.add_child(Element(TWO_FRAMES), name="frames")
    return figure.render()


def seconds(action):
    begin = time.process_time()
    result = action()
    return time.process_time() - begin, result


@pytest.mark.slow
@pytest.mark.parametrize("count", COUNTS)
def test_reports_are_built_within_a_bare_geojson_layer(count):
    points = walks(count)
    reports = picture(points)
    our_html(picture(points[:500])), geojson_html(points[:500])  # imports and caches
    ours, theirs = [], []
    for _ in range(ROUNDS):
        took, html = seconds(lambda: our_html(reports))
        ours.append(took)
        took, other = seconds(lambda: geojson_html(points))
        theirs.append(took)
    ratio = statistics.median(ours) / statistics.median(theirs)
    print(
        f"\n{count} reports, built: board {min(ours):.2f} to {max(ours):.2f} s, GeoJson layer "
        f"{statistics.median(theirs):.2f} s, ratio {ratio:.2f}; board {len(html) / 1e6:.2f} MB, "
        f"layer {len(other) / 1e6:.2f} MB"
    )
    assert len(html) <= 3_000_000
    assert ratio <= 1.0


MOVES = """async () => {
  const frame = () => new Promise((done) => requestAnimationFrame(done));
  const took = [];
  const start = board_map.getZoom();
  const moves = [[1, 0], [1, 150], [2, 0], [2, 150], [3, 0], [3, -150], [0, 0], [0, 200]];
  for (const [zoom, x] of moves) {
    const before = performance.now();
    if (x) { board_map.panBy([x, 0], {animate: false}); }
    else { board_map.setZoom(start + zoom, {animate: false}); }
    await frame();
    await frame();
    took.push(performance.now() - before);
  }
  return took; }"""


@pytest.mark.slow
@pytest.mark.browser
@pytest.mark.parametrize("count", COUNTS)
def test_reports_are_painted_and_moved_faster_than_a_geojson_layer(tmp_path, count):
    points = walks(count)
    files = {"board": our_html(picture(points)), "GeoJson layer": geojson_html(points)}
    painted = {name: [] for name in files}
    moved = {name: [] for name in files}
    heap = {}
    with browser() as chromium:
        for _ in range(ROUNDS):
            for name, html in files.items():
                path = tmp_path / f"{name.split()[0]}.html"
                path.write_text(html, encoding="utf-8")
                with open_page(chromium, path) as (opened, seen):
                    until_painted(opened)
                    painted[name].append(opened.evaluate(PAINTED_AT))
                    opened.evaluate(
                        "window.board_map = window.board_map || "
                        "Object.values(window).find(v => v && v._zoom !== undefined)"
                    )
                    moved[name].append(statistics.median(opened.evaluate(MOVES)))
                    heap[name] = opened.evaluate("performance.memory.usedJSHeapSize") / 1e6
                    assert seen.requests == [path.as_uri()]
    for what, took in (("painted", painted), ("a move", moved)):
        ours, theirs = (statistics.median(values) for values in took.values())
        print(
            f"\n{count} reports, {what}: board {ours:.0f} ms, GeoJson layer {theirs:.0f} ms, "
            f"ratio {ours / theirs:.2f}"
        )
        assert ours <= (0.7 if what == "painted" and count > 50_000 else 1.0) * theirs
    print(f"heap: {heap}")


def resident_mb(needle):
    """Resident memory of all of the browser's processes, each page shared out among its users."""
    total = 0
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            if needle in (folder / "cmdline").read_bytes():
                text = (folder / "smaps_rollup").read_text()
                total += int(text.split("Pss:")[1].split()[0])
        except (OSError, IndexError):
            continue
    return total / 1e3


@pytest.mark.slow
@pytest.mark.browser
def test_a_hundred_thousand_reports_stay_usable_in_two_gigabytes(tmp_path):
    path = tmp_path / "board.html"
    path.write_text(our_html(picture(walks(100_000))), encoding="utf-8")
    from playwright.sync_api import sync_playwright

    flags = ["--no-sandbox", "--disable-gpu", "--js-flags=--max-old-space-size=512"]
    profile = tmp_path / "profile"
    with sync_playwright() as play:
        context = play.chromium.launch_persistent_context(
            profile, executable_path=chromium_path(), args=flags, offline=True,
            viewport={"width": 1280, "height": 800},
        )  # fmt: skip
        page = context.new_page()
        page.goto(path.as_uri())
        until_painted(page)
        page.get_by_label("Find").fill("square 0537")
        for _ in range(3):
            page.evaluate(MOVES)
        used = resident_mb(str(profile).encode())
        heap = page.evaluate("performance.memory.usedJSHeapSize") / 1e6
        assert page.locator("#reports .row").count() > 0
        context.close()
    print(f"\n100 000 reports: {used:.0f} MB in all of the browser, heap {heap:.0f} MB")
    assert 100 < used < 2000
