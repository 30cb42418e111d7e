"""`plotter log list FILE`: everything in the log, a line each."""

import click

from plotter.cli.echo import echo
from plotter.cli.log.common import FILE, JSON, read
from plotter.cli.log.entries import line_data, line_words, unread_of
from plotter.cli.options import as_json
from plotter.log.events.names import short_names

__all__ = ["command"]


@click.command("list")
@FILE
@click.option("--last", type=int, help="Only the last so many.")
@click.option("--open", "only_open", is_flag=True, help="Only what is not confirmed or withdrawn.")
@JSON
def command(file: str, last: int | None, *, only_open: bool, json_output: bool) -> None:
    """List the entries in the order in which they were written down, times in UTC."""
    from plotter.log.store import open_log

    with open_log(file) as log:
        _, state = read(log)
    names = short_names(state.events)
    unread = unread_of(state)
    lines = [
        line
        for line in state.lines
        if not only_open or line.conflict or not (line.confirmed or line.withdrawn)
    ]
    lines = lines[-last:] if last else lines
    if json_output:
        as_json({"entries": [line_data(line, names, unread) for line in lines]})
        return
    for line in lines:
        echo(line_words(line, names, unread))
    if not lines:
        echo("nothing yet")
