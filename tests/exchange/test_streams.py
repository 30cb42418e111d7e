"""Streams: days and datums of receivers, parts of messages, direction finders, going on."""

import datetime as dt
import os
import threading
import time

import aprslib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pynmeagps import NMEAReader

from plotter.exchange.data_lines import LineReader, entries_of_lines
from plotter.exchange.follow import followed_lines
from plotter.exchange.held import Held, present_entries
from plotter.exchange.messages import joined, write_messages
from plotter.exchange.receiver import Receiver
from plotter.log.events import Entry, Tip, chained, state_at
from plotter.log.incident import understand

NOW = dt.datetime(2026, 3, 14, 12, 0, tzinfo=dt.UTC)
PLACE = "4701.200,N,00803.000,E"


def sentence(body):
    total = 0
    for byte in body.encode():
        total ^= byte
    return f"${body}*{total:02X}"


def gga(time, place=PLACE, quality="1"):
    return sentence(f"GPGGA,{time:%H%M%S},{place},{quality},08,0.9,545.4,M,46.9,M,,")


def rmc(time, place=PLACE):
    return sentence(f"GPRMC,{time:%H%M%S},A,{place},0.4,84.4,{time:%d%m%y},,")


def zda(time):
    return sentence(f"GPZDA,{time:%H%M%S},{time:%d},{time:%m},{time:%Y},00,00")


def taken(lines, **named):
    reader = LineReader("receiver", near_utc=NOW, **named)
    entries = entries_of_lines(((n, line, False) for n, line in enumerate(lines, 1)), reader)
    return entries, reader.tally


@settings(deadline=None, max_examples=60)
@given(
    st.datetimes(dt.datetime(2025, 1, 1), dt.datetime(2026, 3, 13)),  # noqa: DTZ001 - UTC by hand
    st.integers(0, 5),
    st.permutations(["gga", "rmc"]),
    st.booleans(),
)
def test_every_second_has_its_own_day_across_midnight(day, before, order, by_zda):
    """Whichever sentence of a second comes first; another reader says what each states."""
    midnight = dt.datetime.combine(day.date(), dt.time(), tzinfo=dt.UTC)
    start = midnight - dt.timedelta(seconds=before)
    lines = []
    for k in range(8):
        now = start + dt.timedelta(seconds=k)
        place = f"4701.{200 + k},N,00803.000,E"  # it moves: no second repeats another
        made = {"gga": gga(now, place), "rmc": zda(now) if by_zda else rmc(now, place)}
        lines += [made[kind] for kind in order]
        stated = NMEAReader.parse(made["rmc"])
        assert stated.time == now.time().replace(tzinfo=None)
    entries, _ = taken(lines)
    assert [e.said_utc for e in entries] == [start + dt.timedelta(seconds=k) for k in range(8)]


def test_a_day_is_carried_on_for_an_hour_and_no_further():
    start = dt.datetime(2026, 3, 13, 23, 59, 58, tzinfo=dt.UTC)
    later = start + dt.timedelta(minutes=30)
    far = start + dt.timedelta(hours=3)
    lines = [rmc(start), gga(later, "4701.300,N,00803.000,E"), gga(far, "4701.400,N,00803.000,E")]
    entries, _ = taken(lines)
    assert [e.said_utc for e in entries] == [start, later, None]


def test_a_stream_that_pauses_in_a_second_tells_it_once():
    reader = LineReader("receiver", near_utc=NOW, stream=True)
    made = reader.take(1, rmc(NOW)) + reader.finish() + reader.take(2, gga(NOW)) + reader.finish()
    assert [e.text[:6] for e in made] == ["$GPRMC"]
    assert reader.tally.left == {"sentences that repeat a place and time": 1}


def test_weeks_that_ran_over_are_said():
    old = NOW - dt.timedelta(weeks=1024, hours=1)
    [entry], tally = taken([rmc(old)])
    assert entry.said_utc == NOW - dt.timedelta(hours=1)
    assert "1024 weeks after the 2006-07-29" in entry.assumed[0]
    assert any("1024 weeks" in kind for kind in tally.taken)
    assert entry.text == rmc(old), "what it said is kept as it came"


@pytest.mark.parametrize(
    ("line", "why"),
    [
        (gga(NOW, quality="8"), "simulates"),
        (sentence(f"GNGLL,{PLACE},120000,A,S"), "simulates"),
        (sentence(f"GNGNS,120000,{PLACE},SS,08,0.9,545.4,46.9,,"), "simulates"),
        (gga(NOW, quality="7"), "typed into"),
        (gga(NOW, quality="6"), "dead reckoning"),
        (gga(NOW, "0000.000,N,00000.000,E"), "0° north 0° east"),
    ],
)
def test_what_is_no_plain_fix_is_asked_about(line, why):
    entries, _ = taken([line])
    [found] = understand(state_at([]), entries, NOW)
    assert why in found.entry.assumed[0]
    [plain] = understand(state_at([]), taken([gga(NOW)])[0], NOW)
    assert plain.entry.assumed == ()


def test_a_datum_holds_for_what_comes_after_it():
    ed50 = sentence("GPDTM,EUR,,0.0,N,0.0,E,0.0,W84")
    own = sentence("GPDTM,999,XX,0.08,N,0.07,E,-47.7,W84")
    back = sentence("GPDTM,W84,,0.0,N,0.0,E,0.0,W84")
    assert NMEAReader.parse(ed50).msgID == "DTM"
    times = [NOW + dt.timedelta(seconds=k) for k in range(4)]
    places = [f"4701.{200 + k},N,00803.000,E" for k in range(4)]
    lines = [rmc(times[0], places[0]), ed50, rmc(times[1], places[1]), own,
             rmc(times[2], places[2]), back, rmc(times[3], places[3])]  # fmt: skip
    entries, _ = taken(lines)
    texts = [e.text for e in entries if not e.problem]
    assert texts == [lines[0], f"+4701.201+00803.000CRSEPSG:4230/ {lines[2]}", lines[6]]
    bad = [e for e in entries if e.problem]
    assert all("datum '999'" in e.problem for e in bad)
    assert lines[4] in {e.text for e in bad}
    found = understand(state_at([]), entries, NOW)
    moved = next(each for each in found if each.entry.text == texts[1])
    # ED 50 lies some 100 m north-east of WGS 84 there.
    assert 0.0005 < 47.0 + 1.201 / 60 - moved.reading.square.centre.lat_deg < 0.0015
    assert "EPSG:4230" in moved.entry.text
    assert moved.reading.left_out == (lines[2],)


def test_waypoints_are_not_where_the_receiver_is():
    rmb = sentence("GPRMB,A,0.66,L,003,004,4917.24,N,12309.57,W,001.3,052.5,000.5,V")
    wpl = sentence("GPWPL,4701.500,N,00804.000,E,")
    odd = sentence("XXABC,4701.500,N,00804.000,E")
    entries, _ = taken([rmb, wpl, odd])
    assert [(e.kind, e.subject) for e in entries] == [
        ("place", "004"), ("place", "waypoint 2"), ("note", ""),
    ]  # fmt: skip


HEAD = "140905Z Ridge>boat: "


def test_two_messages_of_one_minute_are_never_mixed():
    """Their own writer gives them letters; without letters nothing is joined across."""
    one = Entry("report", "note " + "first " * 40, sender="Ridge", subject="boat", said_utc=NOW)
    two = Entry("report", "note " + "casualty " * 40, sender="Ridge", subject="boat", said_utc=NOW)
    from plotter.exchange.features import features_of
    from plotter.log.events import Tip

    class Ids:
        def __init__(self):
            self.n = 0

        def __call__(self):
            self.n += 1
            return f"{self.n:012d}"

    events = chained([one, two], Tip(), desk="Base", entered_utc=NOW, random_part=Ids())
    sent = write_messages(features_of(state_at(events)))
    mixed = sent[::2] + sent[1::2]
    assert len(sent) == 5
    for order in (sent, mixed, sent[::-1], sent + sent):
        texts = [text for _, text in joined(enumerate(order, 1))]
        assert sorted(" ".join(text.partition(": ")[2].split()) for text in texts) == sorted(
            " ".join(entry.text.split()) for entry in (one, two)
        )


@settings(deadline=None, max_examples=200)
@given(st.permutations([("a", 1), ("a", 2), ("b", 1), ("b", 2)]), st.booleans())
def test_parts_without_letters_are_joined_in_order_or_kept_alone(order, stream):
    """Every word is kept; whole again only where the parts came one message after the other."""
    lines = [f"{HEAD}note {name}{k} ({k}/2)" for name, k in order]
    reader = LineReader("messages", near_utc=NOW, stream=stream)
    if not stream:
        reader.look_through(enumerate(lines, 1))
    entries = entries_of_lines(((n, line, False) for n, line in enumerate(lines, 1)), reader)
    texts = [e.text for e in entries]
    assert all(any(f"{name}{k}" in text for text in texts) for name, k in order)
    whole = [e for e in entries if "came in" not in e.text]
    for entry in whole:
        assert entry.assumed, "that it was put together is said"
    if not stream:
        in_order = [k for _, k in order] == [1, 2, 1, 2]
        assert len(whole) == (2 if in_order else 0)


def test_a_stream_writes_every_part_down_at_once():
    reader = LineReader("messages", near_utc=NOW, stream=True)
    first = reader.take(1, f"{HEAD}note the beginning (1/2b)")
    assert [e.text for e in first] == ["note part 1 of 2 came in: note the beginning"]
    second = reader.take(2, f"{HEAD} and the end (2/2b)")
    assert [e.text for e in second] == ["note the beginning and the end"]
    reader.take(3, f"{HEAD}note another beginning (1/2)")
    assert reader.end() == []
    assert [k for k in reader.tally.left if "a part did not come in" in k]


DF = "XX0AA>APZ001:=4903.50N/07201.75W\\"


@pytest.mark.parametrize(
    ("rest", "text", "subject"),
    [
        ("088/036/270/729", "bearing 270 true ± 1", "signal"),
        ("000/000/005/966 on 146.520MHz", "bearing 005 true ± 8", "signal 146.520 MHz"),
        (".../.../360/863", "bearing 360 true ± 64", "signal"),
        ("000/000/123/065", "bearing 123 true", "signal"),
        ("000/000/123/962", "heard", "signal"),
        ("000/000/123/960", "heard", "signal"),
        ("DFS2360", "heard", "signal"),
        ("DFS0360", "not heard", "signal"),
    ],
)
def test_direction_finders(rest, text, subject):
    """Forms of the APRS Protocol Reference 1.0.1, chapters 7 and 8; aprslib has the same figures.

    The accuracy of a quality is from memory, see `plotter.formats.packet_df`.
    """
    packet = DF + rest
    theirs = aprslib.parse(packet)
    if "bearing" in theirs and text.startswith("bearing"):
        assert int(text.split()[1]) == int(theirs["bearing"])
    entries, _ = taken([packet])
    place, found = understand(state_at([]), entries, NOW)
    assert (place.entry.text, place.reading is not None) == (packet, True)
    assert found.entry.text == f"{text} from {packet}"
    assert (found.entry.subject, found.entry.sender) == (subject, "XX0AA")
    assert not found.problem
    assert found.entry.assumed
    assert found.entry.reading.lat_deg == pytest.approx(49 + 3.5 / 60, abs=1e-7)


def test_a_bearing_needs_the_symbol_and_a_circle():
    """Chapter 8: without the symbol of a direction finder the figures mean something else."""
    assert len(taken(["XX0AA>APZ001:=4903.50N/07201.75W>088/036/270/729"])[0]) == 1
    entries, _ = taken([DF + "088/036/470/729"])
    assert "more than 360" in entries[1].problem


BAD = ["2026-02-30T09:20:00Z XX0AC>APZ001:!4701.20N/00803.00E-", "$GPZDA,120000,30,02,2026,00,00",
       "0001-01-01T00:00+14:00 XX0AC>APZ001:@011200z4701.20N/00803.00E-", "A>B: x (99999/99999)",
       "A>B: x (0/0)", "XX0AB>APZ001:" + "}XX0AB>APZ001:" * 120 + "!", "310905Z A>B: y",
       sentence("GPGGA,996199,4701.200,N,00803.000,E,1,08,0.9,545.4,M,46.9,M,,"),
       "$GPDTM", "\x00\x1b[2J", "{", "x" * 5_000]  # fmt: skip


@pytest.mark.parametrize("bad", BAD)
@pytest.mark.parametrize("stream", [True, False])
def test_one_bad_line_stops_nothing(bad, stream):
    lines = [gga(NOW), bad, gga(NOW + dt.timedelta(seconds=1), "4701.300,N,00803.000,E")]
    entries, tally = taken(lines, stream=stream)
    assert [e.text for e in entries if e.text in lines[::2]] == lines[::2]
    assert len(entries) + sum(tally.left.values()) >= len(lines)
    understand(state_at([]), entries, NOW)


@settings(deadline=None, max_examples=300)
@given(st.lists(st.text(max_size=60), max_size=4), st.booleans())
def test_no_line_breaks_the_reader(lines, stream):
    for prefix in ("", "$GPRMC,", "XX0AA>APZ001:", "2026-03-14T09:00Z XX0AA>APZ001:!", HEAD):
        entries, _ = taken([prefix + line for line in lines], stream=stream)
        understand(state_at([]), entries, NOW)


class Ids:
    """Random parts that are not random."""

    def __init__(self):
        self.n = 0

    def __call__(self):
        self.n += 1
        return f"{self.n:012d}"


@settings(deadline=None, max_examples=60)
@given(
    st.integers(0, 12),
    st.integers(0, 12),
    st.lists(st.integers(0, 3), min_size=12, max_size=12),
    st.booleans(),
)
def test_following_goes_on_where_it_stopped(tmp_path_factory, first, second, kinds, pauses):
    """However often it is stopped, the log holds everything, and every second once."""
    path = tmp_path_factory.mktemp("grows") / "grows.txt"
    lines = []
    for k, kind in enumerate(kinds):
        now = NOW + dt.timedelta(seconds=k // 2)
        lines.append([gga(now), rmc(now), "all well", f"{HEAD}note part ({k % 2 + 1}/2)"][kind])
    events = ()
    for end in (min(first, second), max(first, second), len(lines)):
        path.write_text("".join(f"{line}\n" for line in lines[:end]))
        reader = LineReader(path.name, near_utc=NOW, stream=True)
        held = Held.of(events, path.name)
        assert not held or held.begins(list(present_entries(path, reader, held)))
        made = []
        for number, text, cut in followed_lines(path, lambda: False):
            made += held.without(held.take(reader, number, text, cut=cut))
            if pauses:
                made += held.without(reader.finish())
        made += held.without(reader.finish())
        tip = Tip(len(events), events[-1].hash) if events else Tip()
        events += tuple(chained(made, tip, desk="Base", entered_utc=NOW, random_part=Ids()))
    reader = LineReader(path.name, near_utc=NOW, stream=True)
    whole = entries_of_lines(((n, line, False) for n, line in enumerate(lines, 1)), reader)
    words = [sorted((e.source.line, e.text) for e in all_ if e.text[:1] != "$")
             for all_ in (events, whole)]  # fmt: skip
    assert words[0] == words[1]
    seconds = [sorted(e.text.split(",")[1] for e in all_ if e.text[:1] == "$")
               for all_ in (events, whole)]  # fmt: skip
    assert seconds[0] == seconds[1]


def test_another_file_of_the_same_name_is_known(tmp_path):
    path = tmp_path / "grows.txt"
    path.write_text("other words\n")
    event = chained(
        [Entry("report", "all well", source=None)], Tip(), desk="B", entered_utc=NOW,
        random_part=Ids(),
    )[0]  # fmt: skip
    assert not Held.of([event], path.name)
    reader = LineReader(path.name, near_utc=NOW, stream=True)
    first = reader.take(1, "all well")
    events = chained(first, Tip(), desk="B", entered_utc=NOW, random_part=Ids())
    held = Held.of(events, path.name)
    assert held
    assert not held.begins(list(present_entries(path, reader, held)))


def test_a_named_pipe_waits_for_its_next_writer(tmp_path):
    path = tmp_path / "pipe"
    os.mkfifo(path)

    def speak():
        for text in ("first\n", "second"):
            with path.open("w") as pipe:
                pipe.write(text)
            time.sleep(0.05)

    thread = threading.Thread(target=speak)
    thread.start()
    found, waits = [], iter(range(400))

    def wait():
        time.sleep(0.01)
        return len(found) < 2 and next(waits, None) is not None

    for _, text, _ in followed_lines(path, wait):
        found.append(text)
    thread.join()
    assert found == ["first", "second"]


def test_the_receivers_counts_are_shared():
    reader = LineReader("x")
    assert isinstance(reader._receiver, Receiver)
    assert reader._receiver.tally is reader.tally
