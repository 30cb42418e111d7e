"""`plotter log at FILE TIME`: what was believed at a time."""

import datetime as dt

import click

from plotter.cli.echo import echo
from plotter.cli.log.common import CLOCK, FILE, JSON, read
from plotter.cli.log.entries import line_data, line_words
from plotter.cli.options import as_json
from plotter.log.events.names import short_names
from plotter.log.incident import open_questions, picture_of_state

__all__ = ["command"]


@click.command("at")
@FILE
@click.argument("time", type=CLOCK)
@JSON
def command(file: str, time: dt.datetime, *, json_output: bool) -> None:
    """Show what was believed at TIME (UTC: 14:20, or 2026-03-14T14:20Z).

    What was written down by then counts, with the corrections known by then; what was learnt later
    is left out, whatever time it speaks of.
    """
    from plotter.log.store import open_log

    with open_log(file) as log:
        _, state = read(log, time)
        title = log.incident.title
    names = short_names(state.events)
    picture = picture_of_state(state, title=title)
    unread = frozenset(each.said.name for each in picture.unread)
    asked = open_questions(state, picture)
    if json_output:
        as_json(
            {
                "time_utc": time.isoformat().replace("+00:00", "Z"),
                "title": picture.title,
                "entries": [line_data(line, names, unread) for line in state.lines],
                "open_questions": [{"name": name, "ask": ask} for name, ask in asked],
            }
        )
        return
    echo(f"{picture.title} at {time:%Y-%m-%d %H:%M:%S}Z: {len(state.lines)} entries")
    for line in state.lines:
        echo(line_words(line, names, unread))
    if asked:
        echo("To ask:")
        echo("\n".join(f"  {name}: {ask}" for name, ask in asked))
