"""Nothing in another program's file is left behind without a word, and nothing stops an import."""

import datetime as dt
import json
import re

import geopandas
import pandas as pd
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from plotter.errors import LogError
from plotter.exchange.incoming import imported
from plotter.geodesy.position import Area, Position
from plotter.log.events import state_at
from plotter.log.incident import understand

NOW = dt.datetime(2026, 3, 14, 12, 0, tzinfo=dt.UTC)
KML = """<kml xmlns="http://www.opengis.net/kml/2.2" xmlns:gx="http://www.google.com/kml/ext/2.2"
 xmlns:atom="http://www.w3.org/2005/Atom"><Document><name>plan</name>
<description>for the night</description><Style id="s"/>
<Folder><name>huts</name><Placemark><atom:author><atom:name>Desk two</atom:name></atom:author>
<description>roof gone</description>
<TimeSpan><begin>2026-03-14T09:00Z</begin><end>2026-03-14T10:00Z</end></TimeSpan>
<ExtendedData><Data name="people"><value>4</value></Data>
<SchemaData><SimpleData name="water">no</SimpleData></SchemaData></ExtendedData>
<MultiGeometry><Point><coordinates>8.05,47.02,0</coordinates></Point>
<LineString><coordinates>8,47 8.1,47.1</coordinates></LineString></MultiGeometry></Placemark>
</Folder>
<Placemark><name>Team 2</name><gx:Track><when>2026-03-14T09:00:00Z</when>
<when>2026-03-14T09:01:00Z</when><gx:coord>8.01 47.01 500</gx:coord>
<gx:coord>8.02 47.02 501</gx:coord></gx:Track></Placemark>
<Placemark><name>ground</name><Polygon><outerBoundaryIs><LinearRing>
<coordinates>8,47 8.1,47 8.1,47.1 8,47</coordinates></LinearRing></outerBoundaryIs>
<innerBoundaryIs><LinearRing><coordinates>
8.02,47.02 8.03,47.02 8.03,47.03 8.02,47.02</coordinates></LinearRing></innerBoundaryIs></Polygon>
</Placemark>
<NetworkLink><name>more</name></NetworkLink><GroundOverlay/></Document></kml>"""


def test_kml_is_taken_with_all_that_it_says(tmp_path):
    path = tmp_path / "plan.kml"
    path.write_text(KML)
    found = imported(path)
    told = [(e.kind, e.sender, e.subject, e.text) for e in found.entries]
    words = "roof gone; begin 2026-03-14T09:00Z; end 2026-03-14T10:00Z; people 4; water no; in huts"
    line = "LINESTRING (8.00 47.00, 8.10 47.10)"
    area = "(8.00 47.00, 8.10 47.00, 8.10 47.10, 8.00 47.00)"
    hole = "(8.02 47.02, 8.03 47.02, 8.03 47.03, 8.02 47.02)"
    on = "longitude first, on WGS 84"
    assert told == [
        ("place", "Desk two", "point 1 of plan.kml", f"place +47.02+008.05CRSWGS_84/ {words}"),
        ("note", "Desk two", "", f"note line: {words}; {line}, {on}"),
        ("report", "plan.kml", "Team 2", "+47.01+008.01CRSWGS_84/ altitude 500 m clampToGround"),
        ("report", "plan.kml", "Team 2", "+47.02+008.02CRSWGS_84/ altitude 501 m clampToGround"),
        ("note", "plan.kml", "ground", f"note area: ground; POLYGON ({area}, {hole}), {on}"),
        ("note", "plan.kml", "plan", "note plan: for the night"),
    ]
    assert [e.said_utc and f"{e.said_utc:%H:%M}" for e in found.entries[2:4]] == ["09:00", "09:01"]
    assert dict(found.tally.left) == {
        "styles": 1, "links to other files": 1, "pictures over the ground": 1,
    }  # fmt: skip
    assert found.tally.taken["time spans, as words"] == 1
    assert found.tally.taken["lines, as notes with their geometry"] == 1
    assert found.tally.taken["areas, as notes with their geometry"] == 1


def test_gpx_is_taken_with_all_that_it_says(tmp_path):
    path = tmp_path / "day.gpx"
    path.write_text(
        '<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1" xmlns:x="urn:x"><metadata>'
        "<name>day one</name><author><name>Anna</name></author></metadata>"
        '<wpt lat="47.02" lon="8.05"><ele>535.2</ele><cmt>stone</cmt><sym>Flag</sym>'
        "<extensions><x:depth>3</x:depth></extensions></wpt>"
        '<rte><name>way in</name><rtept lat="47.0" lon="8.0"><name>gate</name></rtept>'
        '<rtept lat="47.1" lon="8.1"/></rte>'
        '<trk><name>path</name><desc>old</desc><trkseg><trkpt lat="47.0" lon="8.0"/>'
        '<trkpt lat="47.1" lon="8.1"/></trkseg></trk></gpx>'
    )
    found = imported(path, sender="Desk")
    told = [(e.kind, e.sender, e.subject, e.text) for e in found.entries]
    line = "LINESTRING (8.00 47.00, 8.10 47.10), longitude first, on WGS 84"
    assert told == [
        ("place", "Anna", "point 1 of day.gpx",
         "place +47.02+008.05CRSWGS_84/ ele 535.2; stone; sym Flag; depth 3"),
        ("note", "Anna", "way in", f"note line: way in; {line}"),
        ("place", "Anna", "gate", "place +47.00+008.00CRSWGS_84/ route way in"),
        ("note", "Anna", "path", f"note line: path; old; {line}"),
        ("note", "Anna", "day.gpx", "note day.gpx: name day one"),
    ]  # fmt: skip


def test_an_own_drawing_comes_back_as_well_as_it_was_drawn(tmp_path):
    """As the board takes it away: GeoJSON, and GPX, whose words say the same."""
    drawing = {
        "type": "FeatureCollection",
        "features": [
            {"type": "Feature", "properties": {"name": "D1", "kind": "point", "drawn_to_m": 12},
             "geometry": {"type": "Point", "coordinates": [8.0512345, 47.0212345]}},
        ],
    }  # fmt: skip
    (tmp_path / "drawn.geojson").write_text(json.dumps(drawing))
    (tmp_path / "drawn.gpx").write_text(
        '<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><wpt lat="47.0212345" '
        'lon="8.0512345"><name>D1</name><desc>Drawn to about 12 m</desc></wpt></gpx>'
    )
    for name in ("drawn.geojson", "drawn.gpx"):
        [found] = understand(state_at([]), imported(tmp_path / name).entries, NOW)
        assert found.entry.subject == "D1"
        assert found.reading.square.size_m == pytest.approx(12.0, rel=1e-3)


def test_an_area_is_ground_only_where_the_file_says_so(tmp_path):
    def area(**properties):
        ring = [[8, 47], [8.1, 47], [8.1, 47.1], [8, 47]]
        return {"type": "Feature", "properties": properties,
                "geometry": {"type": "Polygon", "coordinates": [ring]}}  # fmt: skip

    path = tmp_path / "areas.geojson"
    features = [area(status="searched 70 %"), area(name="Ruled out"), area(name="likely 3 times"),
                area(name="searched"), area(name="sector A2")]  # fmt: skip
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    # An area of operations on the other side of the earth turns none of its corners.
    south = Area(Position(-47.0, -8.0), 100_000.0)
    found = understand(state_at([]), imported(path).entries, NOW, area=south)
    assert [each.entry.kind for each in found] == ["searched"] * 3 + ["note"] * 2
    assert not any(each.problem for each in found)
    corners = "+47.0+008.0CRSWGS_84/; +47.0+008.1CRSWGS_84/; +47.1+008.1CRSWGS_84/"
    assert [each.entry.text for each in found[:3]] == [
        f"searched inside {corners} 70 %", f"ruled out inside {corners}",
        f"likely inside {corners} 3 times",
    ]  # fmt: skip


@pytest.mark.filterwarnings("ignore:'crs' was not provided:UserWarning")
def test_a_foreign_geopackage_with_many_layers(tmp_path):
    path = tmp_path / "theirs.gpkg"
    when = pd.to_datetime(["2026-03-14 09:00", None])
    frame = geopandas.GeoDataFrame(
        {"name": ["hut", None], "beds": [4, 7], "time": when},
        geometry=[shapely.Point(8.05, 47.02, 3.5), None],
        crs=4326,
    )
    frame.to_file(path, layer="huts", driver="GPKG")
    line = shapely.LineString([(8, 47), (8.1, 47.1)])
    geopandas.GeoDataFrame({"reports": ["x"]}, geometry=[line], crs=None).to_file(
        path, layer="reports", driver="GPKG"
    )
    found = imported(path)
    told = [(e.kind, e.subject, e.text, bool(e.problem)) for e in found.entries]
    assert told[0] == (
        "report", "hut",
        "+47.02+008.05CRSWGS_84/ beds 4; height as it stands there 3.5; layer huts", False,
    )  # fmt: skip
    assert found.entries[0].assumed == ("that the time is UTC, as no zone was stated",)
    assert told[1] == ("note", "", "note beds 7; layer huts", False)
    assert told[2][0] == "report"
    assert told[2][3], "a layer that does not say its system is kept with the reason"
    assert '[["8.0", "47.0"]' in told[2][2]
    (tmp_path / "torn.gpkg").write_bytes(path.read_bytes()[:3_000])
    with pytest.raises(LogError, match="cannot be read as a GeoPackage"):
        imported(tmp_path / "torn.gpkg")


@pytest.mark.parametrize(
    ("crs", "why"),
    [
        ({"type": "name", "properties": {"name": "local grid"}}, "cannot be looked up here"),
        ({"type": "name", "properties": {"name": "EPSG:99999"}}, "not a known reference system"),
        ({"type": "link", "properties": {"href": "http://192.0.2.1/"}}, "names no system"),
        ("EPSG:4326", "names no system"),
        ({"type": "name", "properties": {"name": "EPSG:5773"}}, "cannot be brought"),
    ],
)
def test_a_system_that_is_not_known_is_no_place(crs, why, tmp_path):
    path = tmp_path / "theirs.geojson"
    point = {"type": "Point", "coordinates": [5, 4], "crs": crs}
    path.write_text(json.dumps(point))
    [entry] = imported(path).entries
    assert why in entry.problem
    assert '["5", "4"]' in entry.text


def test_a_null_system_is_said(tmp_path):
    path = tmp_path / "theirs.geojson"
    path.write_text('{"type": "Point", "coordinates": [5.5, 4.5], "crs": null}')
    [entry] = imported(path).entries
    assert entry.assumed == ('that the places are on WGS 84: the file says "crs": null',)


BAD_TIMES = ["0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00", "2026-02-30T10:00Z",
             "0001-01-01T00:00:00Z", "noon", "2026-03-14"]  # fmt: skip


@pytest.mark.parametrize("time", BAD_TIMES)
def test_a_time_that_cannot_be_keeps_one_thing_unread_and_no_more(time, tmp_path):
    good = {"type": "Feature", "properties": {"name": "a", "time": "2026-03-14T09:00Z"},
            "geometry": {"type": "Point", "coordinates": [8.05, 47.02]}}  # fmt: skip
    bad = {**good, "properties": {"name": "b", "time": time}}
    (tmp_path / "t.geojson").write_text(
        json.dumps({"type": "FeatureCollection", "features": [good, bad, good]})
    )
    (tmp_path / "t.gpx").write_text(
        '<gpx version="1.1">'
        + "".join(
            f'<wpt lat="47.02" lon="8.05"><time>{each}</time><name>a</name></wpt>'
            for each in ("2026-03-14T09:00Z", time, "2026-03-14T09:00Z")
        )
        + "</gpx>"
    )
    lines = [{"sender": "A", "text": "47.02N 8.05E", "said_utc": t}
             for t in ("2026-03-14T09:00Z", time, "2026-03-14T09:00Z")]  # fmt: skip
    (tmp_path / "t.json").write_text("\n".join(map(json.dumps, lines)))
    stamps = ["2026-03-14T09:00Z", time, "2026-03-14T09:00Z"]
    packet = "XX0AC>APZ001:!4701.20N/00803.00E-"
    (tmp_path / "t.txt").write_text("\n".join(f"{stamp} {packet}" for stamp in stamps))
    for kind in ("geojson", "gpx", "json", "txt"):
        entries = imported(tmp_path / f"t.{kind}", near_utc=NOW).entries
        assert [e.said_utc is not None for e in entries] == [True, False, True], kind
        if re.match(r"\d{4}-\d\d-\d\dT\d\d:\d\d", time) or kind != "txt":
            assert [bool(e.problem) for e in entries] == [False, True, False], kind
            assert time in entries[1].problem
        # What comes of it can be written down and read again.
        understand(state_at([]), entries, NOW)


def test_a_field_longer_than_any_report_is_cut_and_said(tmp_path):
    path = tmp_path / "long.csv"
    head = "time_utc,sender,subject,report\n2026-03-14T09:00Z,A,,47.02N 8.05E\n"
    path.write_text(f"{head}09:01,A,,{'x' * 200_000}\n09:02,A,,47.03N 8.05E\n")
    entries = imported(path).entries
    assert [bool(e.problem) for e in entries] == [False, True, False]
    assert "200009 characters" in entries[1].problem
    assert 1_000 < len(entries[1].text) < 10_000


def test_columns_that_are_not_known_are_said(tmp_path):
    path = tmp_path / "more.csv"
    path.write_text(
        "time_utc,weather,sender,subject,report\n2026-03-14T09:00Z,rain,A,,47.02N 8.05E\n"
        "09:01,,A,,47.02N 8.05E\n"
    )
    assert dict(imported(path).tally.left) == {"values in the column 'weather'": 1}


@settings(deadline=None, max_examples=150)
@given(
    st.recursive(
        st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=8)),
        lambda inner: st.one_of(
            st.lists(inner, max_size=3),
            st.dictionaries(
                st.sampled_from(["type", "geometry", "properties", "coordinates", "crs", "name",
                                 "time", "drawn_to_m", "geometries", "id"]),
                inner, max_size=4,
            ),
        ),
        max_leaves=12,
    ),
    st.sampled_from(["Point", "MultiPoint", "LineString", "Polygon", "MultiPolygon",
                     "GeometryCollection"]),
)  # fmt: skip
def test_no_geojson_breaks_the_reader(tmp_path_factory, value, kind):
    path = tmp_path_factory.mktemp("odd") / "odd.geojson"
    members = value if isinstance(value, dict) else {"coordinates": value}
    feature = {"type": "Feature", "properties": value, "geometry": {**members, "type": kind}}
    path.write_text(json.dumps({"type": "FeatureCollection", "features": [feature, value]}))
    for each in understand(state_at([]), imported(path).entries, NOW):
        assert each.entry.text
