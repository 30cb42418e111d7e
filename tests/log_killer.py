"""A program that starts writers of a log and kills them at random moments.

`python log_killer.py LOG KILLS SEED` prints the id of every event that was acknowledged. It is a
program of its own, for it forks: a process with threads should not.
"""

import os
import random
import signal
import sys
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parent.parent)]

from log_examples import NINE, Ids, report  # noqa: E402 - the path comes first

from plotter.log.store import open_log  # noqa: E402 - the same


def kill_at_random(where, chance, kills):
    """Start writers and kill each at a random moment; every id that was acknowledged.

    A forked writer has the store loaded already, so that the kills fall among the writes.
    """
    acknowledged = []
    for _ in range(kills):
        mine, theirs = os.pipe()
        child = os.fork()
        if not child:
            write_until_killed(where, theirs)
        os.close(theirs)
        # Some are killed while they open the log, most in the middle of a write.
        wanted = chance.choice((0, 1, 2, 5, 20))
        said = b""
        while said.count(b"\n") < wanted and (part := os.read(mine, 4096)):
            said += part
        signal.setitimer(signal.ITIMER_REAL, chance.uniform(1e-5, 4e-3))
        signal.sigwait({signal.SIGALRM})
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        while part := os.read(mine, 4096):
            said += part
        os.close(mine)
        acknowledged += said.decode().split("\n")[:-1]  # a cut line was not read by anybody
    return acknowledged


def write_until_killed(where, pipe):
    """In the child: append one event after another, and say each id once it is acknowledged."""
    try:
        with open_log(where) as log:
            ids = Ids(int.from_bytes(os.urandom(5), "big"))
            while True:
                (event,) = log.append(
                    [report("word " * (1 + event_size(ids)))],
                    desk="Base", entered_utc=NINE, random_part=ids,
                )  # fmt: skip
                os.write(pipe, event.id.encode() + b"\n")
    finally:
        os._exit(1)


def event_size(ids):
    """Now and then an event that does not fit into one page."""
    return 4_000 if int(ids(), 16) % 40 == 0 else 3


def main(where, kills, seed):
    signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGALRM})
    found = kill_at_random(where, random.Random(int(seed)), int(kills))  # noqa: S311 - no secret
    print(*found, sep="\n")


if __name__ == "__main__":
    main(*sys.argv[1:])
