"""`plotter log confirm FILE ENTRY`: it was read back and is right."""

import click

from plotter.cli.log.common import FILE, JSON, WRITER, desk_of, heard, line_named, read
from plotter.cli.log.writing import follow
from plotter.errors import LogError
from plotter.log.events.event import Entry
from plotter.log.incident import reading_of

__all__ = ["command"]


@click.command("confirm")
@FILE
@click.argument("entry")
@click.argument("text", nargs=-1)
@click.option("--reading", type=int, help="Which of several meanings was confirmed: 2.")
@WRITER
@JSON
def command(
    file: str,
    entry: str,
    text: tuple[str, ...],
    reading: int | None,
    desk: str,
    operator: str,
    channel: str,
    *,
    json_output: bool,
) -> None:
    """Confirm ENTRY as it stands now; TEXT is what they answered, if it is worth keeping.

    A correction after it has to be confirmed again.
    """
    from plotter.log.store import open_log

    with open_log(file) as log:
        _, state = read(log)
        line = line_named(state, entry)
        if line.withdrawn:
            raise LogError(f"{entry} is withdrawn: 'plotter log correct' lets it stand again")
        chosen, assumed = (None, ()) if reading is None else reading_of(state, line, reading)
        new = Entry(
            "confirmation",
            heard(text),
            sender=line.current.sender,
            operator=operator,
            channel=channel,
            reading=chosen,
            assumed=assumed,
            refers_to=tuple(head.id for head in line.standing),
        )
        follow(log, state, line, new, desk=desk_of(log, desk), json_output=json_output)
