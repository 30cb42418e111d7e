"""Files and streams of receivers, packets and messages; GPX, KML and GeoJSON by other hands."""

import datetime as dt
import os
import threading
from pathlib import Path

import gpxpy.gpx
import pytest

from plotter.errors import LogError
from plotter.exchange.follow import followed_lines, set_speed
from plotter.exchange.incoming import entries_of_any

NOW = dt.datetime(2026, 3, 14, 12, 0, tzinfo=dt.UTC)


def sentence(body):
    total = 0
    for byte in body.encode():
        total ^= byte
    return f"${body}*{total:02X}"


def second(clock, lat="4701.200", day="140326"):
    """What a receiver says in one second."""
    return [
        sentence(f"GPGGA,{clock},{lat},N,00803.000,E,1,08,0.9,545.4,M,46.9,M,,"),
        sentence("GPGSA,A,3,04,05,,09,12,,,24,,,,,2.5,1.3,2.1"),
        sentence(f"GPGLL,{lat},N,00803.000,E,{clock},A"),
        sentence(f"GPRMC,{clock},A,{lat},N,00803.000,E,0.4,84.4,{day},,"),
    ]


def test_a_receivers_file_keeps_one_sentence_a_second_with_its_day(tmp_path):
    lines = [*second("090500"), *second("090501", "4701.201"), "noise \x01\x02",
             second("090502")[0][:-1] + "0", sentence("GPRMC,090503,V,,,,,,,140326,,"),
             sentence("GPWPL,4701.500,N,00804.000,E,QUAY")]  # fmt: skip
    path = tmp_path / "track.nmea"
    path.write_text("\n".join(lines) + "\n")
    entries, remarks = entries_of_any(path, sender="Team 1", near_utc=NOW)
    places = [e for e in entries if e.text.startswith("$GPRMC")]
    assert [e.said_utc for e in places] == [
        dt.datetime(2026, 3, 14, 9, 5, s, tzinfo=dt.UTC) for s in (0, 1)
    ]
    assert {e.sender for e in places} == {"Team 1"}
    assert [e.source.line for e in places] == [4, 8]
    assert any("checksum" in e.problem for e in entries)
    [waypoint] = [e for e in entries if e.kind == "place"]
    assert (waypoint.subject, waypoint.source.line) == ("QUAY", 12)
    assert waypoint.text == f"place {lines[-1]}"
    assert remarks[0].split("; ") == [
        "taken: positions with a time 2", "lines of plain words 1",
        "lines kept unread, with the reason 1", "named places 1",
    ]  # fmt: skip
    assert remarks[1:] == (
        "left out: sentences without a position 3; sentences that repeat a place and time 4",
    )
    every, _ = entries_of_any(path, near_utc=NOW, every_s=60.0)
    assert sum(e.text.startswith("$GPRMC") for e in every) == 1


def test_packets_and_messages_keep_their_sender_and_time(tmp_path):
    path = tmp_path / "packets.txt"
    path.write_text(
        "XX0AA-7>APZ001,WIDE1-1:/140905z4701.20N/00803.00E>on foot\n"
        "XX0AB>APZ001:;CLINIC   *140900z4701.50N/00804.00E-\n"
        "XX0AB>APZ001::BASE     :bearing 245 magnetic from 47.0N 8.0E{12\n"
        "XX0AB>APZ001:>status only\n"
        "2026-03-14T09:20:00Z XX0AC>APZ001:!4701.20N/00803.00E-\n"
        "140930Z Ridge team>weak station: bearing 88 true\n"
        "XX0AB>APZ001:!4799.20N/00803.00E-\n"
    )
    entries, _ = entries_of_any(path, near_utc=NOW)
    told = [(e.kind, e.sender, e.subject, e.said_utc and f"{e.said_utc:%d %H:%M}") for e in entries]
    assert told == [
        ("report", "XX0AA-7", "", "14 09:05"),
        ("report", "XX0AB", "CLINIC", "14 09:00"),
        ("report", "XX0AB", "", None),
        ("note", "XX0AB", "", None),
        ("report", "XX0AC", "", "14 09:20"),
        ("report", "Ridge team", "weak station", "14 09:30"),
        ("report", "packets.txt", "", None),
    ]
    assert entries[2].text == "bearing 245 magnetic from 47.0N 8.0E"
    assert "cannot be" in entries[6].problem


def test_gpx_by_another_hand(tmp_path):
    theirs = gpxpy.gpx.GPX()
    theirs.waypoints.append(gpxpy.gpx.GPXWaypoint(47.02, 8.05, name="quay", description="stone"))
    theirs.waypoints.append(gpxpy.gpx.GPXWaypoint(47.03, 8.06, name="boat", time=NOW))
    track = gpxpy.gpx.GPXTrack(name="Team 2")
    track.segments.append(
        gpxpy.gpx.GPXTrackSegment([gpxpy.gpx.GPXTrackPoint(47.01, 8.01, time=NOW)])
    )
    theirs.tracks.append(track)
    route = gpxpy.gpx.GPXRoute(name="way in")
    route.points.append(gpxpy.gpx.GPXRoutePoint(47.00, 8.00, name="gate"))
    theirs.routes.append(route)
    path = tmp_path / "theirs.gpx"
    for version in ("1.0", "1.1"):
        path.write_text(theirs.to_xml(version))
        entries, _ = entries_of_any(path)
        told = {(e.kind, e.sender, e.subject, e.text, e.said_utc) for e in entries}
        assert told == {
            ("place", "theirs.gpx", "quay", "place +47.02+008.05CRSWGS_84/ stone", None),
            ("report", "theirs.gpx", "boat", "+47.03+008.06CRSWGS_84/", NOW),
            ("report", "Team 2", "Team 2", "+47.01+008.01CRSWGS_84/", NOW),
            ("place", "theirs.gpx", "gate", "place +47.00+008.00CRSWGS_84/ route way in", None),
        }


def test_kml_and_geojson_of_others(tmp_path):
    (tmp_path / "a.kml").write_text(
        '<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Folder><Placemark><name>quay</name>'
        "<description>stone</description><Point><coordinates> 8.05,47.02,3 </coordinates></Point>"
        "</Placemark><Placemark><name>path</name><LineString><coordinates>8,47 8.1,47"
        "</coordinates></LineString></Placemark></Folder></Document></kml>"
    )
    entries, _ = entries_of_any(tmp_path / "a.kml")
    assert [(e.kind, e.subject) for e in entries] == [
        ("place", "quay"), ("note", "path"),
    ]  # fmt: skip
    # A height that the file says not to use is kept as words.
    words = "stone; altitude 3 m clampToGround"
    assert entries[0].text == f"place +47.02+008.05CRSWGS_84/ {words}"
    assert "LINESTRING (8.00 47.00, 8.10 47.00), longitude first, on WGS 84" in entries[1].text
    (tmp_path / "a.geojson").write_text(
        '{"type": "FeatureCollection", "features": [{"type": "Feature", "properties": '
        '{"name": "quay"}, "geometry": {"type": "Point", "coordinates": [8.0500, 47.02]}}, '
        '{"type": "Feature", "properties": null, "geometry": null}]}'
    )
    entries, _ = entries_of_any(tmp_path / "a.geojson")
    # As fine as the finest figures of the file.
    assert entries[0].text == "place +47.0200+008.0500CRSWGS_84/"
    assert len(entries) == 1, "a feature that says nothing at all"


def test_a_growing_file_is_followed_and_one_that_is_replaced_begun_again(tmp_path):
    path = tmp_path / "grows.txt"
    path.write_bytes(b"first\nsec")
    steps = iter([
        lambda: path.write_bytes(b"first\nsecond\nthi"),
        lambda: path.write_bytes(b"new\n"),
        lambda: path.write_bytes(b"new\n" + b"x" * 70_000 + b"\nlast"),
    ])  # fmt: skip

    def wait():
        step = next(steps, None)
        if step is not None:
            step()
        return step is not None

    found = [(text[:12], cut) for _, text, cut in followed_lines(path, wait)]
    assert found == [
        ("first", False), ("second", False), ("new", False), ("x" * 12, True), ("last", False),
    ]  # fmt: skip


def test_a_serial_device_is_read_as_it_speaks():
    """A pseudo-terminal stands for it."""
    ours, theirs = os.openpty()
    device = Path(os.ttyname(theirs))
    assert set_speed(device, 4800)
    with pytest.raises(LogError, match="no serial device runs at 4801"):
        set_speed(device, 4801)
    line = second("090500")[0]
    done = threading.Event()

    def speak():
        os.write(ours, (line + "\r\n").encode() * 2)
        done.set()

    thread = threading.Thread(target=speak)
    thread.start()
    waits = iter(range(200))
    found = []
    for _, text, _ in followed_lines(
        device, lambda: not done.wait(0.01) or next(waits, None) is not None
    ):
        found.append(text)
        if len(found) == 2:
            break
    thread.join()
    os.close(ours)
    os.close(theirs)
    assert found == [line, line]


def test_a_pipe_ends_with_its_writer():
    reading, writing = os.pipe()
    os.write(writing, b"first\nlast")
    os.close(writing)
    path = Path(f"/dev/fd/{reading}")
    found = [text for _, text, _ in followed_lines(path, lambda: True)]
    os.close(reading)
    assert found == ["first", "last"]
