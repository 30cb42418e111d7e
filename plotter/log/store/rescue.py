"""What is wrong with a log, and saving what can be saved of it into a new one."""

import datetime as dt
from pathlib import Path
from typing import NamedTuple

from plotter.log.events.chain import ChainFault, chain_faults
from plotter.log.events.encoding import encoded
from plotter.log.events.event import Event
from plotter.log.events.merge import Record, merged
from plotter.log.events.state import state_at
from plotter.log.store.contents import Damage
from plotter.log.store.log import Log, new_log

__all__ = ["Findings", "Rescued", "check", "rescue"]


class Findings(NamedTuple):
    """What a check found; a sound log has only notes.

    Parameters
    ----------
    events : int
        Events whose hash is right.
    database : tuple of str
        What the database finds wrong with its file.
    damage : tuple of Damage
        Damaged records, named.
    faults : tuple of ChainFault
        Missing, forked and changed events, and clocks that went back.
    contradictions : tuple of tuple of Event
        Different events under one id.
    notes : tuple of str
        What is no damage, but worth knowing.
    """

    events: int
    database: tuple[str, ...]
    damage: tuple[Damage, ...]
    faults: tuple[ChainFault, ...]
    contradictions: tuple[tuple[Event, ...], ...]
    notes: tuple[str, ...]

    @property
    def sound(self) -> bool:
        """Whether nothing is damaged or missing; a clock that went back is neither."""
        faults = [fault for fault in self.faults if fault.kind != "clock"]
        return not (self.database or self.damage or faults or self.contradictions)


class Rescued(NamedTuple):
    """What a rescue saved: events, damaged records kept as they are, and what is still missing."""

    events: int
    damaged: int
    missing: tuple[ChainFault, ...]


def check(log: Log) -> Findings:
    """Look at everything: the file, every hash, every chain, and the copy beside it."""
    database = log.stored_faults()
    contents = log.read()
    if log.broken and not database:
        database = (log.broken,)
    notes: list[str] = []
    damage = contents.damage
    if log.copy is not None:
        copied = {digest.hex() for digest, _ in log.copy.sound()}
        held = {event.hash for event in contents.events} | {r.digest.hex() for r in contents.newer}
        if copied - held:
            words = f"{len(copied - held)} events are in {log.copy.path.name} only: rescue the log"
            damage = (*damage, Damage(words))
        if held - copied:
            notes.append(
                f"{len(held - copied)} of {len(held)} events are not in {log.copy.path.name}, "
                "the second copy"
            )
    if contents.newer:
        notes.append(f"{len(contents.newer)} records are of a newer version; they are kept")
    state = state_at(contents.events)
    return Findings(
        len(contents.events),
        database,
        damage,
        chain_faults(contents.events),
        state.contradictions,
        tuple(notes),
    )


def rescue(
    log: Log, out: str | Path, *, made_utc: dt.datetime, desk: str, machine: str = ""
) -> Rescued:
    """Save everything that can be saved into a new log.

    Parameters
    ----------
    log : Log
        A damaged log, or a sound one.
    out : str or Path
        The new log, which must not exist.
    made_utc : datetime
        Now, aware.
    desk, machine : str
        Where the damaged log cannot tell.
    """
    contents = log.read()
    every = [Record(e.desk, e.number, bytes.fromhex(e.hash), encoded(e)) for e in contents.events]
    held = {each.digest for each in (*every, *contents.newer)}
    every += [record for record in log.found_below() if record.digest not in held]
    lost = [each.lost for each in contents.damage if each.lost is not None]
    title = log.incident.title or Path(log.where).stem
    with new_log(
        out,
        title=title,
        made_utc=made_utc,
        desk=log.incident.desk or desk,
        machine=log.incident.machine or machine,
    ) as saved:
        saved.add_records(merged(every, contents.newer, lost))
        after = saved.read()
    missing = tuple(f for f in chain_faults(after.events) if f.kind == "missing")
    return Rescued(len(after.events), len(after.damage), missing)
