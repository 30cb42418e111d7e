"""Files that were cut or changed: what is lost is named, the rest opens, a rescue saves it."""

import random
import shutil
import sqlite3

import pytest
from log_examples import NINE, Ids, chain, report

from plotter.errors import DamagedLog, LogError
from plotter.log.events import Chosen, Record, chain_faults, encoded, hash_of, state_at
from plotter.log.incident import picture_of_state
from plotter.log.store import check, is_log, new_log, open_log, rescue

COUNT = 400


@pytest.fixture(scope="module")
def sound(tmp_path_factory):
    """A closed log of some hundred events, one in ten longer than a page, and its events."""
    path = tmp_path_factory.mktemp("sound") / "storm.log"
    chance = random.Random(3)  # noqa: S311 - no secret
    ids = Ids()
    with new_log(path, title="Storm", made_utc=NINE, desk="Base") as log:
        events = []
        for i in range(COUNT):
            words = chance.randrange(4_000) if i % 10 == 0 else chance.randrange(40)
            desk = "Harbour" if i % 3 == 0 else "Base"
            entry = report(f"{i} " + "word " * words)
            events += log.append([entry], desk=desk, entered_utc=NINE, random_part=ids)
    return path, events


@pytest.fixture
def copied(sound, tmp_path):
    """A copy of that log to be damaged, with or without the second copy beside it."""

    def make(*, second_copy):
        path = tmp_path / "storm.log"
        shutil.copy(sound[0], path)
        if second_copy:
            shutil.copy(sound[0].with_name("storm.log.copy"), tmp_path / "storm.log.copy")
        return path

    return make


def look_and_rescue(path, events, tmp_path, seed):
    """What every damaged log must allow; the events that are left and what the check says."""
    assert is_log(path)
    before = path.read_bytes()
    with open_log(path) as log:
        found = log.read()
        findings = check(log)
        out = tmp_path / f"rescued-{seed}.log"
        saved = rescue(log, out, made_utc=NINE, desk="Base")
    # Nothing is made up and nothing is read wrongly.
    assert set(found.events) <= set(events)
    assert len(set(found.events)) == len(found.events)
    # A number that is not there is named, unless it was the last of its desk.
    gaps = {
        (fault.desk, number)
        for fault in chain_faults(found.events)
        if fault.kind == "missing"
        for number in range(fault.first, fault.last + 1)
    }
    there = {(e.desk, e.number) for e in found.events}
    last = {"Base": 0, "Harbour": 0} | dict(sorted(there))
    lost = {(e.desk, e.number) for e in events} - there
    assert {(desk, number) for desk, number in lost if number < last[desk]} == gaps
    if lost:
        assert not findings.sound
    # The rescued log holds at least as much, in a file that is sound.
    with open_log(out) as log:
        assert log.stored_faults() == ()
        assert set(log.read().events) >= set(found.events)
        assert len(log.read().events) == saved.events
    assert path.read_bytes() == before
    state_at(found.events)
    return found, findings


@pytest.mark.parametrize("seed", range(12))
def test_bytes_changed_anywhere(copied, sound, tmp_path, seed):
    path = copied(second_copy=False)
    chance = random.Random(seed)  # noqa: S311 - no secret
    data = bytearray(path.read_bytes())
    for _ in range(1 + seed % 4):
        at = chance.randrange(len(data))
        data[at] ^= 1 << chance.randrange(8)
    path.write_bytes(data)
    found, _ = look_and_rescue(path, sound[1], tmp_path, seed)
    # A changed byte costs the event that it stands in, or none.
    assert len(found.events) >= COUNT - 4


@pytest.mark.parametrize("seed", range(6))
def test_whole_stretches_overwritten(copied, sound, tmp_path, seed):
    path = copied(second_copy=False)
    chance = random.Random(100 + seed)  # noqa: S311 - no secret
    data = bytearray(path.read_bytes())
    size = chance.choice((512, 4_096, 20_000))
    at = chance.randrange(0, len(data) - size)
    data[at : at + size] = chance.randbytes(size)
    path.write_bytes(data)
    found, findings = look_and_rescue(path, sound[1], tmp_path, seed)
    assert len(found.events) > COUNT // 2
    assert not findings.sound


@pytest.mark.parametrize("seed", range(8))
def test_files_cut_short(copied, sound, tmp_path, seed):
    path = copied(second_copy=False)
    chance = random.Random(200 + seed)  # noqa: S311 - no secret
    data = path.read_bytes()
    path.write_bytes(data[: chance.randrange(1_000, len(data))])
    found, findings = look_and_rescue(path, sound[1], tmp_path, seed)
    assert not findings.sound
    if path.stat().st_size > len(data) // 2:
        assert len(found.events) > COUNT // 4


@pytest.mark.parametrize("seed", range(9))
def test_with_the_second_copy_nothing_is_lost(copied, sound, tmp_path, seed):
    """Bytes changed, stretches overwritten, cut short, down to an empty file."""
    path = copied(second_copy=True)
    chance = random.Random(300 + seed)  # noqa: S311 - no secret
    data = bytearray(path.read_bytes())
    if seed % 3 == 0:
        for _ in range(20):
            data[chance.randrange(len(data))] ^= 0xFF
    elif seed % 3 == 1:
        at = chance.randrange(len(data) - 50_000)
        data[at : at + 50_000] = chance.randbytes(50_000)
    else:
        data = data[: chance.randrange(200, len(data))]
    path.write_bytes(data)
    with open_log(path) as log:
        saved = rescue(log, tmp_path / "new.log", made_utc=NINE, desk="Base")
        found = log.read()
    assert saved.events == COUNT
    assert saved.missing == ()
    with open_log(tmp_path / "new.log") as log:
        assert set(log.read().events) == set(sound[1])
        assert check(log).sound
    if log.broken or found.damage:
        assert set(found.events) == set(sound[1])


@pytest.mark.parametrize("seed", range(4))
def test_a_damaged_copy_takes_nothing_from_a_sound_log(copied, sound, seed):
    path = copied(second_copy=True)
    copy = path.with_name("storm.log.copy")
    chance = random.Random(400 + seed)  # noqa: S311 - no secret
    data = bytearray(copy.read_bytes()[: -chance.randrange(1, 1_000)])
    for _ in range(30):
        data[chance.randrange(len(data))] ^= 0xFF
    copy.write_bytes(data)
    with open_log(path) as log:
        assert set(log.read().events) == set(sound[1])
        findings = check(log)
        assert findings.sound
        assert "not in storm.log.copy" in findings.notes[0]
        # It goes on behind the line that was cut.
        log.append([report("on")], desk="Base", entered_utc=NINE, random_part=Ids(9_000))
        assert any(body.count(b"\ton\t") for _, body in log.copy.sound())


def test_a_changed_text_is_named_isolated_and_the_rest_opens(copied, sound):
    path = copied(second_copy=False)
    data = path.read_bytes()
    assert data.count(b"\t33 word") == 1
    path.write_bytes(data.replace(b"\t33 word", b"\t33 wOrd"))
    with open_log(path) as log:
        found = log.read()
        (damage,) = found.damage
        assert len(found.events) == COUNT - 1
        wanted = sound[1][33]
        assert damage.words.startswith(f"{wanted.desk}-{wanted.number}: its bytes do not agree")
        assert "33 wOrd" in damage.words  # what is left of it can be read
        findings = check(log)
        assert not findings.sound
        assert f"{wanted.desk}: {wanted.number} is not there" in [f.words for f in findings.faults]
        # The rest can be written on.
        log.append([report("on")], desk="Base", entered_utc=NINE, random_part=Ids(9_000))
        assert len(log.read().events) == COUNT


def test_a_changed_hash_costs_nothing(copied, sound):
    path = copied(second_copy=False)
    event = next(e for e in sound[1] if e.number == 20)
    database = sqlite3.connect(path)
    database.execute(
        "UPDATE plotter_events SET hash = ? WHERE desk = ? AND number = 20", (b"x" * 32, event.desk)
    )
    database.commit()
    database.close()
    with open_log(path) as log:
        found = log.read()
        assert set(found.events) == set(sound[1])
        assert "the event is whole" in found.damage[0].words


def test_an_event_changed_with_its_hash_shows_in_the_chain(copied, sound):
    """Somebody who changes the past and puts its hash right as well."""
    path = copied(second_copy=False)
    event = next(e for e in sound[1] if e.desk == "Base" and e.number == 20)
    changed = event._replace(rest=event.rest.replace("word", "never"))
    body = encoded(changed)
    database = sqlite3.connect(path)
    database.execute(
        "UPDATE plotter_events SET hash = ?, body = ? WHERE desk = 'Base' AND number = 20",
        (bytes.fromhex(hash_of(body)), body),
    )
    database.commit()
    database.close()
    with open_log(path) as log:
        (fault,) = check(log).faults
        assert (fault.kind, fault.desk, fault.first, fault.last) == ("broken", "Base", 20, 21)


def test_a_row_filed_in_the_wrong_place_is_named(copied):
    path = copied(second_copy=False)
    database = sqlite3.connect(path)
    database.execute("UPDATE plotter_events SET desk = 'Bbse' WHERE desk = 'Base' AND number = 20")
    database.commit()
    database.close()
    with open_log(path) as log:
        (damage,) = log.read().damage
        assert damage.words == "Base-20: filed as Bbse-20"
        assert len(log.read().events) == COUNT


def test_nothing_is_written_to_a_broken_file(copied):
    path = copied(second_copy=True)
    path.write_bytes(b"\xff" * 300 + path.read_bytes()[300:])
    before = path.read_bytes()
    with open_log(path) as log:
        assert log.broken
        assert len(log.read().events) == COUNT
        with pytest.raises(DamagedLog, match="plotter log rescue"):
            log.append([report()], desk="Base", entered_utc=NINE, random_part=Ids())
    assert path.read_bytes() == before


def test_events_that_are_only_in_the_write_ahead_log_are_salvaged(tmp_path):
    """A machine that stopped: the file was never brought up to date, then it was damaged."""
    path = tmp_path / "storm.log"
    with new_log(path, title="Storm", made_utc=NINE, desk="Base") as log:
        events = log.append(
            [report(f"word {i}") for i in range(50)],
            desk="Base", entered_utc=NINE, random_part=Ids(),
        )  # fmt: skip
        other = tmp_path / "stopped"
        other.mkdir()
        for name in ("storm.log", "storm.log-wal"):
            shutil.copy(tmp_path / name, other / name)
    stopped = other / "storm.log"
    stopped.write_bytes(b"\0" * stopped.stat().st_size)
    (other / "storm.log.copy").touch()
    with open_log(stopped) as log:
        assert set(log.read().events) == set(events)


def test_what_a_transaction_did_not_finish_is_not_salvaged(tmp_path):
    """Pages in the write-ahead log after its last commit were never acknowledged."""
    from plotter.log.store.salvage import salvaged

    path = tmp_path / "storm.log"
    with new_log(path, title="Storm", made_utc=NINE, desk="Base") as log:
        events = log.append([report("one")], desk="Base", entered_utc=NINE, random_part=Ids())
        wal = tmp_path / "storm.log-wal"
        whole = wal.read_bytes()
        log.append([report("two")], desk="Base", entered_utc=NINE, random_part=Ids(5))
        cut = bytearray(wal.read_bytes())
        frames = range(32, len(cut) - 24, 8_192 + 24)
        last = max(at for at in frames if int.from_bytes(cut[at + 4 : at + 8], "big"))
        cut[last + 4 : last + 8] = bytes(4)
        other = tmp_path / "other.log"
        shutil.copy(path, other)
        (tmp_path / "other.log-wal").write_bytes(cut)
        assert len(cut) > len(whole)
        assert [digest.hex() for digest, _ in salvaged(other)] == [events[0].hash]


def test_a_file_that_is_older_than_its_copy_is_read_with_it(tmp_path):
    """The write-ahead log was left behind, or an old file was put back."""
    path = tmp_path / "storm.log"
    with new_log(path, title="Storm", made_utc=NINE, desk="Base") as log:
        log.append([report("one")], desk="Base", entered_utc=NINE, random_part=Ids())
    old = path.read_bytes()
    with open_log(path) as log:
        log.append([report("two")], desk="Base", entered_utc=NINE, random_part=Ids(5))
    path.write_bytes(old)
    with open_log(path) as log:
        found = log.read()
        assert [event.text for event in found.events] == ["one", "two"]
        assert "1 events are in storm.log.copy only" in found.damage[0].words
        assert not check(log).sound


def test_a_file_that_is_gone_is_rescued_from_its_copy(tmp_path):
    path = tmp_path / "storm.log"
    with new_log(path, title="Storm", made_utc=NINE, desk="Base") as log:
        (event,) = log.append([report("one")], desk="Base", entered_utc=NINE, random_part=Ids())
    for left in (b"", None):
        path.unlink() if left is None else path.write_bytes(left)
        assert is_log(path)
        with open_log(path) as log:
            assert log.read().events == (event,)
            assert not check(log).sound
            saved = rescue(log, tmp_path / f"new{left}.log", made_utc=NINE, desk="Base")
            assert saved.events == 1
    # Its name is not given to another log, whose copy it would be taken for.
    with pytest.raises(LogError, match="is the copy of another log"):
        new_log(path, title="Storm", made_utc=NINE, desk="Base")


def test_numbers_that_are_none_do_not_stop_the_rest(tmp_path):
    """Events that another program wrote, with the right hash and a reading that is nowhere."""
    path = tmp_path / "storm.log"
    (event,) = chain("Base", report("47N 8E", reading=Chosen("x", "y", 1.5, 2.5, 1.0)))
    with new_log(path, title="Storm", made_utc=NINE, desk="Base") as log:
        for numbers in ("1.5\tcat\t1.0", "91.5\t2.5\t1.0", "nan\t2.5\t1.0"):
            other = event._replace(rest=event.rest.replace("1.5\t2.5\t1.0", numbers))
            body = encoded(other)
            log.add_records([Record("Base", 1, bytes.fromhex(hash_of(body)), body)])
        events = log.read().events
    assert len(events) == 3
    assert len(picture_of_state(state_at(events)).positions) == 3
