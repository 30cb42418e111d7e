"""Writers that are killed, disks that are full: what was acknowledged is there, and in order."""

import random
import subprocess
import sys

import pytest
from log_examples import NINE, ROOT, Ids, report, writer_command

from plotter.log.events import chain_faults
from plotter.log.store import check, new_log, open_log

MANY = 1_000


@pytest.mark.parametrize("kills", [25, pytest.param(MANY, marks=pytest.mark.slow)])
def test_no_acknowledged_event_is_lost_to_a_kill(tmp_path, kills):
    where = tmp_path / "storm.log"
    new_log(where, title="Storm", made_utc=NINE, desk="Base").close()
    acknowledged = []
    for seed in range(0, kills, 25):
        killer = [sys.executable, ROOT / "tests" / "log_killer.py", where, "25", str(seed)]
        result = subprocess.run(killer, capture_output=True, text=True, check=True)
        acknowledged += result.stdout.split()
        with open_log(where) as log:
            found = check(log)
            events = log.read().events
        assert found.sound, found
        assert chain_faults(events) == ()
        assert set(acknowledged) <= {event.id for event in events}
    extra = len(events) - len(acknowledged)
    assert 0 <= extra <= kills  # written and durable, but killed before it could be said
    assert len(acknowledged) > kills
    print(f"\n{kills} kills, {len(acknowledged)} events acknowledged, none lost, {extra} more")


@pytest.mark.parametrize("kills", [5, pytest.param(100, marks=pytest.mark.slow)])
def test_no_acknowledged_event_is_lost_to_a_kill_of_a_client_of_a_server(made, kills):
    chance, acknowledged = random.Random(7), []  # noqa: S311 - no secret
    for _ in range(kills):
        writer = subprocess.Popen(
            writer_command(made.where, "Base", 10_000), stdout=subprocess.PIPE, text=True
        )
        for _ in range(chance.randrange(2, 40)):
            acknowledged.append(writer.stdout.readline().strip())
        writer.kill()
        rest = writer.stdout.read()
        acknowledged += rest.split("\n")[:-1]
        writer.wait()
        writer.stdout.close()
    acknowledged = [each for each in acknowledged if each != "ready"]
    events = made.read().events
    assert set(acknowledged) <= {event.id for event in events}
    assert {fault.kind for fault in chain_faults(events)} <= {"clock"}  # each starts at nine
    assert 0 <= len(events) - len(acknowledged) <= kills


FILLS_THE_DISK = f"""
import resource, secrets, signal, sys
sys.path.insert(0, {str(ROOT)!r})
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
import datetime as dt
from plotter.errors import LogError
from plotter.log.events import Entry
from plotter.log.store import open_log
now = dt.datetime(2026, 3, 14, 9, 0, tzinfo=dt.UTC)
with open_log(sys.argv[1]) as log:
    resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[2]), resource.RLIM_INFINITY))
    for i in range(100_000):
        try:
            (event,) = log.append([Entry("report", "word " * 50, sender="Team")], desk="Base",
                                  entered_utc=now, random_part=lambda: secrets.token_hex(6))
        except LogError as error:
            print("refused", error)
            break
        print(event.id, flush=True)
"""


@pytest.mark.parametrize("limit", [60_000, 131_072, 300_001])
def test_a_full_disk_refuses_and_loses_nothing(tmp_path, limit):
    """A limit on the size of files stands for the disk: writes beyond it fail in the same way."""
    where = tmp_path / "storm.log"
    new_log(where, title="Storm", made_utc=NINE, desk="Base").close()
    result = subprocess.run(
        [sys.executable, "-c", FILLS_THE_DISK, str(where), str(limit)],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    *acknowledged, refused = result.stdout.strip().split("\n")
    assert refused.startswith("refused")
    assert "nothing was stored" in refused
    assert len(acknowledged) > 5
    with open_log(where) as log:
        events = log.read().events
        assert [event.id for event in events] == acknowledged
        assert check(log).sound
        # With room again, it goes on.
        (event,) = log.append([report()], desk="Base", entered_utc=NINE, random_part=Ids())
        assert event.number == len(acknowledged) + 1


def test_a_copy_that_cannot_be_written_is_said_and_refuses_nothing(tmp_path):
    where = tmp_path / "storm.log"
    with new_log(where, title="Storm", made_utc=NINE, desk="Base") as log:
        (tmp_path / "storm.log.copy").mkdir()
        log.append([report()], desk="Base", entered_utc=NINE, random_part=Ids())
        assert "storm.log.copy could not be written" in log.copy.problem
        assert len(log.read().events) == 1
        assert check(log).sound
        assert "1 of 1 events are not in storm.log.copy" in check(log).notes[0]
