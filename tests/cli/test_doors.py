"""One reader behind every door: command, log, table, Python and engine say the same."""

import csv
import itertools
import json

import numpy as np
import pandas as pd
import pytest
from degree_texts import by_grammar, by_habit
from grid_texts import grid_texts

from plotter.cli import main
from plotter.errors import FormatError
from plotter.formats.result import asks_of
from plotter.geodesy.position import Area, Position
from plotter.voice.columns import converted
from plotter.voice.spoken import spoken_reading

AREA = Area(Position(47.25, 14.6), 40_000)
OPTION = "47.25,14.6,40"
OWN = [
    "47 15 N 14 38 E", "47.262N 14.601E", "47.262, 14.601", "14.601 47.262", "12 02 S 77 02 O",
    "-33.8568 N 151.2153 E", "S12.0464 77.0428W", "Lat/Lon: -12.0464, -77.0428",
    "injured man at 47.262N 14.601E, needs stretcher", "we are at -12 02.784 -77 02.568 over",
    "four seven decimal two six two north one four decimal six zero one east",
    "33T VN 69 34", "VN 69 34", "46 93 34 21", "33T 469800 5234300", "JN77hg", "25.759 20.405",
    "48.5-2.3", "68 E 62", "nonsense", "up the hill", "47.26N fish 14.6E", "48 30", "OK",
    "47.262N 14.601E correction 47.263N 14.601E", "47.2N 14.6E was wrong", "2 km north of 47N 14E",
]  # fmt: skip
TEXTS = [
    *OWN,
    *(each.text for each in by_grammar(21, 25)),
    *(each.text for each in by_habit(22, 25)),
    *(each.text for each in grid_texts(23, 25)),
]


def key(lat, lon, size):
    return round(lat, 9), round(lon, 9), round(size, 4)


def by_the_function(text, area):
    try:
        found = spoken_reading(text, area)
    except FormatError as error:
        return None, str(error)
    squares = [each.square for each in found]
    places = [key(s.centre.lat_deg, s.centre.lon_deg, s.size_m) for s in squares]
    return dict(zip(places, [each.assumed for each in found], strict=True)), "; ".join(
        asks_of(found)
    )


@pytest.fixture
def run(capsys):
    def call(*arguments):
        with pytest.raises(SystemExit) as caught:
            main([str(each) for each in arguments])
        out, err = capsys.readouterr()
        return caught.value.code, out, err

    return call


@pytest.mark.parametrize("area", [None, AREA], ids=["no area", "area"])
def test_the_table_and_the_engine_say_what_the_function_says(area, tmp_path, run):
    columns = converted(TEXTS, ("latlon",), area)
    rows = pd.DataFrame({"said": TEXTS})
    framed = rows.assign(**converted(rows["said"], ("latlon",), area))
    path, output = tmp_path / "in.csv", tmp_path / "out.csv"
    rows.to_csv(path, index=False)
    option = ["--area", OPTION] if area else []
    run("convert", "--file", path, "--column", "said", "-o", output, *option)
    with output.open(encoding="utf-8", newline="") as file:
        written = list(csv.DictReader(file))
    for i, text in enumerate(TEXTS):
        expected, error = by_the_function(text, area)
        row = {name: values[i] for name, values in columns.items()}
        assert row["problem"] == framed["problem"][i] == written[i]["problem"]
        if expected is None:
            assert row["problem"] == " ".join(error.split()), text
        elif error:
            assert row["problem"].startswith(error), text
            assert np.isnan(row["lat_deg"]), text
        elif len(expected) > 1:
            assert row["problem"].startswith(f"{len(expected)} meanings fit"), text
        else:
            ((place, assumed),) = expected.items()
            # The two routes of a grid differ by less than a micrometre.
            assert np.allclose([row["lat_deg"], row["lon_deg"]], place[:2], atol=2e-9), text
            assert row["assumed"] == "; ".join(assumed) == written[i]["assumed"], text


@pytest.mark.parametrize("area", [None, AREA], ids=["no area", "area"])
@pytest.mark.parametrize("text", TEXTS)
def test_the_command_says_what_the_function_says(text, area, run):
    expected, error = by_the_function(text, area)
    option = ["--area", OPTION] if area else []
    status, out, err = run("convert", "--json", *option, "--", text)
    if expected is None:
        if area is None:
            assert (status, out) == (1, ""), text
            assert error.splitlines()[0][:40] in err
        else:
            assert not out or json.loads(out)["readings"] == []
        return
    said = {
        key(each["lat_deg"], each["lon_deg"], each["size_m"]): tuple(each["assumed"])
        for each in json.loads(out)["readings"]
    }
    assert said == expected
    assert status == 3 or not error, text
    asked = [ask for each in json.loads(out)["readings"] for ask in each["ask"]]
    assert "; ".join(dict.fromkeys(asked)) == error, text


def test_the_log_says_what_the_function_says(tmp_path, run):
    log = tmp_path / "doors.log"
    run("log", "new", log, "--desk", "Base")
    run("log", "add", log, "--from", "Desk", "area 40 km around 47.25N 14.6E")
    for number, text in zip(itertools.count(2), TEXTS, strict=False):
        status, out, _ = run("log", "add", log, "--json", "--from", f"Team {number}", "--", text)
        entry = json.loads(out)
        entry = entry[0] if isinstance(entry, list) else entry
        expected, error = by_the_function(text, AREA)
        reading = entry.get("reading") or {}
        if expected is None:
            # Words that make no position may make another kind of report.
            assert not reading or reading["format"] == "offset", text
            continue
        assert status == 0, text
        places = [place[:2] for place in expected]
        assert any(
            np.allclose([reading["lat_deg"], reading["lon_deg"]], place, atol=2e-9)
            for place in places
        ), (text, reading, expected)
        assert not error or any(error[:40] in ask for ask in entry["ask"]), text
        if len(expected) > 1:
            assert entry["meanings"] == len(expected)
            assert any("meanings" in each for each in entry["ask"]), (text, entry)
