"""The log as values: events, their chains, their state at any time, the union of two logs."""

from plotter.log.events.chain import ChainFault, Tip, chain_faults, chained
from plotter.log.events.encoding import decoded, encoded, hash_of
from plotter.log.events.event import FOLLOWING, KINDS, Chosen, Entry, Event, Kind, Source
from plotter.log.events.merge import Record, merged
from plotter.log.events.state import Line, State, state_at

__all__ = [
    "FOLLOWING",
    "KINDS",
    "ChainFault",
    "Chosen",
    "Entry",
    "Event",
    "Kind",
    "Line",
    "Record",
    "Source",
    "State",
    "Tip",
    "chain_faults",
    "chained",
    "decoded",
    "encoded",
    "hash_of",
    "merged",
    "state_at",
]
