"""`plotter readback` and spoken text in `plotter convert`, as a stranger uses them."""

import json

import pytest

from plotter.cli import main

REPORTS = """time_utc,sender,subject,report
2026-03-14T09:00Z,Desk,,area 40 km around 38.42S 22.35W
09:01,Desk,chapel,place 27H UT 80000 48000
09:02,Desk,far hut,place 27H UT 60000 30000
"""


@pytest.fixture
def run(capsys):
    def call(*arguments):
        with pytest.raises(SystemExit) as caught:
            main(list(arguments))
        out, err = capsys.readouterr()
        return caught.value.code, out, err

    return call


def test_json_contract(run):
    status, out, err = run("readback", "27H", "UT", "81370", "48420", "--json")
    assert (status, err) == (0, "")
    words = "too seven Hotel, Uniform Tango, ait wun tree seven zero, fower ait fower too zero"
    assert json.loads(out) == {
        "words": words,
        "check": "No named place to check it against. A square of 1 m.",
        "short": "27HUT8137048420",
    }


def test_places_and_the_area_come_from_a_report_file(run, tmp_path):
    path = tmp_path / "reports.csv"
    path.write_text(REPORTS, encoding="utf-8")
    status, out, err = run("readback", "UT 80000 49000", "--places", str(path))
    assert status == 0
    assert out.splitlines()[1].startswith("check  1 km north of chapel, the nearest named place")
    assert "Assumed zone 27H, from the area of operations: read it back." in err


def test_figures_of_the_radio_regulations(run):
    _, out, _ = run("readback", "27H UT 8 4", "--itu-figures")
    assert "Oktoeight, Kartefour" in out


def test_other_meanings_are_named(run):
    status, out, err = run("readback", "38 25 45 S 22 20 24 W")
    assert status == 0
    assert "short  38:25:45S 022:20:24W" in out
    assert err.count("Could also mean") == 2


def test_what_cannot_be_read_back_is_one_line(run):
    status, out, err = run("readback", "gibberish")
    assert (status, out) == (1, "")
    assert "cannot read 'gibberish'" in err


def test_convert_takes_spoken_text(run):
    status, out, err = run(
        "convert", "grid is two seven hotel uniform tango eight one, four eight, over", "--json"
    )
    (found,) = json.loads(out)["readings"]
    assert (status, err) == (0, "")
    assert found["as"]["mgrs"] == "27HUT8148"
    assert found["assumed"] == ["the words mean '27HUT81 48', leaving out 'grid is', 'over'"]


def test_convert_gives_degrees_without_marks_in_every_way(run):
    status, out, err = run("convert", "38 25 45 S 22 20 24 W")
    assert status == 0
    assert out.count("read as latitude longitude") == 3
    assert "3 meanings fit: ask" in err
