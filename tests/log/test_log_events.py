"""Events as values: bytes and back, chains, names, the union of logs."""

import datetime as dt
import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st
from log_examples import NINE, chain, full_entry, minutes, report

from plotter.errors import LogError
from plotter.log.events import (
    KINDS,
    Chosen,
    Entry,
    Record,
    Source,
    Tip,
    chain_faults,
    chained,
    decoded,
    encoded,
    hash_of,
    merged,
)
from plotter.log.events.names import event_named, short_names

TEXT = st.text(st.characters(exclude_categories=[]), max_size=20)  # lone surrogates as well
TIMES = st.datetimes(timezones=st.just(dt.UTC))
READINGS = st.builds(
    Chosen,
    st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=8),
    TEXT,
    st.floats(-90, 90),
    st.floats(-180, 180, exclude_max=True),
    st.floats(0, 1e6),
)


@st.composite
def entries(draw):
    kind = draw(st.sampled_from(KINDS))
    follows = kind in ("correction", "confirmation", "withdrawal")
    ids = st.lists(st.text("abc-0", min_size=1, max_size=6), min_size=1, max_size=3).map(tuple)
    return Entry(
        kind,
        *(draw(TEXT) for _ in range(5)),
        said_utc=draw(st.none() | TIMES),
        received_utc=draw(st.none() | TIMES),
        reading=draw(st.none() | READINGS),
        assumed=tuple(draw(st.lists(TEXT.filter(bool), max_size=3))),
        problem=draw(TEXT),
        refers_to=draw(ids) if follows else (),
        source=draw(st.none() | st.builds(Source, TEXT, st.integers(0, 10**9))),
    )


@given(entries(), TIMES)
def test_an_event_is_the_same_after_its_bytes(entry, now):
    (event,) = chained([entry], Tip(), desk="Base", entered_utc=now, random_part=lambda: "0" * 12)
    body = encoded(event)
    assert b"\n" not in body
    assert decoded(body, hash_of(body)) == event
    for name in ("kind", "text", "sender", "subject", "operator", "channel", "reading", "assumed",
                 "problem", "refers_to", "source", "said_utc"):  # fmt: skip
        assert getattr(event, name) == getattr(entry, name)
    body.decode()


def test_bytes_and_hash_are_as_specified():
    """By the text of the specification alone, with nothing of ours but the event."""
    (event,) = chain("Base", report("27H UT", said_utc=minutes(5), assumed=("a", "b")))
    fields = [
        "event1", "", event.id, "Base", "1", "report", "", "2026-03-14T09:00:00Z",
        "2026-03-14T09:05:00Z", "2026-03-14T09:00:00Z", "Team 1", "", "", "", "27H UT",
        "", "", "", "", "", "a\x1fb", "", "", "",
    ]  # fmt: skip
    line = "\t".join(fields)
    assert encoded(event) == line.encode()
    assert event.hash == hashlib.sha256(line.encode()).hexdigest()
    (full,) = chain("Base", full_entry())
    assert b"tab\\there, line\\nthere, \\\\n back\\\\slash, NUL \\0, \\u, " in encoded(full)


@given(st.binary(max_size=200))
def test_bytes_that_are_no_event_are_refused(body):
    with pytest.raises(LogError, match="damaged, or of a newer version"):
        decoded(body, hash_of(body))


def test_an_event_of_a_newer_version_is_not_taken_for_one():
    (event,) = chain("Base", report())
    newer = encoded(event).replace(b"event1", b"event2")
    with pytest.raises(LogError, match="newer"):
        decoded(newer, hash_of(newer))


@pytest.mark.parametrize(
    ("named", "message"),
    [
        ({"kind": "rumour"}, "no kind of event"),
        ({"kind": "report", "said_utc": dt.datetime(2026, 3, 14)}, "no zone"),  # noqa: DTZ001
        ({"kind": "correction"}, "name the events"),
        ({"kind": "report", "refers_to": ("x",)}, "name the events"),
        ({"kind": "correction", "refers_to": ("a b",)}, "name the events"),
    ],
)
def test_entries_that_could_not_be_told_again_are_refused(named, message):
    with pytest.raises(LogError, match=message):
        Entry(text="x", **named)


def test_a_sound_chain_has_no_faults():
    assert chain_faults(chain("Base", *(report(str(i)) for i in range(9)))) == ()


def test_every_change_after_the_fact_shows():
    events = chain("Base", *(report(str(i)) for i in range(5)))
    for i, event in enumerate(events):
        if i == len(events) - 1:
            continue  # nothing follows the last one: its own hash is checked when it is read
        changed = event._replace(rest=event.rest.replace(f"\t{i}\t", "\tsomething else\t"))
        changed = changed._replace(hash=hash_of(encoded(changed)))
        (fault,) = chain_faults([*events[:i], changed, *events[i + 1 :]])
        assert (fault.kind, fault.first, fault.last) == ("broken", i + 1, i + 2)


def test_missing_events_are_named():
    events = chain("Base", *(report(str(i)) for i in range(9)))
    faults = chain_faults([events[0], *events[3:5], *events[6:]])
    assert [(f.kind, f.first, f.last) for f in faults] == [("missing", 2, 3), ("missing", 6, 6)]
    assert chain_faults(events[1:])[0].words == "Base: 1 is not there"


RECORDS = st.sets(
    st.builds(
        Record,
        st.sampled_from(["Base", "Harbour"]),
        st.integers(1, 4),
        st.sampled_from([b"aa", b"bb"]),
        st.sampled_from([b"one", b"two"]),  # the same hash over other bytes is damage, kept too
    ),
    max_size=12,
).map(tuple)


@given(RECORDS, RECORDS, RECORDS)
def test_merge_is_a_union(a, b, c):
    assert merged(a, b) == merged(b, a)
    assert merged(a, merged(b, c)) == merged(merged(a, b), c) == merged(a, b, c)
    assert merged(a, a) == merged(a)
    assert merged(a, b) == merged(merged(a, b), b)
    assert set(merged(a, b)) == {*a, *b}
    assert merged() == ()


def test_short_names_are_numbers_while_one_desk_writes():
    events = chain("Base", report("a"), report("b"))
    names = short_names(events)
    assert [names[event.hash] for event in events] == ["1", "2"]
    assert event_named(events, "2", names) is events[1]
    assert event_named(events, " #2", names) is events[1]
    assert event_named(events, events[0].id, names) is events[0]
    with pytest.raises(LogError, match=r"no event is called '3'.*the last one is 2"):
        event_named(events, "3", names)
    with pytest.raises(LogError, match="none so far"):
        event_named((), "3", {})


def test_names_of_several_desks_are_never_ambiguous():
    events = (*chain("Base", report("a"), report("b")), *chain("Harbour 2", report("c"), start=5))
    names = short_names(events)
    assert [names[event.hash] for event in events] == ["Base-1", "Base-2", "Harbour 2-1"]
    assert event_named(events, "base-1", names) is events[0]
    assert event_named(events, "2", names) is events[1]  # only one desk has a 2
    with pytest.raises(LogError, match="'1' can mean 2 events: say which of Base-1, Harbour 2-1"):
        event_named(events, "1", names)
    forked = (*chain("Base", report("a")), *chain("Base", report("b"), start=9))
    names = short_names(forked)
    assert len(set(names.values())) == 2
    for event in forked:
        assert event_named(forked, names[event.hash], names) is event


def test_ids_sort_by_number_within_a_desk():
    events = chain("Base", *(report(str(i)) for i in range(12)))
    assert sorted(event.id for event in events) == [event.id for event in events]
    assert events[0].received_utc == NINE
