"""What goes out and comes back in is the same report; GDAL opens what goes out."""

import datetime as dt
import io
import json
import os
import zipfile
from pathlib import Path

import gpxpy
import pyogrio
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from log_examples import Ids
from published_schemas import faults, gpx_schema, kml_schema

from plotter.exchange.features import features_of
from plotter.exchange.geopackage import read_geopackage
from plotter.exchange.incoming import entries_of_any
from plotter.exchange.messages import joined, read_message, write_messages
from plotter.exchange.outgoing import as_bytes, write_file
from plotter.log.events import Entry, Tip, chained, state_at
from plotter.log.incident import picture_of_state, understand
from plotter.reports.evidence import fixes

NOW = dt.datetime(2026, 3, 14, 12, 0, tzinfo=dt.UTC)
PLACES = ["47.02N 8.05E", "32T MT 12345 67890", "JN47AB", "46 57.5N 7 30.1E", "-38.4, 179.99"]
DEMO = Path(__file__).parents[2] / "demo_scenario" / "reports.csv"

names = st.text(st.characters(exclude_categories=("Cs", "Cc", "Cn", "Co")), max_size=12).map(
    lambda text: " ".join(text.split())
)
times = st.datetimes(dt.datetime(2026, 3, 1), dt.datetime(2026, 3, 20)).map(  # noqa: DTZ001 - UTC next
    lambda time: time.replace(microsecond=0, tzinfo=dt.UTC)
)
reports = st.one_of(
    st.sampled_from(PLACES),
    st.builds("place {}".format, st.sampled_from(PLACES)),
    st.builds(
        "bearing {} magnetic ± 5 from {}".format, st.integers(0, 359), st.sampled_from(PLACES)
    ),
    st.builds("note {}".format, names).map(str.strip),
    names.filter(bool),
)
entries = st.lists(
    st.builds(
        lambda text, sender, subject, time, channel: Entry(
            "report", text, sender=sender or "Team", subject=subject or "thing", said_utc=time,
            channel=channel,
        ),
        reports, names, names, times, names,
    ),
    min_size=1,
    max_size=6,
)  # fmt: skip


def logged(given_entries):
    """A log of these, in the order of their times."""
    state = state_at([])
    ordered = sorted(given_entries, key=lambda entry: entry.said_utc)
    found = [each.entry for each in understand(state, ordered, NOW)]
    events = chained(found, Tip(), desk="Base", entered_utc=NOW, random_part=Ids())
    return state_at(events)


def told(entry):
    return (entry.said_utc, entry.sender, entry.subject, entry.channel, entry.text)


@pytest.mark.parametrize("kind", ["geojson", "gpx", "kml", "gpkg"])
@settings(deadline=None, max_examples=25)
@given(given_entries=entries)
def test_everything_comes_back(kind, given_entries, tmp_path_factory):
    state = logged(given_entries)
    path = tmp_path_factory.mktemp("out") / f"log.{kind}"
    write_file(state, path, kind, title="Storm & <co>", written_utc=NOW)
    back, _ = entries_of_any(path)
    assert [told(entry) for entry in back] == [told(line.first) for line in state.lines]
    assert [entry.kind for entry in back] == [line.first.kind for line in state.lines]
    # And once more: a second way round changes nothing.
    again = logged(back)
    assert [told(line.first) for line in again.lines] == [told(line.first) for line in state.lines]


@settings(deadline=None, max_examples=25)
@given(given_entries=entries)
def test_a_report_file_carries_time_sender_subject_and_report(given_entries, tmp_path_factory):
    state = logged(given_entries)
    path = tmp_path_factory.mktemp("out") / "log.csv"
    write_file(state, path, "csv", title="Storm", written_utc=NOW)
    back, _ = entries_of_any(path)
    expected = [told(line.first) for line in state.lines]
    assert [(e.said_utc, e.sender, e.subject, e.text) for e in back] == [
        (time, sender, subject, text) for time, sender, subject, _, text in expected
    ]


@settings(deadline=None, max_examples=50)
@given(given_entries=entries)
def test_messages_are_short_and_are_put_together_again(given_entries):
    """Times to the minute; a message has one line, so blanks are single."""
    state = logged(given_entries)
    features = features_of(state)
    messages = write_messages(features)
    for each in messages:
        assert len(each) <= (160 if each.isascii() else 70)
    whole = joined(enumerate(messages, start=1))
    assert len(whole) == len(features)
    for (_, line), feature in zip(whole, features, strict=True):
        found = read_message(line, NOW)
        assert found is not None, line
        time, sender, subject, words = found
        assert time == feature.said_utc.replace(second=0)
        if not set(feature.sender + feature.subject) & set(":>()/"):
            assert (sender, subject) == (feature.sender, feature.subject)
        assert words.split() == feature.report.split()


def test_a_missing_part_is_said():
    messages = write_messages(features_of(logged([
        Entry("report", "note " + "a long story " * 30, sender="Ridge", said_utc=NOW)
    ])))  # fmt: skip
    assert len(messages) > 2
    [(_, line)] = joined(enumerate([messages[0], *messages[2:]], start=1))
    assert f"parts 1, {', '.join(str(k) for k in range(3, len(messages) + 1))}" in line


@pytest.fixture(scope="module")
def demo():
    """The demo's reports with their fixes."""
    found, _ = entries_of_any(DEMO)
    state = logged([entry for entry in found if entry.said_utc])
    return state, fixes(picture_of_state(state))[0]


@pytest.mark.filterwarnings("ignore:.*parsed incompletely:RuntimeWarning")
def test_gdal_opens_each_with_its_places(demo, tmp_path):
    state, fixed = demo
    features = features_of(state, fixed)
    points = sum(feature.shape == "point" for feature in features)
    lines = sum(feature.shape == "line" for feature in features)
    areas = sum(feature.shape == "area" for feature in features)
    assert min(points, lines, areas) >= 4
    for kind in ("geojson", "kml", "gpkg", "gpx"):
        path = tmp_path / f"demo.{kind}"
        write_file(state, path, kind, fixed, title="Demo", written_utc=NOW)
        layers = {
            str(name): pyogrio.read_dataframe(path, layer=name)
            for name, _ in pyogrio.list_layers(path)
        }
        if kind == "gpx":
            counts = [len(layers[name]) for name in ("waypoints", "routes", "tracks")]
        else:
            [frame] = layers.values()
            assert len(frame) == len(features)
            kinds = frame.geometry[~frame.geometry.isna()].geom_type.str.removeprefix("Multi")
            counts = [int((kinds == each).sum()) for each in ("Point", "LineString", "Polygon")]
        assert counts == [points, lines, areas]
        back, _ = entries_of_any(path)
        assert len(back) == len(state.lines), "fixes are computed anew, not read back"
    assert len(read_geopackage(tmp_path / "demo.gpkg")) == len(state.lines)


def test_another_reader_of_gpx_has_the_same_waypoints(demo):
    state, fixed = demo
    features = features_of(state, fixed)
    theirs = gpxpy.parse(as_bytes(state, "gpx", fixed, title="Demo", written_utc=NOW).decode())
    ours = [feature for feature in features if feature.shape == "point"]
    assert len(theirs.waypoints) == len(ours)
    for point, feature in zip(theirs.waypoints, ours, strict=True):
        place = feature.places[0][0]
        assert (point.latitude, point.longitude) == pytest.approx((place.lat_deg, place.lon_deg))
        assert point.description == feature.report
        assert point.time == feature.said_utc
    assert len(theirs.routes) == sum(feature.shape == "line" for feature in features)


@pytest.mark.parametrize(("kind", "schema"), [("gpx", gpx_schema), ("kml", kml_schema)])
@settings(deadline=None, max_examples=40)
@given(given_entries=entries)
def test_it_is_valid_by_the_published_schema(kind, schema, given_entries):
    data = as_bytes(logged(given_entries), kind, title="Storm & <co>", written_utc=NOW)
    assert faults(schema(), data) == []


@pytest.mark.parametrize(("kind", "schema"), [("gpx", gpx_schema), ("kml", kml_schema)])
def test_fixes_and_180_degrees_are_valid_by_the_published_schema(demo, kind, schema):
    state, fixed = demo
    edge = logged([Entry("report", "-17.0, 179.999999999", sender="A", said_utc=NOW)])
    for each, of_it in ((state, fixed), (edge, ())):
        data = as_bytes(each, kind, of_it, title="x", written_utc=NOW)
        assert faults(schema(), data) == []
    assert faults(schema(), data.replace(b"2026-", b"26-")), "a fault is found"


def test_geojson_keeps_to_its_standard_across_180_degrees():
    """RFC 7946: longitude first, within ±180, cut at the antimeridian (3.1.9)."""
    import json

    state = logged([
        Entry("report", "bearing 90 true ± 2 from 17.0S 179.9E", sender="A", subject="boat",
              said_utc=NOW)
    ])  # fmt: skip
    [feature] = json.loads(as_bytes(state, "geojson", title="", written_utc=NOW))["features"]
    assert feature["geometry"]["type"] == "MultiLineString"
    west, east = sorted(feature["geometry"]["coordinates"], key=lambda part: part[0][0])
    assert west[0][0] == -180.0 or west[-1][0] == -180.0
    assert max(lon for lon, _ in east) == 180.0


def test_kmz_is_kml_in_a_zip(demo, tmp_path):
    state, _ = demo
    kml = as_bytes(state, "kml", title="Demo", written_utc=NOW)
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("files/other.kml", "<kml/>")
        archive.writestr("doc.kml", kml)
    (tmp_path / "demo.kmz").write_bytes(data.getvalue())
    back, _ = entries_of_any(tmp_path / "demo.kmz")
    assert len(back) == len(state.lines)
    assert os.listdir(tmp_path) == ["demo.kmz"]  # noqa: PTH208 - nothing else was written


@pytest.mark.parametrize("lon", ["0.00001", "-0.00000015", "179.9999999"])
def test_no_number_of_a_place_is_written_with_an_exponent(lon):
    import json

    state = logged([Entry("report", f"47.0, {lon}", sender="A", said_utc=NOW)])
    text = as_bytes(state, "geojson", title="", written_utc=NOW).decode()
    assert "e-" not in text.partition('"coordinates"')[2]
    [feature] = json.loads(text)["features"]
    assert feature["geometry"]["coordinates"] == [pytest.approx(float(lon), abs=1e-8), 47.0]


def test_what_is_to_be_asked_goes_out_with_the_place():
    """A point whose place or whose owner is in doubt must not look like any other on a handheld."""
    state = logged(
        [
            Entry("report", text, sender="Ridge", said_utc=NOW + dt.timedelta(minutes=minute))
            for minute, text in enumerate(["we are at 47.262N 14.601E", "you are at 47.36N 14.7E"])
        ]
    )
    features = json.loads(as_bytes(state, "geojson", title="", written_utc=NOW))["features"]
    sound, asked = (each["properties"]["ask"] for each in features)
    assert not sound
    assert "Whose place" in asked
    gpx = gpxpy.parse(as_bytes(state, "gpx", title="", written_utc=NOW).decode())
    assert [point.name.startswith("? ") for point in gpx.waypoints] == [False, True]
