"""Which scale, which way round, how many pages; and what is refused."""

import pytest
from sheet_examples import scene_of, sheet_of, text_of

from plotter.errors import SheetError
from plotter.geodesy.position import Area, Position
from plotter.sheet import USUAL_SCALES, ground_of, plan_pages
from plotter.sheet.grid_lines import figures_of, label_step_m, spacing_m
from plotter.sheet.plane import Zone


def two_places(lat=48.2, lon=11.5, north=0.0, east=0.0):
    return scene_of(
        [
            ("Desk", "First", f"place {lat:.5f}N {lon:.5f}E"),
            ("Desk", "Second", f"place {lat + north:.5f}N {lon + east:.5f}E"),
        ],
        (lat, lon),
    )


def test_the_largest_usual_scale_that_fits_is_taken():
    for north, east in ((0.03, 0.0), (0.0, 0.05), (0.2, 0.1), (0.05, 0.5)):
        ground = ground_of(two_places(north=north, east=east))
        plan = plan_pages(ground)
        assert len(plan.pages) == 1
        frame = plan.pages[0].frame
        assert frame.west_m < ground.west_m
        assert ground.east_m < frame.east_m
        assert frame.south_m < ground.south_m
        assert ground.north_m < frame.north_m
        larger = [scale for scale in USUAL_SCALES if scale < plan.denominator]
        for scale in larger[-1:]:
            assert len(plan_pages(ground, denominator=scale).pages) > 1


def test_the_page_lies_the_way_the_ground_does():
    assert plan_pages(ground_of(two_places(north=0.2))).layout.orientation == "portrait"
    assert plan_pages(ground_of(two_places(east=0.3))).layout.orientation == "landscape"
    chosen = plan_pages(ground_of(two_places(east=0.3)), orientation="portrait")
    assert chosen.layout.orientation == "portrait"


def test_several_pages_cover_the_ground_and_have_an_index():
    shown = two_places(north=0.08, east=0.25)
    ground = ground_of(shown)
    made, plan = sheet_of(shown, denominator=25_000)
    assert len(plan.pages) > 2
    frames = [page.frame for page in plan.pages]
    assert min(f.west_m for f in frames) < ground.west_m
    assert max(f.east_m for f in frames) > ground.east_m
    assert min(f.south_m for f in frames) < ground.south_m
    assert max(f.north_m for f in frames) > ground.north_m
    names = [page.name for page in plan.pages]
    assert names[:2] == ["A1", "A2"]
    assert len(set(names)) == len(names)
    assert made.pages[0] == "index"
    first, *others = text_of(made.pdf)
    assert "Index of sheets" in first
    assert all(name in first for name in names)
    for page, text in zip(plan.pages, others, strict=False):
        assert f"Sheet {page.name}" in text
        for neighbour in page.neighbours.values():
            assert f"sheet {neighbour}" in text


def test_neighbours_know_each_other():
    back = {"above": "below", "below": "above", "left": "right", "right": "left"}
    plan = plan_pages(ground_of(two_places(north=0.1, east=0.25)), denominator=25_000)
    pages = {page.name: page for page in plan.pages}
    for page in plan.pages:
        for side, name in page.neighbours.items():
            assert pages[name].neighbours[back[side]] == page.name
            if side == "right":
                assert pages[name].frame.west_m > page.frame.west_m
            if side == "above":
                assert pages[name].frame.south_m > page.frame.south_m


def test_a_chosen_middle_is_the_middle():
    plan = plan_pages(ground_of(two_places(), Position(48.31, 11.47)))
    middle = plan.pages[0].frame.middle
    assert len(plan.pages) == 1
    assert plan.denominator == 25_000
    # The corner stands on a whole millimetre's worth of ground: 25 m.
    assert middle.lat_deg == pytest.approx(48.31, abs=25 / 111e3)
    assert middle.lon_deg == pytest.approx(11.47, abs=25 / 74e3)


def test_an_area_alone_is_enough():
    empty = scene_of([("Desk", "", "note nothing yet")], (48.2, 11.5))
    plan = plan_pages(ground_of(empty, area=Area(Position(48.2, 11.5), 8_000.0)))
    frame = plan.pages[0].frame
    assert frame.east_m - frame.west_m > 16_000
    with pytest.raises(SheetError, match="--at"):
        ground_of(empty)


@pytest.mark.parametrize("scale", [100.0, 2e6])
def test_scales_out_of_range_are_refused(scale):
    with pytest.raises(SheetError, match=f"1:{scale:.0f} is out of range"):
        plan_pages(ground_of(two_places()), denominator=scale)


def test_too_many_pages_and_unknown_paper_are_refused():
    with pytest.raises(SheetError, match=r"would take \d+ pages"):
        plan_pages(ground_of(two_places(north=0.3, east=0.4)), denominator=2_000)
    with pytest.raises(SheetError, match="'A7'"):
        plan_pages(ground_of(two_places()), paper="A7")


@pytest.mark.parametrize("scale", [500, 5_000, 12_500, 20_000, 25_000, 63_360, 250_000, 1_000_000])
def test_squares_are_neither_too_small_nor_too_large(scale):
    side = spacing_m(scale) * 1000.0 / scale
    assert 5.0 <= side <= 50.0
    assert label_step_m(spacing_m(scale), scale) * 1000.0 / scale >= 7.0


def test_figures_are_those_of_a_reference():
    """27H UT 81370 48420 lies right of line 81 and above line 48 (demo report, MGRS as read)."""
    assert figures_of(Zone(27), 381_000.0, 1_000.0, easting=True) == ("3", "81")
    assert figures_of(Zone(27), -4_252_000.0, 1_000.0, easting=False) == ("57", "48")
    assert figures_of(Zone(0), 2_000_000.0, 10_000.0, easting=True) == ("20", "0")
