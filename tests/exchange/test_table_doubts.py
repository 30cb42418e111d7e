"""Rows of a table against the area of operations: flagged, counted, and never changed."""

import csv
import re

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from pyarrow import parquet

from plotter.exchange.tables import Counts, convert_table
from plotter.geodesy.position import Area, Position

AREA = Area(Position(48.8, 2.3), 30_000.0)
OUTSIDE = re.compile(r"outside the area of operations by ([\d ]+) (k?m): read it back")


def table_of(path, said):
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([["id", "said"], *enumerate(said)])
    return path


def rows_of(path):
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def beyond_m(lat_deg, lon_deg):
    """How far a place lies beyond the area, by GeographicLib's own Python."""
    line = Geodesic.WGS84.Inverse(AREA.centre.lat_deg, AREA.centre.lon_deg, lat_deg, lon_deg)
    return line["s12"] - AREA.radius_m


def test_rows_outside_are_told_how_far_and_rows_inside_nothing(tmp_path):
    rng = np.random.default_rng(8)
    lat = np.concatenate([rng.uniform(48.4, 49.2, 300), rng.uniform(-89, 89, 50)])
    lon = np.concatenate([rng.uniform(1.7, 2.9, 300), rng.uniform(-180, 180, 50)])
    said = [f"{a:.6f}, {o:.6f}" for a, o in zip(lat, lon, strict=True)]
    source, target = table_of(tmp_path / "in.csv", said), tmp_path / "out.csv"
    counts = convert_table(source, "said", target, area=AREA, chunk_rows=64)
    rows = rows_of(target)
    assert [(row["id"], row["said"]) for row in rows] == [(str(i), t) for i, t in enumerate(said)]
    outside = 0
    for row, text in zip(rows, said, strict=True):
        expected = beyond_m(*(float(part) for part in text.split(",")))
        found = OUTSIDE.fullmatch(row["doubt"])
        assert bool(found) == (expected > float(row["size_m"])), text
        assert bool(found) == bool(row["doubt"])
        if found:
            outside += 1
            step = 1000 if found[2] == "km" else 1
            told = float(re.sub(r"\D", "", found[1])) * step
            assert told == pytest.approx(expected, abs=0.51 * step)
    # Each pair rests on the assumption that the latitude came first.
    assert counts == Counts(350, 0, 0, 350, outside)
    assert 50 < outside < 350


def test_an_area_changes_no_other_column(tmp_path):
    """All of these state their whole place, so the area has nothing to complete."""
    source = table_of(tmp_path / "in.csv", ["31UDQ4825111932", "33.5°S 151.2°E", "up the hill"])
    convert_table(source, "said", tmp_path / "without.csv")
    counts = convert_table(source, "said", tmp_path / "with.csv", area=AREA)
    without, doubted = rows_of(tmp_path / "without.csv"), rows_of(tmp_path / "with.csv")
    assert list(doubted[0]) == [*without[0], "doubt"]
    doubts = [row.pop("doubt") for row in doubted]
    assert doubted == without
    # A text without a place has a problem, and no doubt besides.
    assert [bool(each) for each in doubts] == [False, True, False]
    assert (counts.unread, counts.outside) == (1, 1)


def test_a_square_that_may_reach_into_the_area_is_not_doubted(tmp_path):
    """Two squares of 1 km and of 1 m, whose centres lie less than 1 km beyond the edge."""
    source = table_of(tmp_path / "in.csv", ["31UDQ4898", "31UDQ4850098500", "31UDQ5065"])
    target = tmp_path / "out.csv"
    convert_table(source, "said", target, area=Area(Position(48.8582, 2.2945), 85_700.0))
    rows = rows_of(target)
    for row in rows[:2]:
        line = Geodesic.WGS84.Inverse(
            48.8582, 2.2945, float(row["lat_deg"]), float(row["lon_deg"])
        )  # fmt: skip
        assert 1 < line["s12"] - 85_700.0 < 1_000
    assert [bool(row["doubt"]) for row in rows] == [False, True, False]


def test_no_area_no_column_and_no_count(tmp_path):
    source, target = table_of(tmp_path / "in.csv", ["31UDQ4825111932"]), tmp_path / "out.csv"
    assert convert_table(source, "said", target).outside is None
    assert "doubt" not in rows_of(target)[0]
    assert convert_table(source, "said", target, area=AREA).outside == 0
    assert rows_of(target)[0]["doubt"] == ""


def test_a_column_that_is_called_doubt_already_is_kept(tmp_path):
    source, target = tmp_path / "in.csv", tmp_path / "out.parquet"
    source.write_text("doubt,said\nmine,31UDQ4825111932\nhers,10N 10E\n", encoding="utf-8")
    convert_table(source, "said", target, area=AREA)
    found = parquet.read_table(target).to_pydict()
    assert found["doubt"] == ["mine", "hers"]
    assert found["doubt_2"][0] == ""
    assert OUTSIDE.fullmatch(found["doubt_2"][1])
