"""What stands beside a position is left out only where it cannot be a part of it, and is said.

Laws over positions that are complete, half complete or bare, with all that people say around them:
a side, a figure or a way that is said is never passed over.
"""

import re

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from plotter.errors import FormatError
from plotter.geodesy.position import Area, Position
from plotter.voice.spoken import spoken_reading

AREA = Area(Position(9.0, 14.0), 60_000)
SIDES = ("west", "south", "West", "oeste", "Süd", "ouest", "westlich", "W", "S")

numbers = st.integers(0, 89_999).map(lambda n: f"{n / 1000:.3f}")
complete = st.builds(lambda a, o: f"{a}N {o}E", numbers, numbers)
half = st.builds(lambda a, o: f"{a} S, {o}", numbers, numbers)
bare = st.builds(lambda a, o: f"{a}, {o}", numbers, numbers)
gaps = st.sampled_from(
    [" ", ", ", " - ", ". ", " (", " degrees, ", " that is ", " to the ", " and "]
)  # fmt: skip
befores = st.sampled_from(["", "we are at ", "man down at ", "Team 4 ", "two casualties, ", "at "])
tails = st.sampled_from(
    ["", " over", ", two casualties", " one serious", " at 14:05", " 1405", ", 14 05", " 20 people",
     ", 4 POB", " altitude 350 m", " in 15 minutes", ", bridge 12 is down", " (± 10 m)", ", 7"]
)  # fmt: skip
grids = st.sampled_from(
    ["31U DQ 482 119", "31UDQ48251193", "JN58td", "27H UT 81 48", "31U DQ 48 11"]
)  # fmt: skip
areas = st.sampled_from([None, AREA])


def read(text, area):
    try:
        return spoken_reading(text, area)
    except FormatError:
        return ()


@given(befores, half | bare, gaps, st.sampled_from(SIDES), tails, areas)
@settings(max_examples=120)
def test_a_side_that_is_said_is_never_taken_for_free_talk(before, position, gap, side, tail, area):
    text = f"{before}{position}{gap}{side}{')' if '(' in gap else ''}{tail}"
    for each in read(text, area):
        west = side.lower() in ("west", "oeste", "ouest", "westlich", "w")
        if west:
            assert each.square.centre.lon_deg <= 0, (text, each)
        elif "S, " not in position:
            assert each.square.centre.lat_deg <= 0 or not any(
                "no letter" in why for why in each.assumed
            ), (text, each)


@given(befores, complete | half | bare | grids, tails, areas)
@settings(max_examples=120)
def test_every_figure_is_in_the_position_or_said_to_be_left_out(before, position, tail, area):
    text = before + position + tail
    for each in read(text, area):
        if not each.rests_on:
            continue
        parts = each.rests_on + "".join(each.left_out)
        assert sorted(re.findall(r"\d", parts)) == sorted(re.findall(r"\d", text)), (text, each)
        # No number is cut: what is left out begins and ends between numbers.
        at = text.index(each.rests_on)
        end = at + len(each.rests_on)
        assert not re.match(r"[.,]?\d", text[end:]), (text, each)
        assert not re.search(r"\d[.,]?$", text[:at]), (text, each)


@given(befores, complete | grids, tails, areas)
@settings(max_examples=120)
def test_what_is_said_around_a_complete_position_does_not_move_it(before, position, tail, area):
    expected = {each.square.centre for each in spoken_reading(position, area)}
    found = {each.square.centre for each in read(before + position + tail, area)}
    # Nothing, or the same place among what is offered.
    assert not found or found & expected, (before + position + tail, found)


@given(complete, st.integers(2, 900), st.sampled_from(["m", "km", "metres"]), st.sampled_from(
    ["north", "south-west", "west", "east"]), st.booleans())  # fmt: skip
def test_a_way_beside_a_position_is_not_passed_over(position, length, unit, point, first):
    way = f"{length} {unit} {point}" if first else f"{point} {length} {unit}"
    for text in (f"{position}, {way}", f"{position} then {way}"):
        found = read(text, None)
        assert not found or all(each.asks for each in found), text


# Written down for this test, from phrase books and common usage; no source.
MOVES = (
    "change east to west", "strike that", "should be south", "scratch that, it is west",
    "correction, west", "no, south", "I was wrong, it is west", "read west for east",
    "korrektur West", "nicht Nord sondern Süd", "falsch, ist West", "rectification ouest",
    "pas est mais ouest", "erreur, c'est au sud", "corrección oeste", "no norte sino sur",
    "correção oeste", "correzione ovest", "sbagliato, è a sud", "correctie west", "ralat selatan",
    "300 m beyond", "two hundred metres past it", "on the other bank", "the far side of the river",
    "200 m downslope", "half a mile upstream", "500 m nördlich", "zwei 300 m dahinter, südlich",
    "à 200 m au nord", "400 metri a monte", "300 metros río abajo", "a 2 km al sur",
    "halfway to the hut", "midway to the ford", "auf halbem Weg zur Hütte", "à mi-chemin du refuge",
    "1 km further on", "50 m to the left", "north of there", "just south", "slightly east",
    "исправление запад", "北へ五百メートル", "or E", "maybe S", "could be W", "not sure E or W",
    "unsure which side", "next square", "adjacent square", "past the bridge", "inland", "add 1",
    "flip it", "a bit more", "in old coordinates", "from the old chart", "DMS", "(deg.min)",
    "degrees decimal minutes", "those are minutes", "Grad Minuten", "format DM",
)  # fmt: skip
LEADS = (
    "500 m nördlich von", "au sud de", "al norte de", "a sud di", "ten zuiden van", "halfway to",
    "midway between the hut and", "two kilometres south-west of", "300 m beyond",
    "zwischen Hütte und", "à mi-chemin de", "on the way to", "heading for", "200 m au nord de",
    "2 km east of",
    "the other side of", "short of", "selatan dari",
)  # fmt: skip
TALK = (
    "two casualties", "one not breathing", "broken leg, needs a stretcher", "all well",
    "on the north face", "heading north", "moving south slowly", "smoke rising", "battery low",
    "request doctor", "road blocked by a tree", "water for ten people", "dog with us",
    "wind from the west", "no change", "visibility 200 m", "rope 50 m", "will report again",
)  # fmt: skip
senders = st.sampled_from(["", "we are at ", "position ", "injured man at ", "my position is "])


@given(senders, complete | grids, st.sampled_from(MOVES), st.sampled_from([", ", " ", ". ", " - "]))
@settings(max_examples=150)
def test_what_may_move_a_position_is_asked_about_or_refused(before, position, words, gap):
    found = read(f"{before}{position}{gap}{words}", None)
    assert all(each.asks for each in found), [(each.assumed, each.asks) for each in found]


@given(st.sampled_from(LEADS), complete | grids)
@settings(max_examples=120)
def test_a_way_to_a_position_is_not_the_position(words, position):
    found = read(f"{words} {position}", None)
    assert all(each.asks for each in found), [(each.assumed, each.asks) for each in found]


@given(senders, complete | grids, complete | grids, st.sampled_from(
    [" or ", " and ", ", ", " & ", "; ", " via ", " team 2 ", " y ", " maybe "]))  # fmt: skip
@settings(max_examples=120)
def test_a_second_position_is_never_mere_words(before, position, other, joint):
    assume(position != other)
    found = read(f"{before}{position}{joint}{other}", None)
    assert len(found) != 1 or found[0].asks, found


@given(senders, numbers, numbers, st.sampled_from([
    "Lat: -{a}, Lon: {o}", "Latitude: -{a} Longitude: {o}", "Breite: -{a} Länge: {o}",
    "lat -{a} lon -{o}", "Lat {a} Lon -{o}"]),
    st.sampled_from([", all well", " all ok", ""]))  # fmt: skip
@settings(max_examples=120)
def test_labels_keep_their_numbers_whatever_the_decimal_mark(before, lat, lon, form, after):
    text = form.format(a=lat.replace(".", ","), o=lon.replace(".", ","))
    expected = {(-1 if "-{a}" in form else 1) * float(lat)}, {float(lon) * (-1) ** ("-{o}" in form)}
    for each in read(f"{before}{text}{after}", None):
        centre = each.square.centre
        assert centre.lat_deg in expected[0], (before, text, after, centre)
        assert centre.lon_deg in expected[1], (before, text, after, centre)


@given(senders, complete, st.sampled_from(TALK), st.sampled_from([", ", " - ", ". "]))
@settings(max_examples=120)
def test_free_talk_is_a_note(before, position, words, gap):
    found = read(f"{before}{position}{gap}{words}", None)
    assert found, words
    assert not any(each.asks for each in found), [each.asks for each in found]


standards = st.builds(
    lambda a, o, form: form.format(a=a, o=o),
    numbers, numbers,
    st.sampled_from(["geo:{a},{o}", "POINT({o} {a})", "POINT ({o} {a})", "+{a:0>6}+{o:0>7}/"]),
)  # fmt: skip


@given(st.sampled_from(["fire at ", "position ", "we are at ", "Station at "]), standards,
       st.sampled_from(["", " over", ", send help", " please"]))  # fmt: skip
def test_a_standard_form_among_words_is_what_it_is_alone(before, form, after):
    alone = {each.square for each in spoken_reading(form)}
    found = spoken_reading(before + form + after)
    assert {each.square for each in found} == alone
    assert not any(each.asks for each in found)


@given(st.sampled_from(["not at ", "500 m north of ", "was at ", "between the hut and "]),
       standards)  # fmt: skip
def test_a_standard_form_that_is_taken_back_is_not_read(before, form):
    assert all(each.asks for each in read(before + form, None))


names = st.sampled_from(
    ["Team 5: ", "Post 12 : ", "Hut 2 - ", "Camp 8: ", "Sector 12: ", "No 2: ", "09:30: ",
     "Day 2: ", "Casualties 2: ", "equipo 5: ", "12: ", "Team 61: ", "Camp 6 ",
     "waypoint 12 ", "Nr. 8 "]
)  # fmt: skip
written = st.sampled_from(
    ["{a}N {o}E", "{a}S {o}W", "{a}, {o}", "-{a} {o}", "-{a}, -{o}", "{d} {m}.5N {d} {m}.3E",
     "{d}:{m}.72S {d}:{m}.89E", "{d}-{m}-08 S, {d}°{m}'38\" E", "{d}:{m},82 Süd {d}:{m},10 west"]
)  # fmt: skip


@given(names, numbers, numbers, st.integers(1, 80), st.integers(10, 59), written)
@settings(max_examples=200)
def test_the_number_of_a_name_is_no_part_of_the_position(name, lat, lon, degrees, minutes, form):
    position = form.format(a=lat, o=lon, d=degrees, m=minutes)
    alone = {each.square.centre for each in read(position, None)}
    found = read(name + position, None)
    for each in found:
        assert each.asks or len(found) > 1 or each.square.centre in alone, (name + position, each)


@given(numbers, numbers, st.sampled_from(["Base - ", "no 4 - ", "Ridge – "]))
def test_a_dash_that_may_be_a_minus_is_asked_about(lat, lon, before):
    assume(float(lat) > 0)  # nothing has no side
    for each in read(f"{before}{lat} {lon}", None):
        assert each.asks, each


strays = st.sampled_from([*"#!$%&()[]{}<=>@^|~", ": ", "! ", " . ", ", ", "\u0301", "•"])


@given(numbers, numbers, strays, st.booleans(), senders)
@settings(max_examples=120)
def test_a_minus_never_vanishes(lat, lon, stray, first, before):
    assume(float(lat) > 0 and float(lon) > 0)
    position = f"-{stray}{lat}, {lon}" if first else f"{lat}, -{stray}{lon}"
    for each in read(before + position, None):
        centre = each.square.centre
        signed = centre.lat_deg if first else centre.lon_deg
        assert each.asks or signed < 0, (before + position, each)


@given(numbers, numbers, st.sampled_from(["{a}-, {o}-", "minus: {a}, {o}", "minus ... {a}, {o}",
    "{a}, {o} both negative", "{a}, {o} beide minus", "meno {a}; {o}", "{a}, {o} longitude first",
    "x,y = {a}, {o}", "nicht {a}N {o}E", "pas {a}N {o}E", "abeam {a}N {o}E"]))  # fmt: skip
def test_signs_orders_and_denials_in_words_are_asked_about(lat, lon, form):
    assume(float(lat) > 0 and float(lon) > 0)
    text = form.format(a=lat, o=lon)
    assert all(each.asks for each in read(text, None)), text


@given(st.integers(0, 89), st.integers(0, 179), st.integers(0, 59), st.integers(0, 99),
       st.sampled_from("'′"), st.sampled_from(".,"), senders)  # fmt: skip
def test_a_mark_may_stand_over_the_decimal_point(lat, lon, minutes, part, mark, point, before):
    text = (
        f"{before}{lat}°{minutes}{mark}{point}{part:02d}N {lon}°{minutes}{mark}{point}{part:02d}E"
    )
    value = (minutes + part / 100) / 60
    for each in read(text, None):
        assert each.square.centre.lat_deg == pytest.approx(lat + value, abs=1e-9), text
        assert each.square.centre.lon_deg == pytest.approx(lon + value, abs=1e-9), text
    assert read(text, None), text


@given(numbers, numbers, st.sampled_from("¹²³⁴₂①⑦"), st.sampled_from(
    ["S{n} {a} W{n} {o}", "{a}{n}N {o}E", "{a}, {o}{n}", "-{n}{a}, -{o}"]))  # fmt: skip
def test_a_footnote_mark_is_no_figure(lat, lon, raised, form):
    text = form.format(n=raised, a=lat, o=lon)
    assert all(each.asks for each in read(text, None)), text
