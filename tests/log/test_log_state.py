"""From events to what was believed: corrections, read-backs, withdrawals, conflicts, times."""

import datetime as dt
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from log_examples import Ids, chain, minutes, report

from plotter.geodesy.position import Area, Position
from plotter.log.events import Entry, Tip, chained, state_at
from plotter.log.events.event import Chosen
from plotter.log.incident import open_questions, picture_of_state, said_lines, understand


class Desk:
    """A desk that writes one event after another, by a clock of its own."""

    def __init__(self, name, start=0):
        self.name, self.events, self._ids = name, [], Ids(start)

    def __call__(self, entry, at):
        last = self.events[-1] if self.events else None
        tip = Tip(last.number, last.hash) if last else Tip()
        (event,) = chained(
            [entry], tip, desk=self.name, entered_utc=minutes(at), random_part=self._ids
        )
        self.events.append(event)
        return event


def correction(of, text, **named):
    return Entry(
        "correction", text, sender=of[0].sender, refers_to=tuple(e.id for e in of), **named
    )


def confirmation(of, **named):
    return Entry("confirmation", "", refers_to=(of.id,), **named)


def withdrawal(of):
    return Entry("withdrawal", "a mistake", refers_to=(of.id,))


@pytest.fixture
def base():
    return Desk("Base")


@pytest.fixture
def harbour():
    return Desk("Harbour", 1000)


def test_a_correction_replaces_and_keeps(base):
    first = base(report("47.0N 8.0E"), 0)
    second = base(correction([first], "47.1N 8.0E"), 5)
    (line,) = state_at(base.events).lines
    assert (line.first, line.current, line.versions) == (first, second, (second,))
    assert not line.conflict
    assert not line.confirmed


def test_what_was_believed_at_a_time(base):
    first = base(report("47.0N 8.0E"), 0)
    base(correction([first], "47.1N 8.0E"), 10)
    base(report("48.0N 8.0E", said_utc=minutes(2)), 20)
    assert state_at(base.events, minutes(-1)).lines == ()
    (line,) = state_at(base.events, minutes(9)).lines
    assert line.current.text == "47.0N 8.0E"
    (line,) = state_at(base.events, minutes(10)).lines
    assert line.current.text == "47.1N 8.0E"
    # Said at two minutes past, but nobody here knew before twenty past.
    assert [line.first.text for line in state_at(base.events, minutes(20)).lines] == [
        "47.0N 8.0E", "48.0N 8.0E",
    ]  # fmt: skip


def test_a_confirmation_is_of_what_stood(base):
    first = base(report("47.0N 8.0E"), 0)
    base(confirmation(first), 1)
    assert state_at(base.events).lines[0].confirmed
    base(correction([first], "47.1N 8.0E"), 2)
    assert not state_at(base.events).lines[0].confirmed


def test_a_withdrawn_report_is_kept_and_may_stand_again(base):
    first = base(report("47.0N 8.0E"), 0)
    gone = base(withdrawal(first), 1)
    (line,) = state_at(base.events).lines
    assert line.withdrawn
    assert not line.conflict
    assert picture_of_state(state_at(base.events)).positions == ()
    (note,) = picture_of_state(state_at(base.events)).notes
    assert note.said.text == "note withdrawn: 47.0N 8.0E"
    base(correction([gone], "47.0N 8.0E"), 2)
    (line,) = state_at(base.events).lines
    assert not line.withdrawn
    assert len(picture_of_state(state_at(base.events)).positions) == 1


def test_two_corrections_of_one_report_are_a_conflict_until_a_person_settles_it(base, harbour):
    first = base(report("47.0N 8.0E"), 0)
    one = base(correction([first], "47.1N 8.0E"), 5)
    other = harbour(correction([first], "47.2N 8.0E"), 6)
    state = state_at([*base.events, *harbour.events])
    (line,) = state.conflicts
    assert set(line.heads) == {one, other}
    picture = picture_of_state(state)
    assert {p.said.text for p in picture.positions} == {"47.1N 8.0E", "47.2N 8.0E"}
    for position in picture.positions:
        assert any("was corrected differently" in asked for asked in position.questions)
        assert "'47.1N 8.0E'" in position.questions[0]
        assert "'47.2N 8.0E'" in position.questions[0]
    harbour(correction([one, other], "47.3N 8.0E"), 7)
    state = state_at([*base.events, *harbour.events])
    assert state.conflicts == ()
    assert state.lines[0].current.text == "47.3N 8.0E"


def test_desks_that_corrected_alike_agree(base, harbour):
    first = base(report("47.0N 8.0E"), 0)
    base(correction([first], "47.1N 8.0E"), 5)
    harbour(correction([first], "47.1N 8.0E"), 6)
    assert state_at([*base.events, *harbour.events]).conflicts == ()


def test_a_correction_that_knew_of_the_other_is_no_conflict(base, harbour):
    first = base(report("47.0N 8.0E"), 0)
    one = base(correction([first], "47.1N 8.0E"), 5)
    harbour(correction([one], "47.2N 8.0E"), 6)
    state = state_at([*base.events, *harbour.events])
    assert state.conflicts == ()
    assert state.lines[0].current.text == "47.2N 8.0E"


def test_withdrawn_here_and_corrected_there_is_a_conflict(base, harbour):
    first = base(report("47.0N 8.0E"), 0)
    base(withdrawal(first), 5)
    harbour(correction([first], "47.2N 8.0E"), 6)
    state = state_at([*base.events, *harbour.events])
    assert len(state.conflicts) == 1
    (position,) = picture_of_state(state).positions
    assert "withdrawn" in position.questions[0]


def test_what_follows_an_event_of_another_log_is_kept_and_said(base, harbour):
    first = base(report("47.0N 8.0E"), 0)
    harbour(correction([first], "47.2N 8.0E"), 6)
    state = state_at(harbour.events)
    (line,) = state.lines
    assert line.stray
    (position,) = picture_of_state(state).positions
    assert "merge the other log" in position.questions[0]
    assert not any(line.stray for line in state_at([*base.events, *harbour.events]).lines)


def test_a_forged_circle_loses_nothing():
    (a,) = chain("Base", correction([report_event()], "a"))
    (b,) = chain("Other", correction([a], "b"), start=5)
    a = a._replace(refers_to=(b.id,))
    state = state_at([a, b])
    assert {e.text for line in state.lines for e in (line.first, *line.versions)} == {"a", "b"}


def report_event():
    return chain("Else", report())[0]


def test_copies_of_one_event_that_differ_are_both_shown(base):
    first = base(report("47.0N 8.0E"), 0)
    changed = first._replace(rest=first.rest.replace("47.0N", "48.0N"), hash="f" * 64)
    state = state_at([first, changed])
    assert {line.first.text for line in state.lines} == {"47.0N 8.0E", "48.0N 8.0E"}
    (pair,) = state.contradictions
    assert set(pair) == {first, changed}


def test_a_clock_that_goes_back_does_not_reorder(base):
    for at, text in ((60, "one"), (0, "two"), (5, "three"), (61, "four")):
        base(report(text), at)
    assert [line.first.text for line in state_at(base.events).lines] == [
        "one", "two", "three", "four",
    ]  # fmt: skip
    assert [line.first.text for line in state_at(base.events, minutes(60)).lines] == [
        "one", "two", "three",
    ]  # fmt: skip
    assert [said.text for said in said_lines(state_at(base.events))] == [
        "one", "two", "three", "four",
    ]  # fmt: skip


def test_the_order_of_desks_is_the_same_everywhere(base, harbour):
    for i in range(6):
        base(report(f"base {i}"), 2 * i)
        harbour(report(f"harbour {i}"), 2 * i + i % 2)
    events = [*base.events, *harbour.events]
    expected = state_at(events)
    for seed in range(20):
        shuffled = events[:]
        random.Random(seed).shuffle(shuffled)  # noqa: S311 - no secret
        assert state_at(shuffled) == expected


@st.composite
def histories(draw):
    """Random events of two desks that report, correct, confirm and withdraw."""
    desks = [Desk("Base"), Desk("Harbour", 1000)]
    every = []
    for _ in range(draw(st.integers(1, 14))):
        desk = draw(st.sampled_from(desks))
        kind = draw(st.sampled_from(["report", "correction", "confirmation", "withdrawal"]))
        of = draw(st.sampled_from(every)) if every and kind != "report" else None
        if of is None:
            entry = report(draw(st.sampled_from(["47N 8E", "48.2N, up the hill", "note x"])))
        else:
            entry = Entry(kind, "47N 9E", sender="x", refers_to=(of.id,))
        every.append(desk(entry, draw(st.integers(-30, 30))))
    return every


@given(histories(), st.randoms(use_true_random=False), st.integers(-30, 30))
def test_every_event_is_in_the_state_once_whatever_the_order(events, chance, at):
    state = state_at(events)
    shuffled = events[:]
    chance.shuffle(shuffled)
    assert state_at(shuffled) == state
    held = [e for line in state.lines for e in (line.first, *line.versions, *line.confirmations)]
    assert sorted(held) == sorted(events)
    assert all(line.heads for line in state.lines)
    then = state_at(events, minutes(at))
    # What was known then is the beginning of each desk's chain.
    for desk in ("Base", "Harbour"):
        numbers = sorted(e.number for e in then.events if e.desk == desk)
        assert numbers == list(range(1, len(numbers) + 1))
    picture_of_state(state)  # nothing that can be written down stops the picture


def test_a_stated_time_orders_the_picture_and_not_the_belief(base):
    base(report("47.5N 8.0E"), 0)
    base(report("47.0N 8.0E", said_utc=minutes(-30)), 1)
    state = state_at(base.events)
    assert [line.first.text for line in state.lines] == ["47.5N 8.0E", "47.0N 8.0E"]
    assert [said.text for said in said_lines(state)] == ["47.0N 8.0E", "47.5N 8.0E"]


def test_the_chosen_reading_stays_the_chosen_one(base):
    words = "18S 323483 4306479"  # band S, or south
    state = state_at(base.events)
    (found,) = understand(state, [report(words)], minutes(0))
    assert len(found.others) == 1
    other = found.others[0].square.centre
    chosen = Chosen("utm", words, other.lat_deg, other.lon_deg, 1.0)
    base(report(words, reading=chosen), 0)
    (position,) = picture_of_state(state_at(base.events)).positions
    assert position.reading.square.centre == other
    assert position.others[0].square.centre == found.reading.square.centre
    # A confirmation settles it the other way; the words decide what is possible.
    first = found.reading.square.centre
    back = Chosen("utm", words, first.lat_deg, first.lon_deg, 1.0)
    base(confirmation(base.events[0], reading=back), 1)
    (position,) = picture_of_state(state_at(base.events)).positions
    assert position.reading.square.centre == first
    base(confirmation(base.events[0], reading=Chosen("utm", "", 1.0, 2.0, 1.0)), 2)
    (position,) = picture_of_state(state_at(base.events)).positions
    assert position.reading.square.centre == first


def test_new_entries_are_read_beside_what_is_known(base):
    base(Entry("area", "area 30 km around 47N 8E", sender="Base"), 0)
    base(Entry("place", "place 47.01N 8.02E", sender="Base", subject="chapel"), 1)
    entries = [
        report("MT 20000 10000"),
        report("at the chapel", "Team 2"),
        report("48.2N, no idea", "Team 3"),
        report("bearing 45", "Team 1", subject="signal"),
        report("kept", "Team 4", problem="no time"),
        report("searched 500 m around the chapel 70 %", "Team 5"),
    ]
    found = understand(state_at(base.events), entries, minutes(5))
    assert [each.entry.kind for each in found] == [
        "report", "report", "report", "report", "report", "searched",
    ]  # fmt: skip
    assert found[0].entry.assumed == ("zone 32T, from the area of operations",)
    assert found[0].entry.reading.text == "32TMT2000010000"
    assert (found[1].entry.reading.lat_deg, found[1].problem) == (47.01, "")
    assert "cannot read '48.2N, no idea'" in found[2].problem
    assert found[2].entry.reading is None
    assert "true north, as no north was stated" in found[3].entry.assumed
    assert any("North not stated" in asked for asked in found[3].questions)
    assert found[4].problem == "no time"
    # Chosen as data, so that it is known later what it was taken for.
    assert found[3].entry.reading.format == "bearing"


def test_open_questions_end_with_a_confirmation(base):
    base(report("47.01, 8.02"), 0)
    area = Area(Position(47, 8), 30_000)
    state = state_at(base.events)
    asked = open_questions(state, picture_of_state(state, area=area))
    assert {name for name, _ in asked} == {"1"}
    assert any("latitude first" in question for _, question in asked)
    base(confirmation(base.events[0]), 1)
    state = state_at(base.events)
    assert open_questions(state, picture_of_state(state, area=area)) == ()
    base(report("48.2N, up the hill"), 2)
    state = state_at(base.events)
    ((name, why),) = open_questions(state, picture_of_state(state, area=area))
    assert name == "3"
    assert "cannot read '48.2N, up the hill'" in why


def test_times_of_other_zones_are_kept_as_utc(base):
    zone = dt.timezone(dt.timedelta(hours=2))
    event = base(report(said_utc=dt.datetime(2026, 3, 14, 11, 0, tzinfo=zone)), 0)
    assert event.said_utc == minutes(0)
    assert event.said_utc.utcoffset() == dt.timedelta(0)


def test_a_new_entry_is_read_alike_beside_all_and_beside_what_matters(base):
    """Only places, areas and who is named are read again: it must make no difference."""
    chance = random.Random(1)  # noqa: S311 - no secret
    base(Entry("area", "area 30 km around 47N 8E", sender="Base"), 0)
    base(Entry("place", "place 47.01N 8.02E", sender="Base", subject="The Old Mill"), 1)
    for i in range(120):
        sender = f"Team {chance.randrange(6)}"
        base(report(f"47.{chance.randrange(99):02d}N 8.{chance.randrange(9)}E", sender), 2 + i)
    state = state_at(base.events)
    entries = [
        report("at the old mill", "Team 1"),
        report("2 km on 90 true from team 2", "Team 3", subject="casualty"),
        report("bearing 45 true", "Team 4", subject="signal"),
        report("bearing 45 true from nowhere", "Team 5", subject="signal"),
        report("47.99N 8.01E", "Team 0"),
        report("halfway between Team 1 and the old mill", "Team 2", subject="boat"),
    ]
    for entry in entries:
        (found,) = understand(state, [entry], minutes(200))
        whole = chained(
            [entry], Tip(), desk="New", entered_utc=minutes(200), random_part=Ids(10**6)
        )
        picture = picture_of_state(state_at([*base.events, *whole]))
        reports = (*picture.positions, *picture.bearings, *picture.unread)
        (same,) = [each for each in reports if each.said.name == "New-1"]
        if found.problem:
            assert same.reason == found.problem
            continue
        if found.reading:
            assert same.reading == found.reading
        asked = tuple(q for q in same.questions if not q.startswith("Assumed "))
        assert asked == found.questions
