"""Advice on paper: sectors where PROJ has their corners, places to listen from, and their words."""

import numpy as np
import pytest
from sheet_examples import DAY, MM, Page, degrees, picture_of_lines, proj, sheet_of, text_of

from plotter.board import scene
from plotter.board.answer_values import Sight, Spoken
from plotter.board.listening_values import Listening, ListeningPlace
from plotter.board.search_marks import search_view
from plotter.fix.search_sectors import after_searches, search_plan
from plotter.geodesy.position import Position
from plotter.reports.evidence import case_of, fixes
from plotter.reports.stations import stations_of
from plotter.sheet.margin import legend_of

MIDDLE = (48.2013, 11.5027)
LINES = [
    ("Otter", "", degrees((48.16, 11.49))),
    ("Plover", "", degrees((48.19, 11.57))),
    ("Heron", "", degrees((48.23, 11.44))),
    ("Otter", "signal", "bearing 12 true ± 5"),
    ("Plover", "signal", "bearing 284 true ± 5"),
    ("Heron", "signal", "bearing 125 true ± 5"),
]


@pytest.fixture(scope="module")
def searched():
    """A scene with sectors, and a sheet of it."""
    picture = picture_of_lines(LINES, MIDDLE)
    found, _ = fixes(picture)
    now = after_searches(search_plan(case_of(picture, None, "").posterior(), 5), [])
    view = search_view(
        "signal", now, [], stations_of(picture), equal="probability", bearings=3,
        last_bearing_utc=None, day=DAY,
    )  # fmt: skip
    shown = scene(picture, found, date=DAY, now_utc=picture.last_time_utc, search=view)
    return view, sheet_of(shown)


def dark_share(page, frame, corners, off_mm=0.0):
    """How many of some places, moved aside on the page, have black within 0.3 mm."""
    plane, grey = proj(32, south=False), page.grey
    scale = frame.denominator / 1000.0
    found = []
    for place in corners:
        east, north = plane.transform(place.lon_deg, place.lat_deg)
        x = frame.rect.left + (east - frame.west_m) / scale + off_mm
        y = frame.rect.bottom + (north - frame.south_m) / scale + off_mm
        row, column = round(grey.shape[0] - y * MM), round(x * MM)
        found.append((grey[row - 3 : row + 4, column - 3 : column + 4] < 60).any())
    return float(np.mean(found))


def test_sectors_are_drawn_where_proj_has_their_corners(searched):
    view, (sheet, plan) = searched
    page, frame = Page.of(sheet.pdf), plan.pages[0].frame
    for mark in view.sectors:
        corners = [corner for polygon in mark.polygons for corner in polygon.outer]
        # Words with white about them stand on some of the outline.
        assert dark_share(page, frame, corners) > 0.9
        assert dark_share(page, frame, corners, off_mm=2.0) < 0.4


def test_the_sheet_of_a_search_is_that_of_its_sectors_in_large(searched):
    view, (_, plan) = searched
    frame = plan.pages[0].frame
    assert plan.denominator <= 50_000
    corners = [c for mark in view.sectors for polygon in mark.polygons for c in polygon.outer]
    assert all(frame.holds(*frame.path([(c.lat_deg, c.lon_deg)])[0]) for c in corners)


def test_sectors_are_named_on_the_map_and_listed_with_their_way(searched):
    view, (sheet, _) = searched
    on_map, words = text_of(sheet.pdf)[:2]
    assert "sector, fullest first" in on_map
    assert words.index("Where to search: signal") < words.index("Fix: signal")
    for mark in view.sectors:
        assert mark.name in on_map
        assert mark.name in words
        assert mark.reference.text in words.replace(" ", "").replace("\u00a0", "")
    for sentence in (*view.words, *view.cautions):
        assert sentence in words


def test_the_legend_keeps_the_regions_of_another_subject(searched):
    """Sectors stand for the regions of their own subject only."""
    view, _ = searched
    others = [(sender, subject and "smoke", text) for sender, subject, text in LINES]
    for lines, kept in ((LINES, False), (LINES + others[3:], True)):
        picture = picture_of_lines(lines, MIDDLE)
        found, _ = fixes(picture)
        shown = scene(picture, found, date=DAY, now_utc=picture.last_time_utc, search=view)
        kinds = [kind for kind, _ in legend_of(shown)]
        assert "sector" in kinds
        assert ("half" in kinds) is kept


def test_places_to_listen_from_are_drawn_by_rank_and_listed():
    places = tuple(
        ListeningPlace(
            rank, name, Position(lat, lon),
            Spoken("MGRS", f"32UPU{rank}", ("32U", "PU", str(rank))),
            Sight("Otter", 1_200.0, 33.0, 30.0) if rank == 1 else None, f"outcome {rank}",
        )
        for rank, (name, lat, lon) in enumerate((("mill", 48.22, 11.50), ("", 48.17, 11.53)), 1)
    )  # fmt: skip
    advice = Listening("signal", ("Weighed: two places.",), places, ("An aid to planning.",))
    picture = picture_of_lines(LINES, MIDDLE)
    found, _ = fixes(picture)
    shown = scene(picture, found, date=DAY, now_utc=picture.last_time_utc, listening=advice)
    sheet, plan = sheet_of(shown, MIDDLE, denominator=50_000)
    on_map, words = text_of(sheet.pdf)[:2]
    assert "listen: mill" in on_map
    assert "listen here, 1 first" in on_map
    way = "1.20 km on 033° true (030° magnetic) from Otter"
    for said in ("Where to listen next: signal", *advice.findings, "outcome 1", "outcome 2", way):
        assert said in words
    page, frame = Page.of(sheet.pdf), plan.pages[0].frame
    for place in places:
        # The house stands on its place: 2.6 mm to each side is its wall.
        assert dark_share(page, frame, [place.position]) == 1.0  # the figure in it
        x, y = frame.path([(place.position.lat_deg, place.position.lon_deg)])[0]
        row, grey = round(page.grey.shape[0] - (y - 2.0) * MM), page.grey
        for side in (-2.6, 2.6):
            column = round((x + side) * MM)
            assert grey[row, column - 3 : column + 4].min() < 60
