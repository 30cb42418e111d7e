"""`plotter search`: sectors in order, what searches leave, what to spend, and the board."""

import json

import pytest
from browser_support import open_page

from plotter.cli import main
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Position

REPORTS = """time_utc,sender,subject,report
2026-03-14T09:00Z,Desk,,area 60 km around 47.0N 8.0E
09:01,Desk,chapel,place 47.003N 8.005E
09:02,Team 1,,47.00N 7.90E
09:03,Team 2,,46.95N 8.05E
09:04,Team 1,weak station,bearing 88 true ± 5
09:05,Team 2,weak station,bearing 325 true ± 5
09:06,Team 3,weak station,bearing 240 true ± 5 from 47.02N 8.05E
09:07,Team 1,smoke,bearing 20 true ± 5
"""
MEANS = ("--hours", "3", "--teams", "4", "--speed-kmh", "2", "--sweep-m", "40")


@pytest.fixture
def run(capsys):
    def call(*arguments):
        with pytest.raises(SystemExit) as caught:
            main(["search", *arguments])
        out, err = capsys.readouterr()
        return caught.value.code, out, err

    return call


@pytest.fixture
def reports(tmp_path):
    path = tmp_path / "reports.csv"
    path.write_text(REPORTS, encoding="utf-8")
    return str(path)


@pytest.fixture
def search(run, reports):
    def call(*arguments):
        status, out, err = run(reports, "--json", *arguments)
        # Of a place by its name it is said as of when; nothing else.
        assert status == 0
        assert all(line.startswith("last position of") for line in err.splitlines())
        return json.loads(out)

    return call


def chances(data):
    return {each["name"]: each["probability"] for each in data["sectors"]}


def test_one_line_a_sector(run, reports):
    status, out, err = run(reports, "--sectors", "4")
    assert (status, err) == (0, "")
    lines = out.splitlines()
    assert lines[0] == "weak station"
    assert lines[1].strip().startswith("Search A1 first")
    rows = lines[2:6]
    assert [row.split()[:2] for row in rows] == [[f"{k}.", f"A{k}"] for k in range(1, 5)]
    assert all(" 24 % " in row and "32T MT" in row and "° magnetic) from " in row for row in rows)
    assert "cut from 3 bearings, the last at 09:06 UTC" in out
    assert "authority in charge decides" in out


def test_json_contract(search):
    data = search("--sectors", "5")
    assert data["subject"] == "weak station"
    assert [each["rank"] for each in data["sectors"]] == [1, 2, 3, 4, 5]
    assert sum(chances(data).values()) == pytest.approx(0.95, abs=0.002)
    assert data["p_elsewhere"] == pytest.approx(0.05, abs=0.002)
    density = [each["probability_per_km2"] for each in data["sectors"]]
    assert density == sorted(density, reverse=True)
    first = data["sectors"][0]
    place = Position(first["middle"]["lat_deg"], first["middle"]["lon_deg"])
    teams = {
        "Team 1": Position(47.0, 7.9),
        "Team 2": Position(46.95, 8.05),
        "Team 3": Position(47.02, 8.05),
    }
    nearest = min(teams, key=lambda name: geodesic(teams[name], place).distance_m)
    line = geodesic(teams[nearest], place)
    assert first["from"]["name"] == nearest
    assert first["from"]["distance_m"] == pytest.approx(line.distance_m, rel=1e-9)
    assert first["from"]["bearing_true_deg"] == pytest.approx(line.bearing_true_deg)
    # Three to four degrees of east declination there (NOAA's calculator, from memory).
    turn = first["from"]["bearing_true_deg"] - first["from"]["bearing_magnetic_deg"]
    assert turn == pytest.approx(3.5, abs=1.0)
    assert first["effort"] is None
    assert len(first["polygons"][0]["outer"]) >= 4
    assert (data["searches"], data["p_found"], data["output"]) == ([], 0.0, None)


def test_equal_area(search):
    areas = [each["area_km2"] for each in search("--equal", "area", "--sectors", "3")["sectors"]]
    assert max(areas) < 1.01 * min(areas)


def test_a_searched_sector_falls_back_and_the_rest_rises(search):
    """By hand: p (1 − q) / (1 − pq) and r / (1 − pq)."""
    before, data = chances(search()), search("--searched", "a2 70%")
    now, p = chances(data), before["A2"]
    assert now["A2"] == pytest.approx(p * 0.3 / (1 - 0.7 * p))
    assert now["A1"] == pytest.approx(before["A1"] / (1 - 0.7 * p))
    assert data["sectors"][-1]["name"] == "A2"
    (searched,) = data["searches"]
    assert searched == {
        "ground": "A2",
        "p_detection": 0.7,
        "p_before": pytest.approx(p),
        "p_left": pytest.approx(now["A2"]),
    }
    assert data["p_found"] == pytest.approx(0.7 * p)


def test_searches_add_up_in_any_order(search):
    texts = ["A2 70%", "1 km around the chapel 40 percent", "sector A1, 50 %"]
    forward = [word for text in texts for word in ("--searched", text)]
    backward = [word for text in reversed(texts) for word in ("--searched", text)]
    one, other = search(*forward), search(*backward)
    assert chances(one) == pytest.approx(chances(other))
    assert one["p_found"] == pytest.approx(other["p_found"])
    assert one["searches"][1]["ground"] == "1 km around the chapel"
    assert one["searches"][1]["p_before"] > 0.3


def test_ground_by_a_place_a_sender_or_a_reference(search):
    by_name = search("--searched", "800 m around chapel 60%")
    by_figures = search("--searched", "0.8 km around 47.003N 8.005E 60%")
    assert chances(by_name) == pytest.approx(chances(by_figures))
    far = search("--searched", "200 m around Team 2 60%")
    assert far["p_found"] < 0.01


def test_what_to_spend_where(search):
    data = search(*MEANS)
    efforts = [each["effort"] for each in data["sectors"]]
    assert sum(each["team_hours"] for each in efforts) == pytest.approx(12.0)
    for sector, effort in zip(data["sectors"], efforts, strict=True):
        # 2 km/h with a strip of 40 m sweep 0.08 km² in an hour.
        covered = effort["team_hours"] * 0.08 / sector["area_km2"]
        assert effort["p_detection"] == pytest.approx(1 - 2.718281828**-covered)
        assert effort["p_found"] == pytest.approx(sector["probability"] * effort["p_detection"])
    assert any("12 team-hours" in words for words in data["words"])


def test_the_letter_goes_by_who_was_first_pointed_at(search):
    data = search("--subject", "Smoke", "--sectors", "2")
    assert data["subject"] == "smoke"
    assert [each["name"] for each in data["sectors"]] == ["B1", "B2"]


@pytest.mark.parametrize(
    ("arguments", "status", "message"),
    [
        (("--searched", "A9 70%"), 1, "no sector is called 'A9': the sectors are A1, A2"),
        (("--searched", "A2"), 1, "say it like 'A2 70%'"),
        (("--searched", "A2 100%"), 1, "no search is certain"),
        (("--searched", "500 m around the tower 50%"), 1, "no place called 'the tower'"),
        (("--searched", "5 parsecs around chapel 50%"), 1, "unknown unit of length 'parsecs'"),
        (("--searched", "0 m around chapel 50%"), 1, "radius above 0"),
        (("--subject", "boat"), 1, "reports are about smoke, weak station"),
        (("--sectors", "0"), 2, "1<=x<=40"),
        (("--hours", "2"), 2, "--teams, --speed-kmh, --sweep-m is missing"),
        ((*MEANS[:-1], "0"), 1, "must be above 0"),
    ],
)
def test_errors(run, reports, arguments, status, message):
    found, out, err = run(reports, *arguments)
    assert found == status
    assert out == ""
    assert message in err


def test_no_bearing_no_region(run, tmp_path):
    path = tmp_path / "quiet.csv"
    path.write_text("\n".join(REPORTS.splitlines()[:5]), encoding="utf-8")
    status, _, err = run(str(path))
    assert status == 1
    assert "no region to search" in err


def test_a_sheet_is_written_where_the_file_ends_in_pdf(run, reports, tmp_path):
    path = tmp_path / "plan.PDF"
    status, out, err = run(reports, *MEANS, "-o", str(path))
    assert status == 0
    assert out.splitlines()[-1] == str(path)
    assert "Print at 100 %" in err
    assert path.read_bytes().startswith(b"%PDF-")


@pytest.mark.browser
def test_the_board_shows_and_lists_the_sectors(run, reports, tmp_path, chromium):
    path = tmp_path / "board.html"
    status, out, _ = run(reports, "--searched", "A1 80%", *MEANS, "-o", str(path))
    assert status == 0
    assert out.splitlines()[-1] == str(path)
    painted = "performance.getEntriesByName('board-painted').length > 0"
    with open_page(chromium, path) as (page, seen):
        page.wait_for_function(painted)
        section = page.locator("#search")
        names = section.locator(".rank").all_inner_texts()
        assert sorted(names) == [f"A{k}" for k in range(1, 7)]
        assert names[-1] == "A1"
        assert f"Search {names[0]} first" in section.inner_text()
        assert "A1 searched with 80 %" in section.inner_text()
        assert "authority in charge decides" in section.inner_text()
        assert "Sector to search" in page.locator("#key").inner_text()
        # A touch goes to the sector, which then fills the map; its ground is coloured.
        section.get_by_role("button", name="Show on the map").first.click()
        page.wait_for_timeout(600)
        data = json.loads(page.evaluate("document.getElementById('scene-data').textContent"))
        lat, lon = (each / 1e6 for each in data["search"]["sectors"][0]["middle"])
        size = page.evaluate("(() => { const s = board_map.getSize(); return [s.x, s.y]; })()")
        at = page.evaluate(
            "([a, b]) => { const p = board_map.latLngToContainerPoint([a, b]);"
            " return [p.x, p.y]; }",
            [lat, lon],
        )
        assert 0 < at[0] < size[0]
        assert 0 < at[1] < size[1]
        assert page.evaluate("board_map.getZoom()") > 12
        sheet = "board_map.getPane('sheet').querySelector('canvas').toDataURL()"
        before = page.evaluate(sheet)
        page.get_by_label("Sectors to search").uncheck()
        page.wait_for_timeout(200)
        assert page.evaluate(sheet) != before
        assert seen.requests == [path.as_uri()]
        assert [c for c in seen.complaints if not c.startswith("Canvas2D: Multiple")] == []
