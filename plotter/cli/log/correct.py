"""`plotter log correct FILE ENTRY TEXT`: what it should have been; what was said first is kept."""

import datetime as dt

import click

from plotter.cli.log.common import CLOCK, FILE, JSON, WRITER, desk_of, heard, line_named, read
from plotter.cli.log.writing import write_down
from plotter.cli.options import AREA, say
from plotter.geodesy.position import Area
from plotter.log.events.event import Entry

__all__ = ["command"]


@click.command("correct", context_settings={"ignore_unknown_options": True})
@FILE
@click.argument("entry")
@click.argument("text", nargs=-1)
@click.option("--from", "sender", help="Who really said it.")
@click.option("--about", "subject", help="Whom or what it really is about.")
@click.option("--time", "said_utc", type=CLOCK, help="When it was really said, UTC: 14:05.")
@click.option("--reading", type=int, help="Which meaning is plotted, where several fit: 2.")
@click.option("--area", type=AREA, help="Area of operations, unless the log states it.")
@WRITER
@JSON
@click.pass_context
def command(
    ctx: click.Context,
    file: str,
    entry: str,
    text: tuple[str, ...],
    sender: str | None,
    subject: str | None,
    said_utc: dt.datetime | None,
    reading: int | None,
    area: Area | None,
    desk: str,
    operator: str,
    channel: str,
    *,
    json_output: bool,
) -> None:
    """Correct ENTRY: TEXT is the whole report as it should have been.

    What is not given stays as it is. Where desks corrected the same entry differently, this settles
    it: the correction replaces them all. A withdrawn entry stands again.
    """
    from plotter.log.store import open_log

    given = heard(text)
    if not given and not any((sender, subject is not None, said_utc, reading)):
        raise click.UsageError("say what it should have been")
    with open_log(file) as log:
        _, state = read(log)
        line = line_named(state, entry)
        old = line.standing[0] if line.standing else line.first
        if line.conflict:
            say(f"This settles what {len(line.heads)} desks had said differently.")
        new = Entry(
            "correction",
            given or old.text,
            sender=sender or old.sender,
            subject=old.subject if subject is None else subject,
            operator=operator,
            channel=channel or old.channel,
            said_utc=said_utc or old.said_utc,
            received_utc=old.received_utc,
            refers_to=tuple(head.id for head in line.heads),
        )
        status = write_down(
            log, [new], desk=desk_of(log, desk), area=area, reading=reading, json_output=json_output
        )
    ctx.exit(status)
