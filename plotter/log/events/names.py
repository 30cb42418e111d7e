"""Short names of events that a person can type: 12, Base-12, and what they stand for."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

from plotter.errors import LogError
from plotter.log.events.event import Event

__all__ = ["event_named", "short_names"]


def short_names(events: Iterable[Event]) -> dict[str, str]:
    """Shortest sure name of every event, by its hash.

    The number where one desk alone wrote, else desk and number; where several events share both,
    the end of the id, or of the hash, is put behind.
    """
    every = list(events)
    one_desk = len({event.desk for event in every}) == 1
    shared = Counter((event.desk, event.number) for event in every)
    ids = Counter(event.id for event in every)
    names: dict[str, str] = {}
    for event in every:
        name = str(event.number) if one_desk else f"{event.desk}-{event.number}"
        if shared[event.desk, event.number] > 1:
            last = event.hash if ids[event.id] > 1 else event.id
            name = f"{event.desk}-{event.number}-{last[-4:]}"
        names[event.hash] = name
    return names


def event_named(events: Sequence[Event], text: str, names: Mapping[str, str]) -> Event:
    """The event that a short name, or an id, stands for.

    Parameters
    ----------
    events : sequence of Event
        Of a log.
    text : str
        What was typed: ``12``, ``base-12``, an id.
    names : mapping
        Of `short_names`.

    Raises
    ------
    LogError
        If no event or more than one is meant; the message lists what could be.
    """
    wanted = text.strip().lower().lstrip("#")
    exact = [e for e in events if wanted in (e.id.lower(), names[e.hash].lower())]
    found = exact or [
        e for e in events if wanted in (str(e.number), f"{e.desk}-{e.number}".lower())
    ]
    if len(found) == 1:
        return found[0]
    if not found:
        last = names[events[-1].hash] if events else "none so far"
        raise LogError(
            f"no event is called {text!r}: expected a number as shown by 'plotter log list' (the "
            f"last one is {last})"
        )
    meant = ", ".join(names[e.hash] for e in found[:5])
    raise LogError(f"{text!r} can mean {len(found)} events: say which of {meant}")
