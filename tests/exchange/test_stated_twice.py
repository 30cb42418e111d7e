"""What a file states twice, in part, or of a time to come, is said and kept, never chosen from."""

import datetime as dt
import json

import pytest

from plotter.errors import FormatError
from plotter.exchange.geojson import read_geojson
from plotter.exchange.tally import Tally
from plotter.formats.nmea import read_sentence


def feature(lon, lat, **properties):
    return json.dumps({
        "type": "FeatureCollection",
        "features": [{
            "type": "Feature", "geometry": {"type": "Point", "coordinates": [lon, lat]},
            "properties": {"name": "1", "kind": "report", "sender": "Red", **properties},
        }],
    }).encode()  # fmt: skip


@pytest.mark.parametrize(
    ("lon", "lat", "moved"),
    [(-30.09, 52.43, False), (-30.09, 52.430001, False), (-30.2, 52.6, True), (30.09, 52.43, True)],
)
def test_a_point_that_was_moved_in_the_file_is_asked_about(lon, lat, moved):
    """RFC 7946: the geometry is where the feature is; our own fields say it too."""
    data = feature(lon, lat, report="we are at 52.4300N 30.0900W", reading="52.4300N 30.0900W")
    (entry,) = read_geojson(data, "f.geojson", sender="Red", tally=Tally())
    assert ("the file draws it at" in entry.problem) == moved
    assert entry.text == "we are at 52.4300N 30.0900W"


def test_a_place_drawn_elsewhere_than_its_words_is_asked_about():
    data = feature(-30.09, 52.43, report="place 10N 10E", subject="hut")
    (entry,) = read_geojson(data, "f.geojson", sender="Red", tally=Tally())
    assert "ask which holds" in entry.problem


def test_words_that_are_no_place_by_themselves_are_taken_as_they_are():
    data = feature(-30.09, 52.43, report="300 m north of the mill", reading="")
    (entry,) = read_geojson(data, "f.geojson", sender="Red", tally=Tally())
    assert not entry.problem


def sentence(body):
    total = 0
    for character in body:
        total ^= ord(character)
    return f"${body}*{total:02X}"


@pytest.mark.parametrize(
    "place", ["5226.4000,,03005.4000,W", "5226.4000,N,0305.4,W", "5226.4,N,,W"]
)
def test_half_a_place_of_a_receiver_is_no_sentence_without_one(place):
    """NMEA 0183 as commonly published: ddmm.mm,N,dddmm.mm,W."""
    with pytest.raises(FormatError, match="not a whole one"):
        read_sentence(sentence(f"GPRMC,000006.00,A,{place},1.0,10.0,010126,,,A"))


def test_a_packet_is_of_the_last_such_time_not_the_next():
    """The automatic packet protocol, 1.01, chapter 6: hours, minutes and seconds of a day."""
    from plotter.exchange.packets import _packet_time

    near = dt.datetime(2026, 11, 28, 12, 38, tzinfo=dt.UTC)
    assert _packet_time("235905h", near) == dt.datetime(2026, 11, 27, 23, 59, 5, tzinfo=dt.UTC)
    assert _packet_time("291405z", near) == dt.datetime(2026, 10, 29, 14, 5, tzinfo=dt.UTC)
    assert _packet_time("124000h", near) == dt.datetime(2026, 11, 28, 12, 40, tzinfo=dt.UTC)
