"""The README's worked example, run as it stands, and its two commands."""

import json
import re

import pytest

from plotter.cli import main
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Position


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
    best = Position(fix["best"]["lat_deg"], fix["best"]["lon_deg"])
    # The demo's true place: the example's bearings are the demo's, to the degree.
    assert geodesic(best, Position(-38.3745, -22.4180)).distance_m < 2_000
    assert [b["sender"] for b in fix["bearings"]] == ["Ridge team", "Harbour team", "Clinic"]
    assert (tmp_path / "board.html").stat().st_size > 100_000


def test_the_commands_section_parses(readme):
    section = readme.split("## Commands")[1].split("\n## ")[0]
    commands = [line.strip() for line in section.splitlines() if line.startswith("    plotter ")]
    assert len(commands) == 12
    for command in commands:
        with pytest.raises(SystemExit) as caught:
            main([command.split()[1], "--help"])
        assert caught.value.code == 0


def test_two_commands_and_the_cautions_are_there(readme):
    assert "pip install -q . && .venv/bin/plotter demo" in readme
    (test_command,) = block(readme, "test command")
    assert test_command.endswith("-m pytest")
    for words in ("Not for navigation", "read back before", "authority in charge", "licence"):
        assert words in readme


def test_the_picture_is_there(readme, repository):
    for path in re.findall(r"!\[[^\]]*\]\(([^)]+)\)", readme):
        assert (repository / path).stat().st_size > 10_000
