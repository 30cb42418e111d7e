"""`plotter log withdraw FILE ENTRY`: take it back; it is kept and no longer plotted."""

import click

from plotter.cli.log.common import FILE, JSON, WRITER, desk_of, heard, line_named, read
from plotter.cli.log.writing import follow
from plotter.log.events.event import Entry

__all__ = ["command"]


@click.command("withdraw")
@FILE
@click.argument("entry")
@click.argument("text", nargs=-1)
@WRITER
@JSON
def command(
    file: str,
    entry: str,
    text: tuple[str, ...],
    desk: str,
    operator: str,
    channel: str,
    *,
    json_output: bool,
) -> None:
    """Take back ENTRY; TEXT is the reason. 'plotter log correct' lets it stand again."""
    from plotter.log.store import open_log

    with open_log(file) as log:
        _, state = read(log)
        line = line_named(state, entry)
        new = Entry(
            "withdrawal",
            heard(text),
            sender=line.current.sender,
            operator=operator,
            channel=channel,
            refers_to=tuple(head.id for head in line.heads),
        )
        follow(log, state, line, new, desk=desk_of(log, desk), json_output=json_output)
