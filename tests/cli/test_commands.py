"""The command line as a stranger uses it: data on stdout, talk on stderr, JSON as agreed."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from check_values import row

from plotter.cli import _COMMANDS, main
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Position

REPORTS = """time_utc,sender,subject,report
2026-03-14T09:00Z,Desk,,area 60 km around 47.0N 8.0E
09:01,Desk,chapel,place 47.02N 8.05E
09:02,Team 1,,47.00N 7.90E
09:03,Team 2,,46.95N 8.05E
09:04,Team 1,weak station,bearing 88 true ± 5
09:05,Team 2,weak station,bearing 325 true ± 5
09:06,Team 3,weak station,bearing 240 magnetic from the chapel
"""


@pytest.fixture
def run(capsys):
    """Call the command line in this process; status, stdout and stderr."""

    def call(*arguments):
        with pytest.raises(SystemExit) as caught:
            main(list(arguments))
        out, err = capsys.readouterr()
        return caught.value.code, out, err

    return call


@pytest.fixture
def reports(tmp_path):
    path = tmp_path / "reports.csv"
    path.write_text(REPORTS, encoding="utf-8")
    return path


def test_convert_json_contract(run):
    status, out, err = run("convert", "31U DQ 48251 11932", "--json")
    data = json.loads(out)
    assert status == 0
    assert err == ""
    assert data["input"] == "31U DQ 48251 11932"
    (found,) = data["readings"]
    assert set(found) == {"format", "lat_deg", "lon_deg", "size_m", "assumed", "ask", "as"}
    assert set(found["as"]) == {"latlon", "utm", "mgrs", "maidenhead"}
    assert found["format"] == "mgrs"
    assert found["size_m"] == 1
    assert found["as"]["mgrs"] == "31UDQ4825111932"
    centre = Position(found["lat_deg"], found["lon_deg"])
    assert geodesic(centre, Position(48.8582, 2.2945)).distance_m < 1


def test_convert_takes_words_and_signs_unquoted(run):
    status, out, _ = run("convert", "-33.9,", "18.4")
    assert status == 0
    assert "33.9S 18.4E" in out


def test_convert_gives_every_meaning_and_says_to_ask(run):
    status, out, err = run("convert", "18S 323483 4306479")
    assert status == 0
    assert out.count("read as UTM") == 2
    assert "2 meanings fit: ask" in err


def test_convert_completes_from_the_area(run):
    status, out, _ = run("convert", "DQ 48251 11932", "--area", "48.8,2.3,30", "--json")
    (found,) = json.loads(out)["readings"]
    assert status == 0
    assert found["assumed"] == ["zone 31U, from the area of operations"]


@pytest.mark.parametrize(
    ("arguments", "status", "message"),
    [
        (("convert", "DQ 48251 11932"), 1, "does not say the grid zone"),
        (("convert", "gibberish"), 1, "cannot read 'gibberish' as a position"),
        (("convert", "48N 2E", "--area", "48,2"), 2, "latitude,longitude,radius"),
        (("north", "48N 2E", "--date", "yesterday"), 2, "a day such as 2026-03-14"),
        (("fix", "absent.csv"), 1, "cannot open 'absent.csv'"),
        (("board", "absent.csv", "-o", "x.html"), 1, "cannot open 'absent.csv'"),
        (("convert", "48N 2E", "--last", "48N 2E"), 2, "needs --area and one TEXT"),
        (("convert", "--file", "a.csv", "--area", "48,2,9", "--last", "48N 2E"), 2, "one TEXT"),
        (("nonsense",), 2, "No such command"),
    ],
)
def test_errors_are_one_line_with_a_status(run, arguments, status, message):
    found, out, err = run(*arguments)
    assert found == status
    assert out == ""
    assert message in err
    if status == 1:
        assert err.startswith("plotter: ")
        assert err.count("\n") == 1


def test_between_json_contract(run):
    """JFK to Singapore, GeographicLib's GeodSolve and RhumbSolve examples (tables 01 and 01b)."""
    a, b = row("01_geodesic.csv", "JFK-Singapore inverse")["inputs"].split(";")[0].split(" -> ")
    status, out, _ = run("between", a, b, "--date", "2026-03-14", "--json")
    data = json.loads(out)
    assert status == 0
    assert data["distance_m"] == pytest.approx(15347628, abs=1)
    assert data["bearing_true_deg"] == pytest.approx(3 + 18 / 60 + 29.9 / 3600, abs=1.5e-5)
    forward = 177 + 29 / 60 + 9.2 / 3600
    assert data["back_bearing_true_deg"] == pytest.approx(forward + 180, abs=1.5e-5)
    assert data["rhumb_distance_m"] == pytest.approx(18523563, abs=1)
    assert data["rhumb_bearing_deg"] == pytest.approx(103 + 34 / 60 + 58.2 / 3600, abs=1.5e-5)
    # New York lies in the west of its zone, with west declination.
    assert data["bearing_magnetic_deg"] == pytest.approx(15.7, abs=0.5)
    assert 0 <= data["bearing_grid_deg"] < 360


def test_north_json_contract(run):
    """Timbuktu, GeographicLib's MagneticField example (table 06); convergence of table 02."""
    status, out, err = run(
        "north", "16:46:33N 3:00:34W", "--date", "2025-01-01", "--height-m", "300", "--json"
    )
    data = json.loads(out)
    assert status == 0
    assert err == ""
    assert data["declination_deg"] == pytest.approx(-1.04, abs=0.01)
    assert data["date"] == "2025-01-01"
    _, out, _ = run("north", "33.33, 44.44", "--date", "2026-01-01", "--json")
    assert json.loads(out)["convergence_deg"] == pytest.approx(-0.30770474, abs=1e-8)


def test_north_warns_outside_the_model(run):
    _, out, err = run("north", "47N 8E", "--date", "2031-01-01")
    assert "declination" in out
    assert "2025 to 2029" in err


def test_fix_json_contract(run, reports):
    status, out, err = run("fix", str(reports), "--json")
    data = json.loads(out)
    assert (status, err) == (0, "")
    assert data["subject"] == "weak station"
    assert set(data["best"]) == {"lat_deg", "lon_deg"}
    assert [region["probability"] for region in data["regions"]] == [0.5, 0.95]
    for region in data["regions"]:
        assert region["area_km2"] > 0
        assert region["pieces"]
    assert [b["sender"] for b in data["bearings"]] == ["Team 1", "Team 2", "Team 3"]
    for verdict in data["bearings"]:
        total = verdict["p_good"] + verdict["p_reciprocal"] + verdict["p_gross"]
        assert total == pytest.approx(1, abs=1e-6)
    assert data["findings"]
    best = Position(data["best"]["lat_deg"], data["best"]["lon_deg"])
    assert geodesic(best, Position(47.0, 8.0)).distance_m < 3_000


def test_unread_lines_are_said_and_set_the_status(run, reports):
    reports.write_text(REPORTS + '09:09,Team 4,,"48.2N, up the hill"\n', encoding="utf-8")
    status, out, err = run("fix", str(reports))
    assert status == 3
    assert "line 9 not read: '48.2N, up the hill'" in err
    assert "weak station" in out
    _, out, _ = run("fix", str(reports), "--json")
    assert json.loads(out)["unread"][0]["line"] == 9


def test_fix_of_a_subject_that_is_not_there(run, reports):
    status, _, err = run("fix", str(reports), "--subject", "ghost")
    assert status == 1
    assert "nothing is known of 'ghost': reports are about" in err


def test_fix_of_a_file_without_bearings(run, tmp_path):
    path = tmp_path / "quiet.csv"
    path.write_text("time_utc,sender,subject,report\n", encoding="utf-8")
    status, _, err = run("fix", str(path))
    assert status == 1
    assert "bearing 245 magnetic" in err


def test_board_is_written_and_named(run, reports, tmp_path):
    out_file = tmp_path / "out.html"
    status, out, err = run("board", str(reports), "-o", str(out_file), "--tiles", str(tmp_path))
    assert status == 0
    assert out.strip() == str(out_file)
    assert err
    first = out_file.read_bytes()
    run("board", str(reports), "-o", str(out_file), "--tiles", str(tmp_path))
    assert out_file.read_bytes() == first


def test_a_board_that_cannot_be_written(run, reports, tmp_path):
    status, _, err = run("board", str(reports), "-o", str(tmp_path / "no" / "out.html"))
    assert status == 1
    assert "cannot write" in err


@pytest.mark.parametrize("name", _COMMANDS)
def test_every_command_has_help_and_is_in_the_readme(run, repository, name):
    status, out, _ = run(name, "--help")
    assert status == 0
    assert len(out.splitlines()) > 4
    assert f"plotter {name}" in (repository / "README.md").read_text(encoding="utf-8")


def test_help_of_the_whole(run):
    status, out, _ = run("--help")
    assert status == 0
    assert all(name in out for name in _COMMANDS)
    assert "Not for" in out


def test_reading_a_coordinate_loads_neither_pyproj_nor_the_map():
    script = (
        "import sys\n"
        "from plotter.cli import main\n"
        "try: main(['convert', '31U DQ 48251 11932', '--json'])\n"
        "except SystemExit: pass\n"
        "print([m for m in ('pyproj', 'shapely', 'folium', 'geographiclib') if m in sys.modules])\n"
    )
    result = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert result.stdout.splitlines()[-1] == "[]"


def test_the_demo_says_everything_and_ends_with_its_board(run, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    status, out, _ = run("demo")
    assert status == 0
    lines = out.splitlines()
    board = Path(lines[-1])
    assert board.parent == tmp_path
    assert board.stat().st_size > 100_000
    for words in (
        "zone 27H, from the area of operations",  # a missing zone
        "North not stated: ask",  # an unstated north
        "looks like the reciprocal",  # a reciprocal
        "17 km outside the area",  # a misheard figure
        "8 473 km outside the area",  # a wrong hemisphere
        "and lies inside the 95 % region",
    ):
        assert words in out
    west = next(line for line in lines if line.strip().startswith("West team    right"))
    assert "right under 1 %" in west
