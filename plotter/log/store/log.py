"""A log on a disk or a server: opened by one call, appended to, read, merged."""

import datetime as dt
from collections.abc import Callable, Iterable, Sequence
from hashlib import sha256
from pathlib import Path
from types import TracebackType
from typing import Final, Self

import sqlalchemy as sa

from plotter.errors import DamagedLog, LogError
from plotter.log.events.bulk import many_values
from plotter.log.events.chain import Tip, chained_bodies
from plotter.log.events.event import Entry, Event, checked_desk
from plotter.log.events.merge import Record
from plotter.log.store.contents import Contents, Damage, record_of, understood
from plotter.log.store.database import Database, Incident
from plotter.log.store.engines import postgres, sqlite_file
from plotter.log.store.salvage import salvaged
from plotter.log.store.second_copy import SecondCopy
from plotter.log.where import copy_beside, is_url

__all__ = ["Log", "new_log", "open_log"]

_NOBODY: Final = Incident("", "", "", "", "")
_OTHER_LOG: Final = "its bytes do not agree with its hash"


class Log:
    """An incident's log; from `open_log` or `new_log`, to be closed or used in a `with`.

    One thread at a time; several processes may have the same log open.

    Attributes
    ----------
    where : str
        File or URL, as it is to be named to a person.
    incident : Incident
        Key, title, desk and time of making; empty where the file is too damaged to tell.
    broken : str
        Why the database cannot be read; empty where it can. Of a broken one everything that can be
        found is read, and nothing is written to it.
    copy : SecondCopy or None
        The copy beside a file.
    """

    def __init__(
        self, where: str, database: Database | None, incident: Incident, path: Path | None
    ) -> None:
        self.where, self.incident = where, incident
        self.broken = ""
        self.copy = SecondCopy(path) if path is not None else None
        self._database, self._path = database, path

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the log. What was acknowledged is durable without it."""
        if self._database is not None:
            self._database.close()
        if self.copy is not None:
            self.copy.close()

    def append(
        self,
        entries: Sequence[Entry],
        *,
        desk: str,
        entered_utc: dt.datetime,
        random_part: Callable[[], str],
    ) -> tuple[Event, ...]:
        """Write events at the end of a desk's chain, all or none; on return they are durable.

        Parameters
        ----------
        entries : sequence of Entry
            What to write, in order.
        desk : str
            Whose chain; processes that write at the same time wait for each other.
        entered_utc : datetime
            The desk's clock, aware.
        random_part : callable
            See `plotter.log.events.chained`.

        Raises
        ------
        LogError
            If they could not be stored: then none of them was.
        """
        desk = checked_desk(desk)
        pairs: list[tuple[Event, bytes]] = []

        def rows_after(tip: Tip) -> list[tuple[int, bytes, bytes]]:
            pairs.extend(
                chained_bodies(
                    entries, tip, desk=desk, entered_utc=entered_utc, random_part=random_part
                )
            )
            return [(event.number, bytes.fromhex(event.hash), body) for event, body in pairs]

        self._sound_database().append(desk, rows_after)
        if self.copy is not None and pairs:
            self.copy.add([(event.hash, body) for event, body in pairs])
        return tuple(event for event, _ in pairs)

    def add_records(self, records: Iterable[Record]) -> int:
        """Add records of another log as they are, all or none; how many events were new.

        A record that does not agree with its hash is kept apart, among the damaged ones.
        """
        events: list[Record] = []
        damaged: list[tuple[bytes, bytes, str]] = []
        with many_values():
            for record in records:
                _, _, digest, body = record
                if sha256(body).digest() == digest:
                    events.append(record)
                else:
                    damaged.append((digest, body, _OTHER_LOG))
            new = self._sound_database().add(events, damaged)
        if self.copy is not None and new:
            self.copy.add((digest.hex(), body) for _, _, digest, body in new)
        return len(new)

    def read(self) -> Contents:
        """Everything that is in the log, each event held against its hash.

        Of a damaged log everything that can be found is read: in the database, in its pages below
        the database, and in the copy beside it. What is wrong is named in `damage`.
        """
        # First the copy: an event in it was in the database before.
        last = self.copy.last() if self.copy is not None else None
        if (stored := self._stored()) is None:
            return self._read_below()
        records, kept = stored
        contents = understood(records, self.copy.sound() if self.copy else ())
        if last is not None and all(e.hash != last.hex() for e in reversed(contents.events)):
            contents = self._with_copied(contents)
        return _with_kept(contents, kept)

    def records(self) -> tuple[Record, ...]:
        """Everything as stored, damaged records as well, for a merge."""
        if (stored := self._stored()) is None:
            return self.found_below()
        records, kept = stored
        return (*records, *(Record("", 0, digest, body) for digest, body, _ in kept))

    def stored_faults(self) -> tuple[str, ...]:
        """What the database itself finds wrong; empty on a server."""
        if self._database is None or self.broken:
            return (self.broken,)
        return self._database.integrity()

    def found_below(self) -> tuple[Record, ...]:
        """Every sound record in the pages of the file and in its copy, once; empty on a server."""
        if self._path is None:
            return ()
        copied = dict(self.copy.sound()) if self.copy is not None else {}
        found = copied | dict(salvaged(self._path))
        return tuple(record_of(digest, body) for digest, body in found.items())

    def _stored(self) -> tuple[list[Record], list[tuple[bytes, bytes, str]]] | None:
        """Records, and damaged ones kept apart; None where the database cannot be read."""
        if self._database is None or self.broken:
            return None
        try:
            return self._database.records(), self._database.damaged()
        except DamagedLog as error:
            self.broken = str(error)
            return None

    def _with_copied(self, contents: Contents) -> Contents:
        """Contents with the events that only the copy has: the file is an older one."""
        assert self.copy is not None  # noqa: S101 - asked before
        held = {event.hash for event in contents.events} | {r.digest.hex() for r in contents.newer}
        copied = understood(
            record_of(digest, body)
            for digest, body in self.copy.sound()
            if digest.hex() not in held
        )
        if not copied.events:
            return contents
        words = (
            f"{len(copied.events)} events are in {self.copy.path.name} only, and were taken from "
            "there: the file is older than its copy"
        )
        return contents._replace(
            events=contents.events + copied.events, damage=(*contents.damage, Damage(words))
        )

    def _read_below(self) -> Contents:
        """What is left of a broken file and in its copy, by hash."""
        records = self.found_below()
        contents = understood(records)
        words = (
            f"the file cannot be read as a database: {len(records)} events were found in its pages "
            "and in the copy"
        )
        return contents._replace(damage=(Damage(words),))

    def _sound_database(self) -> Database:
        if self._database is None or self.broken:
            raise DamagedLog(
                f"{self.where} is damaged and nothing is written to it: make a sound file with "
                f"'plotter log rescue {self.where} -o NEW' and go on with that one"
            )
        return self._database


def _with_kept(contents: Contents, kept: Sequence[tuple[bytes, bytes, str]]) -> Contents:
    """Contents with the damaged records of other logs whose events are still not to be had."""
    if not kept:
        return contents
    held = {event.hash for event in contents.events}
    apart = tuple(
        Damage(f"a damaged record, kept as it came: {why}", Record("", 0, digest, body))
        for digest, body, why in kept
        if digest.hex() not in held
    )
    return contents._replace(damage=contents.damage + apart)


def open_log(where: str | Path) -> Log:
    """Open a log; nothing is changed by it, an older version is brought up to date by a write.

    Parameters
    ----------
    where : str or Path
        A file, or ``postgresql://host/database?incident=NAME``.

    Raises
    ------
    LogError
        If there is none, or it was written by a newer version. A damaged one opens.
    """
    if is_url(where):
        url, key = _incident_of(str(where))
        return _opened(url, Database(postgres(url), _shown(url)), key, None)
    path = Path(where)
    whole = path.is_file() and path.stat().st_size
    if not whole and copy_beside(path).is_file():
        return _broken(path, f"{where} is gone, its copy is there")
    if not path.is_file():
        raise LogError(f"no log at {str(where)!r}: make one with 'plotter log new'")
    if not path.stat().st_size:
        raise LogError(f"{str(where)!r} is empty: was it made by 'plotter log new'?")
    try:
        return _opened(str(where), Database(sqlite_file(path), str(where)), "", path)
    except DamagedLog as error:
        return _broken(path, str(error))


def _broken(path: Path, why: str) -> Log:
    log = Log(str(path), None, _NOBODY, path)
    log.broken = why
    return log


def new_log(
    where: str | Path, *, title: str, made_utc: dt.datetime, desk: str, machine: str = ""
) -> Log:
    """Make a log and open it.

    Parameters
    ----------
    where : str or Path
        A file that does not exist yet, or ``postgresql://host/database?incident=NAME``.
    title : str
        What the incident is called.
    made_utc : datetime
        Now, aware.
    desk : str
        The desk that writes where nothing else is said, and
    machine : str
        on which machine; elsewhere the log is a copy, and another desk's.

    Raises
    ------
    LogError
        If the file or the incident exists already, or cannot be made.
    """
    desk = checked_desk(desk)
    made = made_utc.astimezone(dt.UTC).isoformat()
    if is_url(where):
        url, key = _incident_of(str(where))
        incident = Incident(key or title, title, desk, machine, made)
        database = Database(postgres(url), _shown(url))
        path = None
    else:
        path = Path(where)
        if path.exists():
            raise LogError(f"{str(where)!r} exists already: nothing was changed; choose a new name")
        if (copy := copy_beside(path)).exists():
            raise LogError(
                f"{str(copy)!r} is the copy of another log: choose a new name, or move it away; "
                f"'plotter log rescue {where} -o NEW' makes a log of it"
            )
        incident = Incident(title, title, desk, machine, made)
        database = Database(sqlite_file(path, make=True), str(where))
    try:
        database.make(incident)
    except BaseException:
        database.close()
        raise
    return Log(str(where), database, incident, path)


def _opened(where: str, database: Database, key: str, path: Path | None) -> Log:
    try:
        return Log(where, database, database.open(key), path)
    except BaseException:
        database.close()
        raise


def _incident_of(where: str) -> tuple[str, str]:
    """URL for the server, and the incident that was named in it."""
    try:
        url = sa.engine.make_url(where)
    except sa.exc.ArgumentError as error:
        raise LogError(f"{where!r} is no URL of a database: {error}") from error
    key = url.query.get("incident", "")
    plain = url.difference_update_query(["incident"])
    return plain.render_as_string(hide_password=False), key if isinstance(key, str) else key[0]


def _shown(url: str) -> str:
    return sa.engine.make_url(url).render_as_string(hide_password=True)
