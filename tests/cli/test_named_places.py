"""Names in `between`, `convert`, `next --from` and `sheet --at`: one set of rules."""

import json

import pytest

from plotter.cli import main

REPORTS = """time_utc,sender,subject,report
2026-03-14T09:00Z,Desk,,area 40 km around 47.0N 8.0E
09:01,Desk,chapel,place 47.0100N 8.0200E
09:02,Ridge team,,47.0000N 8.0000E
09:30,Ridge team,,57.0000N 8.0000E
09:31,Desk,far hut,place 47.1N 8.2E
09:32,Base,,47.05N 8.05E
09:33,Ridge team,signal,bearing 45 true
09:34,Base,signal,bearing 180 true
"""


@pytest.fixture
def run(capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "reports.csv").write_text(REPORTS, encoding="utf-8")

    def call(*arguments):
        with pytest.raises(SystemExit) as caught:
            main(list(arguments))
        out, err = capsys.readouterr()
        return caught.value.code, out, err

    return call


AS_OF = "last position of Ridge team at 09:02 UTC."
ASKED = "Ask Ridge team whether it still is where it was at 09:02 UTC."


@pytest.mark.parametrize(
    "arguments",
    [
        ("convert", "Ridge", "team", "--places", "reports.csv"),
        ("between", "Ridge team", "chapel", "--places", "reports.csv"),
        ("next", "reports.csv", "--from", "Ridge team", "--minutes", "30", "--speed-kmh", "6"),
        ("sheet", "reports.csv", "--at", "Ridge team", "-o", "x.pdf", "--scale", "10000"),
    ],
)
def test_every_command_takes_the_sound_place_and_says_so(run, arguments):
    """2026-11: `sheet --at` took the one 1 100 km off, without a word."""
    status, out, err = run(*arguments)
    assert status == 0
    assert AS_OF.removesuffix(".") in out + err
    assert ASKED in err


def test_between_names(run):
    _, out, _ = run("between", "Ridge team", "chapel", "--places", "reports.csv", "--json")
    data = json.loads(out)
    # 1 111.9 m of latitude and 1 520.6 m of longitude, by the length of a degree at 47° N.
    assert data["distance_m"] == pytest.approx(1884, abs=3)
    assert data["distance_least_m"] < data["distance_m"] < data["distance_most_m"]
    assert data["ways"][0]["named"]["B"] == "chapel, as of 09:01 UTC"


def test_between_says_how_sure_its_figures_are(run):
    status, out, _ = run("between", "47.0000N 8.0000E", "47.01N 8.00E", "--date", "2026-03-14")
    assert status == 0
    lines = out.splitlines()
    assert lines[0].startswith("distance       0.5 to 1.8 km; 1.11 km (1111.")
    status, out, _ = run("between", "47.0000N 8.0000E", "47.00N 8.00E", "--date", "2026-03-14")
    assert out.splitlines()[0].startswith("distance       0 to 6")
    assert out.splitlines()[1] == "direction      any"


def test_between_shows_every_meaning_and_no_single_figure_for_them(run):
    status, out, err = run("between", "18S 323483 4306479", "38N 77W")
    assert status == 0
    assert "A1 to B" in out
    assert "A2 to B" in out
    assert "A has 2 meanings: ask which one is meant." in err
    _, out, _ = run("between", "18S 323483 4306479", "38N 77W", "--json")
    data = json.loads(out)
    assert data["distance_m"] is None
    assert [way["from"] for way in data["ways"]] == ["A1", "A2"]


def test_convert_knows_names(run):
    status, out, _ = run("convert", "the chapel", "--places", "reports.csv", "--json")
    data = json.loads(out)
    assert status == 0
    assert data["readings"][0]["lat_deg"] == pytest.approx(47.01)
    assert (data["named"], data["doubtful"]) == ("chapel, as of 09:01 UTC", False)
    status, _, err = run("convert", "--file", "x.csv", "--places", "reports.csv")
    assert status == 2
    assert "--places belongs to one TEXT" in err


def test_a_name_that_is_not_known_is_an_error_with_those_like_it(run):
    status, _, err = run("between", "Rigde team", "chapel", "--places", "reports.csv")
    assert status == 1
    assert "is it 'Ridge team'?" in err
