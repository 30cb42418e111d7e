"""One order for the events of all desks, the same on every machine."""

import datetime as dt
from collections.abc import Iterable
from operator import attrgetter, itemgetter
from typing import Final

from plotter.log.events.event import Event

__all__ = ["in_order"]

# Desk, number and hash of an event; the time of a pair.
_BY_CHAIN: Final = attrgetter("desk", "number", "hash")
_BY_TIME: Final = itemgetter(0)


def in_order(events: Iterable[Event]) -> list[tuple[dt.datetime, Event]]:
    """Events in the order in which they were written down, each with the time that it counts for.

    Within a desk the order is that of its chain, whatever its clock did: an event counts for the
    latest time that the desk's clock had shown by then. Between desks that time decides, then the
    name of the desk; so the order depends on the events alone, and not on which log came first.

    Parameters
    ----------
    events : iterable of Event
        In any order.

    Returns
    -------
    list of (datetime, Event)
        Times never go back.
    """
    chains = sorted(events, key=_BY_CHAIN)
    timed: list[tuple[dt.datetime, Event]] = []
    desk, latest = None, dt.datetime.min.replace(tzinfo=dt.UTC)
    for event in chains:
        entered = event.entered_utc
        if event.desk != desk:
            desk, latest = event.desk, entered
        elif entered > latest:
            latest = entered
        timed.append((latest, event))
    # Stable, so that desk, number and hash decide among equal times.
    timed.sort(key=_BY_TIME)
    return timed
