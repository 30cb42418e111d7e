"""Where events are kept: one SQLite file an incident, or PostgreSQL; opened by one call."""

from plotter.log.store.contents import Contents, Damage
from plotter.log.store.log import Log, new_log, open_log
from plotter.log.store.rescue import Findings, Rescued, check, rescue
from plotter.log.where import is_log

__all__ = [
    "Contents",
    "Damage",
    "Findings",
    "Log",
    "Rescued",
    "check",
    "is_log",
    "new_log",
    "open_log",
    "rescue",
]
