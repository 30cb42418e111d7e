"""From events to what was believed at a time: each report with its corrections and conflicts."""

import datetime as dt
from collections.abc import Iterable
from typing import Final, NamedTuple

from plotter.log.events.bulk import many_values
from plotter.log.events.event import FOLLOWING, Chosen, Event
from plotter.log.events.order import in_order

__all__ = ["Line", "State", "state_at"]

_new: Final = tuple.__new__


class Line(NamedTuple):
    """A report, or another first event, with what was said of it later.

    Parameters
    ----------
    first : Event
        As it was first written down.
    versions : tuple of Event
        Corrections and withdrawals, in order.
    confirmations : tuple of Event
        Of any version, in order.
    heads : tuple of Event
        The versions that no other one replaces. Several that differ are a conflict: desks corrected
        without knowing of each other. It is shown, and decided by a correction of them all.
    stray : bool
        Whether it follows an event that this log does not hold.
    """

    first: Event
    versions: tuple[Event, ...]
    confirmations: tuple[Event, ...]
    heads: tuple[Event, ...]
    stray: bool = False

    @property
    def current(self) -> Event:
        """The version that counts; the first one of a conflict, in order."""
        return self.heads[0]

    @property
    def standing(self) -> tuple[Event, ...]:
        """The versions that count, withdrawals left out."""
        return tuple(head for head in self.heads if head.kind != "withdrawal")

    @property
    def withdrawn(self) -> bool:
        """Whether nothing of it stands any more."""
        return not self.standing

    @property
    def conflict(self) -> bool:
        """Whether versions stand beside each other that do not say the same."""
        return len(self.heads) > 1 and len({_said_by(head) for head in self.heads}) > 1

    @property
    def confirmed(self) -> bool:
        """Whether what counts now was read back and confirmed."""
        ids = {head.id for head in self.standing}
        return bool(ids) and any(ids.intersection(c.refers_to) for c in self.confirmations)

    def reading_of(self, head: Event) -> Chosen | None:
        """Reading of a version: the one that a confirmation settled, else its own."""
        settled = [c for c in self.confirmations if c.reading and head.id in c.refers_to]
        return settled[-1].reading if settled else head.reading


class State(NamedTuple):
    """What a log says at a time.

    Parameters
    ----------
    time_utc : datetime or None
        The time; None for everything.
    lines : tuple of Line
        In the order in which they were written down.
    events : tuple of Event
        All events up to that time, in the same order.
    contradictions : tuple of tuple of Event
        Different events under one id: one was changed after it was written. All are kept.
    """

    time_utc: dt.datetime | None
    lines: tuple[Line, ...]
    events: tuple[Event, ...]
    contradictions: tuple[tuple[Event, ...], ...] = ()

    @property
    def conflicts(self) -> tuple[Line, ...]:
        """Lines on which desks disagree."""
        return tuple(line for line in self.lines if line.conflict)


def state_at(events: Iterable[Event], time_utc: dt.datetime | None = None) -> State:
    """What was known at a time. A pure function of the events; their order does not matter.

    Parameters
    ----------
    events : iterable of Event
        Of one log, or of several.
    time_utc : datetime or None
        Only what was written down by then counts, whatever time it speaks of; a clock that went
        back does not take back what it had shown, see `plotter.log.events.order`.

    Returns
    -------
    State
        Every event is in it, on a line of its own or with the line that it follows.
    """
    with many_values():
        timed = in_order(events)
        if time_utc is not None:
            timed = [pair for pair in timed if pair[0] <= time_utc]
        ordered = [event for _, event in timed]
        following = [event for event in ordered if event.kind in FOLLOWING]
        if following:
            firsts = [event for event in ordered if event.kind not in FOLLOWING]
            lines = _with_followers(ordered, firsts, following)
        else:
            lines = [_alone(event) for event in ordered]
        return State(time_utc, tuple(lines), tuple(ordered), _contradictions(ordered))


def _alone(event: Event) -> Line:
    """A line that nothing was said of later."""
    return _new(Line, (event, (), (), (event,), False))


def _with_followers(
    ordered: list[Event], firsts: list[Event], following: list[Event]
) -> list[Line]:
    by_id: dict[str, Event] = {}
    for event in ordered:
        by_id.setdefault(event.id, event)
    root_of: dict[str, str] = {}
    followers: dict[str, list[Event]] = {}
    strays: list[Event] = []
    for event in following:
        root = _root(event, by_id, root_of)
        if root == event.id or root not in by_id:
            strays.append(event)
        else:
            followers.setdefault(root, []).append(event)
    lines: list[Line] = []
    taken: set[str] = set()
    for event in firsts:
        # Another event under the same id is a contradiction: what follows belongs to the first.
        own = followers.get(event.id) if event.id not in taken else None
        taken.add(event.id)
        lines.append(_line(event, own) if own else _alone(event))
    place = {id(event): i for i, event in enumerate(ordered)}
    lines += [_line(event, followers.get(event.id, []), stray=True) for event in strays]
    lines.sort(key=lambda line: place[id(line.first)])
    return lines


def _root(event: Event, by_id: dict[str, Event], root_of: dict[str, str]) -> str:
    """Id of the first event that an event follows, or its own where the way is lost."""
    path: list[str] = []
    at = event
    while at.id not in root_of:
        if at.kind not in FOLLOWING or at.id in path:
            root_of[at.id] = at.id
            break
        path.append(at.id)
        target = next((by_id[each] for each in at.refers_to if each in by_id), None)
        if target is None:
            root_of[at.id] = at.id
            break
        at = target
    root = root_of[at.id]
    for each in path:
        root_of[each] = root
    return root


def _line(first: Event, followers: list[Event], *, stray: bool = False) -> Line:
    versions = tuple(event for event in followers if event.kind != "confirmation")
    confirmations = tuple(event for event in followers if event.kind == "confirmation")
    replaced = {target for event in versions for target in event.refers_to if target != event.id}
    heads = tuple(event for event in (first, *versions) if event.id not in replaced)
    # Events that replace each other in a circle cannot be written, only forged: all are shown.
    return Line(first, versions, confirmations, heads or (first, *versions), stray)


def _said_by(event: Event) -> tuple[object, ...]:
    """What two versions must agree in to say the same."""
    if event.kind == "withdrawal":
        return ("withdrawal",)
    return (event.sender, event.subject, event.text, event.said_utc)


def _contradictions(ordered: list[Event]) -> tuple[tuple[Event, ...], ...]:
    ids = {event.id for event in ordered}
    if len(ids) == len(ordered):
        return ()
    by_id: dict[str, list[Event]] = {}
    for event in ordered:
        by_id.setdefault(event.id, []).append(event)
    return tuple(tuple(same) for same in by_id.values() if len(same) > 1)
