"""The store on SQLite and on PostgreSQL: one suite, what is acknowledged is there and in order."""

import datetime as dt
import subprocess

import pytest
from log_examples import NINE, Ids, chain, full_entry, minutes, report, writer_command

from plotter.errors import LogError
from plotter.log.events import Record, chain_faults, encoded, hash_of
from plotter.log.store import new_log, open_log

IDS = Ids()


def append(log, *entries, desk="Base", at=NINE):
    return log.append(entries, desk=desk, entered_utc=at, random_part=IDS)


def record(event):
    return Record(event.desk, event.number, bytes.fromhex(event.hash), encoded(event))


def test_what_was_written_is_read_again_by_another_program(made, opened):
    written = append(made, report(), full_entry())
    found = opened().read()
    assert found.events == written
    assert found.damage == ()
    assert [event.number for event in written] == [1, 2]
    assert written[1].before == written[0].hash == hash_of(encoded(written[0]))


def test_the_log_knows_what_it_is_of(made, opened):
    assert opened().incident == made.incident
    assert (made.incident.title, made.incident.desk) == ("Storm", "Base")


def test_chains_go_on_after_opening_again(made, opened):
    append(made, report("one"))
    append(opened(), report("two"))
    append(made, report("three"), desk="Harbour")
    append(opened(), report("four"))
    events = made.read().events
    assert sorted((e.desk, e.number, e.text) for e in events) == [
        ("Base", 1, "one"), ("Base", 2, "two"), ("Base", 3, "four"), ("Harbour", 1, "three"),
    ]  # fmt: skip
    assert chain_faults(events) == ()


def test_all_or_nothing(made, opened):
    append(made, report("before"))

    def runs_out():
        raise RuntimeError("no more ids")

    parts = iter(["a" * 12])
    with pytest.raises((RuntimeError, StopIteration)):
        made.append(
            [report("one"), report("two")],
            desk="Base", entered_utc=NINE, random_part=lambda: next(parts),
        )  # fmt: skip
    with pytest.raises(RuntimeError):
        made.append([report()], desk="Base", entered_utc=NINE, random_part=runs_out)
    assert [event.text for event in opened().read().events] == ["before"]
    append(made, report("after"))
    assert [event.text for event in made.read().events] == ["before", "after"]


def test_many_at_once_are_in_order(made):
    written = append(made, *(report(f"word {i}") for i in range(500)))
    assert made.read().events == written
    assert chain_faults(written) == ()


def test_nothing_to_write_is_no_error(made):
    assert append(made) == ()


def test_two_processes_write_one_chain(made):
    writers = [
        subprocess.Popen(writer_command(made.where, "Base", 40), stdout=subprocess.PIPE, text=True)
        for _ in range(2)
    ]
    acknowledged = [line for w in writers for line in w.communicate()[0].split()[1:]]
    assert [w.returncode for w in writers] == [0, 0]
    events = made.read().events
    assert len(acknowledged) == 80
    assert {event.id for event in events} == set(acknowledged)
    assert sorted(event.number for event in events) == list(range(1, 81))
    # Each writer of the test has a clock of its own.
    assert {fault.kind for fault in chain_faults(events)} <= {"clock"}


def test_a_clock_that_goes_back_loses_nothing_and_keeps_the_order(made):
    append(made, report("one"), at=minutes(60))
    append(made, report("two"), at=minutes(0))
    append(made, report("three"), at=dt.datetime(1970, 1, 1, tzinfo=dt.UTC))
    events = made.read().events
    assert [event.text for event in sorted(events, key=lambda e: e.number)] == [
        "one", "two", "three",
    ]  # fmt: skip
    assert [fault.kind for fault in chain_faults(events)] == ["clock", "clock"]


def test_records_of_another_log_are_added_once(made, opened):
    own = append(made, report("own"))
    other = chain("Harbour", report("a"), report("b"))
    assert made.add_records([record(event) for event in (*other, *own)]) == 2
    assert made.add_records([record(event) for event in other]) == 0
    assert set(opened().read().events) == {*own, *other}


def test_a_damaged_record_of_another_log_is_kept_and_named(made, opened):
    (event,) = chain("Harbour", report("alpha"))
    broken = record(event)._replace(body=encoded(event)[:-3] + b"???")
    made.add_records([broken])
    made.add_records([broken])
    found = opened().read()
    assert found.events == ()
    (damage,) = found.damage
    assert damage.lost is not None
    assert damage.lost.body == broken.body
    # Once the whole event comes from elsewhere, there is nothing left to say.
    made.add_records([record(event)])
    assert opened().read().damage == ()
    assert opened().read().events == (event,)


def test_different_events_under_one_number_are_both_kept(made):
    one = chain("Base", report("one"), start=0)
    two = chain("Base", report("two"), start=9)
    made.add_records([record(event) for event in (*one, *two)])
    events = made.read().events
    assert set(events) == {*one, *two}
    assert [fault.kind for fault in chain_faults(events)] == ["fork"]
    # The chain goes on from one of them.
    (third,) = append(made, report("three"))
    assert third.number == 2
    assert [fault.kind for fault in chain_faults(made.read().events)] == ["fork"]


def test_a_long_text_is_kept_whole(made, opened):
    text = "wörd " * 200_000
    (written,) = append(made, report(text))
    assert opened().read().events == (written,)


@pytest.mark.parametrize("desk", ["", "  ", "a\tb", "x" * 41])
def test_a_desk_needs_a_name_that_can_be_typed(made, desk):
    with pytest.raises(LogError, match="cannot be the name of a desk"):
        append(made, report(), desk=desk)


def test_a_log_is_not_made_twice(made, where):
    append(made, report())
    with pytest.raises(LogError, match=r"already|exists"):
        new_log(where, title="Other", made_utc=NINE, desk="Base")
    assert len(made.read().events) == 1


def test_a_server_holds_many_incidents(postgres_database):
    for name in ("north", "south"):
        with new_log(
            f"{postgres_database}&incident=many-{name}", title=name, made_utc=NINE, desk="Base"
        ) as log:
            append(log, report(name))
    for name in ("north", "south"):
        with open_log(f"{postgres_database}&incident=many-{name}") as log:
            assert [event.text for event in log.read().events] == [name]
            assert log.incident.title == name
    with pytest.raises(LogError, match=r"many-north, many-south.*say which"):
        open_log(postgres_database)
    with pytest.raises(LogError, match="many-north"):
        open_log(f"{postgres_database}&incident=absent")


def test_a_server_that_is_not_there_is_named_without_its_password(tmp_path):
    url = f"postgresql://user:secret@/x?host={tmp_path}"
    with pytest.raises(LogError, match="cannot be opened") as caught:
        open_log(url)
    assert "secret" not in str(caught.value)


def test_what_is_no_log_is_refused(tmp_path):
    with pytest.raises(LogError, match="no log at"):
        open_log(tmp_path / "absent.log")
    empty = tmp_path / "empty.log"
    empty.touch()
    with pytest.raises(LogError, match="is empty"):
        open_log(empty)


def test_opening_and_reading_changes_no_byte(tmp_path):
    path = tmp_path / "storm.log"
    with new_log(path, title="Storm", made_utc=NINE, desk="Base") as log:
        append(log, report())
    before = path.read_bytes()
    with open_log(path) as log:
        log.read()
    assert path.read_bytes() == before
    assert sorted(each.name for each in tmp_path.iterdir()) == ["storm.log", "storm.log.copy"]


def test_a_log_that_may_not_be_written_can_be_read(tmp_path):
    """A locked stick: SQLite would want to make files beside a log; root may write anywhere."""
    path = tmp_path / "storm.log"
    with new_log(path, title="Storm", made_utc=NINE, desk="Base") as log:
        append(log, report("kept"))
    path.chmod(0o444)
    tmp_path.chmod(0o555)
    try:
        with open_log(path) as log:
            assert [event.text for event in log.read().events] == ["kept"]
    finally:
        tmp_path.chmod(0o755)
