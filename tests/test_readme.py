"""The README's worked example, run as it stands, and its two commands."""

import json
import re
import shutil

import pytest
import shapely

from plotter.cli import main
from plotter.reports.words import words_of


@pytest.fixture
def readme(repository):
    return (repository / "README.md").read_text(encoding="utf-8")


def block(readme, name):
    found = re.search(rf"<!-- {re.escape(name)} -->\n(.*?)<!-- end -->", readme, re.DOTALL)
    return [line[4:] for line in found[1].splitlines() if line.startswith("    ")]


def test_the_worked_example_runs(readme, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "reports.csv").write_text(
        "\n".join(block(readme, "example: reports.csv")) + "\n", encoding="utf-8"
    )
    outputs = []
    for command in block(readme, "example: commands"):
        words = command.removeprefix("$ ").split()
        assert words[0] == "plotter"
        with pytest.raises(SystemExit) as caught:
            main(words[1:])
        assert caught.value.code == 0
        outputs.append(capsys.readouterr().out)
    fix = json.loads(outputs[0])
    # The demo's true place: the example's bearings are the demo's, to the degree. They cross at a
    # narrow angle, and the answer is a direction: half of the chance holds that place.
    true_place = shapely.Point(-22.4180, -38.3745)
    (half,) = [region for region in fix["regions"] if region["probability"] == 0.5]
    rings = [[(lon, lat) for lat, lon in p["polygon"]["outer"]] for p in half["pieces"]]
    assert any(shapely.Polygon(ring).covers(true_place) for ring in rings)
    assert half["area_km2"] < 50.0
    assert [b["sender"] for b in fix["bearings"]] == ["Ridge team", "Harbour team", "Clinic"]
    assert (tmp_path / "board.html").stat().st_size > 100_000


def test_an_extract_becomes_a_board_and_a_sheet(readme, repository, tmp_path, monkeypatch, capsys):
    """The three commands as they stand, in a copy of the folders that they name."""
    pytest.importorskip("rasterio", reason="the extra 'maps' is not installed")
    shutil.copytree(repository / "demo_scenario", tmp_path / "demo_scenario")
    (tmp_path / "tiles_cache").mkdir()
    monkeypatch.chdir(tmp_path)
    for command in block(readme, "example: three commands"):
        with pytest.raises(SystemExit) as caught:
            main(command.removeprefix("$ plotter ").split())
        assert caught.value.code in {0, 3}  # one line of the demo is unreadable on purpose
    assert "island" in capsys.readouterr().err
    assert (tmp_path / "tiles_cache" / "island.mbtiles").stat().st_size > 100_000
    assert (tmp_path / "board.html").stat().st_size > 500_000
    assert (tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF")


def test_the_commands_section_parses(readme):
    section = readme.split("## Commands")[1].split("\n## ")[0]
    commands = [line.strip() for line in section.splitlines() if line.startswith("    plotter ")]
    assert len(commands) == 19
    for command in commands:
        with pytest.raises(SystemExit) as caught:
            main([command.split()[1], "--help"])
        assert caught.value.code == 0


def test_two_commands_and_the_cautions_are_there(readme):
    assert "pip install -q '.[maps]' && .venv/bin/plotter demo" in readme
    (test_command,) = block(readme, "test command")
    assert test_command.endswith("-m pytest")
    for words in ("Not for navigation", "read back before", "authority in charge", "licence"):
        assert words in readme


def test_the_picture_is_there(readme, repository):
    for path in re.findall(r"!\[[^\]]*\]\(([^)]+)\)", readme):
        assert (repository / path).stat().st_size > 10_000


def test_the_fix_from_python_runs(readme, capsys):
    exec("\n".join(block(readme, "example: fix")), {})  # noqa: S102 - our own text
    assert "Position(lat_deg=47.00" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("before", "quoted", "after"),
    [
        ("", "bearing 245 magnetic", " ± 5 from the chapel"),
        ("bearing 245 true ", "class A", ""),
        ("bearing 245 true ", "loop", ""),
        ("bearing 245 true ", "sense confirmed", ""),
        ("bearing 245 true ", "shared error 5 by old compass", ""),
        ("", "distance 2.4 km ± 200 m", ""),
        ("", "distance 3 km guessed", ""),
        ("", "not heard within 8 km", ""),
        ("", "heard, antenna 6 m, its antenna 2 m, duty 50 %", ""),
        ("", "ruled out 2 km around the lake", ""),
        ("", "searched inside A; B; C 70 %", ""),
        ("", "moving walker", ""),
        ("", "moving 1.2 m/s", ""),
        ("", "2.4 km on 240 magnetic from the chapel", ""),
        ("", "600 m north-east of the chapel", ""),
        ("", "halfway between the chapel and the quay", ""),
    ],
)
def test_report_lines_are_read_as_the_readme_says(readme, before, quoted, after):
    assert f"`{quoted}`" in readme
    assert type(words_of(before + quoted + after)).__name__ != "PositionWords"
