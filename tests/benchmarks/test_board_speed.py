"""How fast a board of 10 000 reports is built and painted, beside one folium.GeoJson layer.

The other side gets the same points, the same inlined Leaflet and the same canvas. Both are built
and painted in the same run, in turns; the medians are compared. Run with `-m slow -s`.
"""

import datetime as dt
import statistics
import time

import numpy as np
import pytest
from browser_support import browser, open_page

from plotter.board import build_board, page, scene
from plotter.formats.result import Reading
from plotter.geodesy.position import Position, Square
from plotter.log.report import Picture, PositionReport, Said

COUNT = 10_000
TEAMS = 500
ROUNDS = 5
START = dt.datetime(2026, 5, 14, 8, 0, tzinfo=dt.UTC)
HALF_DEG = 0.00045
CORNERS = ((-1, -1), (-1, 1), (1, 1), (1, -1))
PAINTED = "performance.getEntriesByName('board-painted').length > 0"
PAINTED_AT = "performance.getEntriesByName('board-painted')[0].startTime"
TWO_FRAMES = """<script>document.addEventListener("DOMContentLoaded", () =>
requestAnimationFrame(() => requestAnimationFrame(() => performance.mark("board-painted"))));
</script>"""


def walks():
    """500 teams that walk about, 20 reports each."""
    random = np.random.default_rng(20260514)
    start = random.normal(size=(TEAMS, 1, 2)) * (0.05, 0.07) + (43.1, 6.03)
    steps = random.normal(size=(TEAMS, COUNT // TEAMS, 2)) * 0.002
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
    return Picture("Ten thousand reports", tuple(reports))


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
    begin = time.perf_counter()
    result = action()
    return time.perf_counter() - begin, result


@pytest.mark.slow
def test_ten_thousand_reports_are_built_within_three_times_a_bare_geojson_layer():
    points = walks()
    reports = picture(points)
    our_html(reports), geojson_html(points)  # imports and caches
    ours, theirs = [], []
    for _ in range(ROUNDS):
        took, html = seconds(lambda: our_html(reports))
        ours.append(took)
        took, _ = seconds(lambda: geojson_html(points))
        theirs.append(took)
    ratio = statistics.median(ours) / statistics.median(theirs)
    print(
        f"\nbuild: board {statistics.median(ours):.2f} s, GeoJson layer "
        f"{statistics.median(theirs):.2f} s, ratio {ratio:.2f}; board {len(html) / 1e6:.2f} MB"
    )
    assert len(html) <= 3_000_000
    assert ratio <= 3.0


@pytest.mark.slow
@pytest.mark.browser
def test_ten_thousand_reports_are_painted_as_fast_as_a_geojson_layer(tmp_path):
    points = walks()
    files = {"board": our_html(picture(points)), "GeoJson layer": geojson_html(points)}
    took = {name: [] for name in files}
    with browser() as chromium:
        for _ in range(ROUNDS):
            for name, html in files.items():
                path = tmp_path / f"{name.split()[0]}.html"
                path.write_text(html, encoding="utf-8")
                with open_page(chromium, path) as (opened, seen):
                    opened.wait_for_function(PAINTED)
                    took[name].append(opened.evaluate(PAINTED_AT))
                    assert seen.requests == [path.as_uri()]
    ours, theirs = (statistics.median(values) for values in took.values())
    print(f"\npaint: board {ours:.0f} ms, GeoJson layer {theirs:.0f} ms, ratio {ours / theirs:.2f}")
    assert ours <= 1.2 * theirs
