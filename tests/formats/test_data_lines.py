"""Sentences of receivers and position packets, beside two readers by other hands.

Examples are those of the APRS Protocol Reference 1.0.1 (TAPR, 2000) and of commonly published NMEA
0183 sentences, from memory, with callsigns that nobody has; pynmeagps and aprslib are the oracles.
"""

import math

import aprslib
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pynmeagps import NMEAReader

from plotter.errors import FormatError
from plotter.formats.nmea import read_sentence
from plotter.formats.packet import read_packet
from plotter.formats.reading import reading
from plotter.geodesy.geodesic import geodesic
from plotter.geodesy.position import Position

SENTENCES = [
    "$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47",
    "$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A",
    "$GPGLL,4916.45,N,12311.12,W,225444,A,*1D",
    "$GPWPL,4807.038,N,01131.000,E,WPTNME*5C",
]

KINDS = ["GGA", "RMC", "GLL", "WPL"]


def checksum(body):
    total = 0
    for byte in body.encode():
        total ^= byte
    return f"${body}*{total:02X}"


@pytest.mark.parametrize("text", SENTENCES)
def test_published_sentences_as_another_reader_has_them(text):
    theirs = NMEAReader.parse(text)
    found = read_sentence(text)
    assert found.square.centre.lat_deg == pytest.approx(theirs.lat, abs=1e-7)
    assert found.square.centre.lon_deg == pytest.approx(theirs.lon, abs=1e-7)
    assert found.kind == theirs.msgID
    if hasattr(theirs, "time"):
        assert found.clock.replace(tzinfo=None) == theirs.time
    # One unit of the last figure of the minutes, along a meridian.
    decimals = {"GLL": 2}.get(found.kind, 3)
    assert found.square.size_m == pytest.approx(1852.0 * 10.0**-decimals, rel=0.01)
    assert reading(text)[0].square == found.square


@given(
    st.floats(-89.99, 89.99),
    st.floats(-179.99, 179.99),
    st.sampled_from(["GGA", "RMC", "GLL", "WPL"]),
)
def test_sentences_agree_with_another_reader_everywhere(lat, lon, kind):
    def angle(value, width, sides):
        whole, minutes = divmod(round(abs(value) * 600_000), 600_000)
        return f"{whole:0{width}d}{minutes / 10_000:07.4f},{sides[value < 0]}"

    place = f"{angle(lat, 2, 'NS')},{angle(lon, 3, 'EW')}"
    body = {
        "GGA": f"GNGGA,010203.50,{place},1,08,0.9,5.4,M,46.9,M,,",
        "RMC": f"GNRMC,010203.50,A,{place},0.4,84.4,140326,,,A",
        "GLL": f"GNGLL,{place},010203.50,A,A",
        "WPL": f"GPWPL,{place},QUAY",
    }[kind]
    text = checksum(body)
    found, theirs = read_sentence(text), NMEAReader.parse(text)
    assert found.square.centre.lat_deg == pytest.approx(theirs.lat, abs=1e-8)
    assert found.square.centre.lon_deg == pytest.approx(theirs.lon, abs=1e-8)


def test_a_changed_character_a_missing_fix_and_no_position_are_told_apart():
    with pytest.raises(FormatError, match="checksum is 47, but its characters give"):
        read_sentence(SENTENCES[0].replace("4807", "4817"))
    with pytest.raises(FormatError, match="had no position"):
        read_sentence(checksum("GPRMC,123519,V,4807.038,N,01131.000,E,,,230394,,"))
    with pytest.raises(FormatError, match="without a position"):
        reading(checksum("GPGSA,A,3,04,05,,09,12,,,24,,,,,2.5,1.3,2.1"))
    with pytest.raises(FormatError, match="cannot be"):
        read_sentence(checksum("GPGLL,4861.000,N,01131.000,E,123519,A,"))
    unchecked = reading("$GPGLL,4916.45,N,12311.12,W,225444,A,")[0]
    assert "without a checksum" in unchecked.assumed[0]


PACKETS = [
    ("XX0AA>APZ001,WIDE1-1:!4903.50N/07201.75W-Test 001234", 49 + 3.5 / 60, -72 - 1.75 / 60),
    ("XX0AA-7>APZ001:/092345z4903.50N/07201.75W>Test1234", 49 + 3.5 / 60, -72 - 1.75 / 60),
    ("XX0AA>APZ001:=/5L!!<*e7>7P[Comment", 49.5, -72.75),
    ("XX0AA>APZ001:;LEADER   *092345z4903.50N/07201.75W>088/036", 49 + 3.5 / 60, -72 - 1.75 / 60),
    ("XX0AA>APZ001:)AID #2!4903.50N/07201.75WA", 49 + 3.5 / 60, -72 - 1.75 / 60),
    ('XX0AA>S32U6T:`(_fn"Oj/', 33 + 25.64 / 60, -12 - 7.74 / 60),
    ('XX0AA>S32UVT:`(_fn"Oj/', 33 + 25.64 / 60, -112 - 7.74 / 60),
]


@pytest.mark.parametrize(("text", "lat", "lon"), PACKETS, ids=lambda v: str(v)[-24:])
def test_packets_of_the_protocol_reference(text, lat, lon):
    packet = read_packet(text)
    assert packet.square.centre.lat_deg == pytest.approx(lat, abs=2e-6)
    assert packet.square.centre.lon_deg == pytest.approx(lon, abs=6e-6)  # a unit if compressed
    if packet.kind == "object" and ":)" in text:
        return  # the other reader knows no items
    theirs = aprslib.parse(text)
    assert packet.square.centre.lat_deg == pytest.approx(theirs["latitude"], abs=1e-6)
    assert packet.square.centre.lon_deg == pytest.approx(theirs["longitude"], abs=1e-6)
    assert packet.sender == theirs["from"]


def test_what_a_packet_says_besides():
    thing = read_packet(PACKETS[3][0])
    assert (thing.kind, thing.name, thing.time, thing.gone) == (
        "object",
        "LEADER",
        "092345z",
        False,
    )
    assert read_packet(PACKETS[3][0].replace("*", "_", 1)).gone
    message = read_packet("XX0AA>APZ001::BASE     :bearing 245 magnetic{003")
    assert (message.kind, message.name, message.words) == (
        "message", "BASE", "bearing 245 magnetic",
    )  # fmt: skip
    assert read_packet("XX0AA>APZ001:>on the way").kind == "other"
    passed_on = read_packet("XX9ZZ>APZ001:}XX0AA>APZ001,TCPIP*:!4903.50N/07201.75W-")
    assert passed_on.sender == "XX0AA"
    carried = read_packet("XX0AA>APZ001:" + SENTENCES[1])
    assert carried.square.centre.lat_deg == pytest.approx(48.1173)


@pytest.mark.parametrize(
    ("lat", "lon", "blank", "north", "south"),
    [
        ("4903.5 N", "07201.7 W", 1, 3.6, 3.5),
        ("4903.  N", "07201.  W", 2, 4.0, 3.0),
        ("490 .  N", "0720 .  W", 3, 10.0, 0.0),
        ("49  .  N", "072  .  W", 4, 60.0, 0.0),
    ],
)
def test_figures_left_blank_make_the_square_larger(lat, lon, blank, north, south):
    found = read_packet(f"XX0AA>APZ001:!{lat}/{lon}-")
    assert found.blank == blank
    lats = [corner.lat_deg for corner in found.square.corners]
    assert max(lats) == pytest.approx(49 + north / 60)
    assert min(lats) == pytest.approx(49 + south / 60)
    assert "left" in reading(f"XX0AA>APZ001:!{lat}/{lon}-")[0].assumed[0]


def test_the_extension_adds_a_figure():
    plain = read_packet("XX0AA>APZ001:!4903.50N/07201.75W-").square
    finer = read_packet("XX0AA>APZ001:!4903.50N/07201.75W-!W36!").square
    assert finer.size_m == pytest.approx(plain.size_m / 10)
    assert finer.centre.lat_deg == pytest.approx(49 + 3.503 / 60)
    assert finer.centre.lon_deg == pytest.approx(-72 - 1.756 / 60)


@given(st.integers(0, 2**31), st.booleans())
def test_mic_e_agrees_with_another_reader(seed, west):
    rng = np.random.default_rng(seed)
    lat = rng.integers(0, 10, 6)
    lat[0], lat[2] = rng.integers(0, 9), rng.integers(0, 6)
    far = bool(rng.integers(2))
    signs = [chr(ord("P") + d) if rng.integers(2) else str(d) for d in lat]
    signs[4] = chr(ord("P") + lat[4]) if far else str(lat[4])
    signs[5] = chr(ord("P") + lat[5]) if west else str(lat[5])
    degrees = int(rng.integers(100, 180) if far else rng.integers(10, 100))
    # 100 to 109 are written as 180 to 189.
    first = 28 + (degrees - 20 if far and degrees < 110 else degrees - 100 * far)
    minutes = int(rng.integers(0, 60))
    second = minutes + 28 if minutes >= 10 else minutes + 60 + 28
    body = chr(first) + chr(second) + chr(int(rng.integers(0, 100)) + 28) + 'n"O'
    text = f"XX0AA>{''.join(signs)}:`{body}j/"
    try:
        theirs = aprslib.parse(text)
    except aprslib.exceptions.ParseError:
        return
    found = read_packet(text).square.centre
    assert found.lat_deg == pytest.approx(theirs["latitude"], abs=1e-6)
    assert found.lon_deg == pytest.approx(theirs["longitude"], abs=1e-6)


@given(st.floats(-89.9, 89.9), st.floats(-179.9, 179.9))
def test_compressed_positions_lie_where_they_were_packed(lat, lon):
    """Packed by the protocol's own formula, written down here a second time."""

    def base_91(value):
        return "".join(chr(33 + value // 91**k % 91) for k in (3, 2, 1, 0))

    packed = base_91(round(380_926 * (90 - lat))) + base_91(round(190_463 * (180 + lon)))
    found = read_packet(f"XX0AA>APZ001:!/{packed}>sT ").square
    assert geodesic(found.centre, Position(lat, lon)).distance_m < 0.5
    assert found.size_m == pytest.approx(max(0.29, 0.58 * math.cos(math.radians(lat))), rel=0.03)


@given(st.text(st.characters(max_codepoint=255), max_size=60), st.sampled_from("!=/@;):`'$}>_"))
def test_no_line_breaks_the_reader(body, kind):
    try:
        packet = read_packet(f"XX0AA>APZ001:{kind}{body}")
    except FormatError:
        return
    if packet.square is not None:
        assert -90 <= packet.square.centre.lat_deg <= 90
