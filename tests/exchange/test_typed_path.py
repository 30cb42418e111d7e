"""Places that other programs write are read back as written, under any area whatever.

The writers are by other hands: gpxpy, fastkml, json by RFC 7946, GDAL through geopandas. Each
writes as it likes; what is compared is the place that the log plots, to 1e-7 degrees.
"""

import datetime as dt
import json

import fastkml
import geopandas
import gpxpy.gpx
import pygeoif
import pyproj
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from plotter.exchange.incoming import imported
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Area, Position
from plotter.log.events import state_at
from plotter.log.incident import understand

NOW = dt.datetime(2026, 3, 14, 12, 0, tzinfo=dt.UTC)
EDGES = [1e-7, -1e-7, 1.5e-05, -1.5e-05, 0.1, -0.1, 45.0, 89.9999, -89.9999, -4.0]
lats = st.one_of(st.sampled_from(EDGES), st.floats(-90, 90)).map(lambda x: round(x, 7))
lons = st.one_of(
    st.sampled_from([*EDGES, 179.9999999, -180.0, 100.0]), st.floats(-180, 179.9999999)
).map(lambda x: round(x, 7))
places = st.lists(st.tuples(lats, lons), min_size=1, max_size=4)
# Near the places turned round as a reader may turn them: signs lost, axes swapped.
areas = st.builds(
    lambda lat, lon, m: Area(Position(lat, lon), m),
    st.one_of(st.sampled_from([*EDGES, 51.5]), st.floats(-90, 90)),
    st.one_of(st.sampled_from([*EDGES, -0.3]), st.floats(-180, 180)),
    st.sampled_from([20_000.0, 2_000_000.0, 2e7]),
)
titles = st.sampled_from(["", "hut", "48 30 N 2 17 E", "Team 2", "-1.5, 2", "0430"])
TRIALS = settings(
    deadline=None, max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


def plotted(entries, area):
    """Where the log has everything, in order; what is not read fails."""
    found = []
    for each in understand(state_at([]), entries, NOW, area=area):
        assert not each.problem, each.problem
        assert each.others == ()
        if each.reading is not None:
            found.append((each.reading.square.centre.lat_deg, each.reading.square.centre.lon_deg))
    return found


def assert_same(found, places):
    assert len(found) == len(places)
    for (lat, lon), (a, b) in zip(found, places, strict=True):
        assert abs(lat - a) <= 1e-7
        assert abs((lon - b + 180.0) % 360.0 - 180.0) <= 1e-7


@TRIALS
@given(places, areas, titles, st.booleans(), st.booleans())
def test_gpx(tmp_path, places, area, title, timed, track):
    theirs = gpxpy.gpx.GPX()
    time = NOW if timed or track else None
    if track:
        points = [gpxpy.gpx.GPXTrackPoint(lat, lon, time=time) for lat, lon in places]
        theirs.tracks.append(gpxpy.gpx.GPXTrack(name=title))
        theirs.tracks[0].segments.append(gpxpy.gpx.GPXTrackSegment(points))
    else:
        for lat, lon in places:
            theirs.waypoints.append(gpxpy.gpx.GPXWaypoint(lat, lon, name=title, time=time))
    path = tmp_path / "theirs.gpx"
    path.write_text(theirs.to_xml())
    assert_same(plotted(imported(path).entries, area), places)


@TRIALS
@given(places, areas, titles, st.booleans())
def test_kml(tmp_path, places, area, title, timed):
    document = fastkml.Document(name="theirs")
    times = fastkml.TimeStamp(timestamp=fastkml.KmlDateTime(NOW)) if timed else None
    for lat, lon in places:
        document.append(
            fastkml.Placemark(
                name=title, geometry=pygeoif.Point(lon, lat), times=times, description="48 N 2 E"
            )
        )
    theirs = fastkml.KML(features=[document])
    path = tmp_path / "theirs.kml"
    path.write_text(theirs.to_string(precision=7))
    entries = imported(path).entries
    assert_same(plotted(entries, area), places)
    assert all("48 N 2 E" in entry.text for entry in entries)
    assert {entry.said_utc for entry in entries} == {NOW if timed else None}


@TRIALS
@given(places, areas, titles, st.booleans())
def test_geojson(tmp_path, places, area, title, many):
    def pair(place):
        return [place[1], place[0]]  # RFC 7946, 3.1.1: longitude first

    properties = {"name": title} if title else None
    if many:
        geometries = [{"type": "MultiPoint", "coordinates": [pair(each) for each in places]}]
    else:
        geometries = [{"type": "Point", "coordinates": pair(each)} for each in places]
    features = [{"type": "Feature", "properties": properties, "geometry": g} for g in geometries]
    path = tmp_path / "theirs.geojson"
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    assert_same(plotted(imported(path).entries, area), places)


@TRIALS
@given(places, areas, st.sampled_from(["EPSG:4326", "urn:ogc:def:crs:OGC:1.3:CRS84"]))
def test_geojson_that_states_the_same_system(tmp_path, places, area, name):
    crs = {"type": "name", "properties": {"name": name}}
    line = {"type": "MultiPoint", "coordinates": [[lon, lat] for lat, lon in places], "crs": crs}
    path = tmp_path / "theirs.json"
    path.write_text(json.dumps(line))
    assert_same(plotted(imported(path).entries, area), places)


# Where a system is meant to be used, and how many metres or degrees its numbers are moved by.
SYSTEMS = [25833, 32633, 3857, 4230, 4258, 31287]


def fine(low, high):
    """Numbers with seven decimals: what is coarse may be anywhere in its square."""
    return st.floats(low, high).map(lambda x: round(x, 6) + 3e-7)


@pytest.mark.parametrize("epsg", SYSTEMS)
@pytest.mark.parametrize("kind", ["gpkg", "geojson"])
@settings(deadline=None, max_examples=8, suppress_health_check=list(HealthCheck))
@given(
    places=st.lists(st.tuples(fine(46.5, 48.9), fine(9.6, 17.0)), min_size=1, max_size=3),
    area=areas,
)
def test_a_file_in_another_system(tmp_path, epsg, kind, places, area):
    """GDAL, in any system that it writes: its own way back to WGS 84 is the oracle.

    On another datum the way back has several operations, each with its accuracy: the place of
    the oracle must lie within the accuracy that the square was enlarged by.
    """
    points = [shapely.Point(lon, lat) for lat, lon in places]
    frame = geopandas.GeoDataFrame({"name": ["a"] * len(places)}, geometry=points, crs=4326).to_crs(
        epsg
    )
    path = tmp_path / f"theirs{epsg}.{kind}"
    path.unlink(missing_ok=True)
    if kind == "gpkg":
        frame.to_file(path, layer="theirs", driver="GPKG")
    else:  # GDAL writes the member of 2008 unless it is told to keep to RFC 7946
        frame.to_file(path, driver="GeoJSON", COORDINATE_PRECISION=9)
    found = [
        each.reading.square
        for each in understand(state_at([]), imported(path).entries, NOW, area=area)
        if each.entry.kind != "note"  # GDAL says of the whole file how fine its numbers are
    ]
    exact = pyproj.CRS(epsg).geodetic_crs.name == "WGS 84"
    assert len(found) == len(places)
    for square, (lat, lon) in zip(found, places, strict=True):
        if exact:
            assert abs(square.centre.lat_deg - lat) <= 1e-7
            assert abs(square.centre.lon_deg - lon) <= 1e-7
        else:
            off = geodesic(square.centre, Position(lat, lon)).distance_m
            assert off <= max(square.size_m, 1.0)
            assert square.size_m < 1_000.0


@TRIALS
@given(places, areas)
def test_a_geopackage_of_others(tmp_path, places, area):
    path = tmp_path / "theirs.gpkg"
    path.unlink(missing_ok=True)
    frame = geopandas.GeoDataFrame(
        {"label": [f"nr {i}" for i in range(len(places))], "size": range(len(places))},
        geometry=[shapely.Point(lon, lat) for lat, lon in places],
        crs=4326,
    )
    frame.to_file(path, layer="huts", driver="GPKG")
    entries = imported(path).entries
    assert_same(plotted(entries, area), places)
    assert [f"label nr {i}; size {i}; layer huts" in e.text for i, e in enumerate(entries)] == [
        True
    ] * len(places)
