"""`plotter log`: what was said, by whom and when, kept for ever, and what was made of it."""

from typing import Final

import click

from plotter.cli.late import LateGroup

__all__ = ["command"]

_COMMANDS: Final = {
    "new": "Make the log of an incident.",
    "add": "Write down a report, or many: a file, stdin, a receiver.",
    "list": "Everything in the log, a line each.",
    "show": "One entry with its corrections, its reading and its read-back.",
    "correct": "Correct an entry; what was said first is kept.",
    "confirm": "Note that an entry was read back and is right.",
    "withdraw": "Take an entry back; it is kept and no longer plotted.",
    "at": "What was believed at a time.",
    "check": "Look for damage: the file, every hash, every chain.",
    "rescue": "Save what can be saved of a damaged log into a new one.",
    "merge": "Two or more logs into one: nothing is lost, nothing is decided.",
    "handover": "The page for the next shift and for the record, HTML or PDF.",
    "export": "Write what stands: GeoJSON, GPX, KML, GeoPackage, CSV, messages.",
}


@click.group("log", cls=LateGroup, package="plotter.cli.log", late=_COMMANDS)
def command() -> None:
    """Keep an incident's log.

    FILE is a log made by 'plotter log new', or postgresql://host/database?incident=NAME. An entry
    is named by its number, or by desk and number where several desks wrote: 12, Base-12.
    """
