"""`plotter log rescue FILE -o OUT`: save what can be saved of a damaged log."""

import click

from plotter.cli.echo import echo
from plotter.cli.log.common import FILE, JSON, clock_utc, machine
from plotter.cli.options import as_json

__all__ = ["command"]

_SOME_MISSING = 3


@click.command("rescue")
@FILE
@click.option("-o", "--output", required=True, help="The new log, which must not exist.")
@JSON
@click.pass_context
def command(ctx: click.Context, file: str, output: str, *, json_output: bool) -> None:
    """Save everything that can be found of FILE, in it and in its second copy, into a new log.

    FILE is not changed. Exit status 3: entries are still missing; another desk's log may have them.
    """
    from plotter.log.store import open_log, rescue

    with open_log(file) as log:
        saved = rescue(log, output, made_utc=clock_utc(), desk=machine(), machine=machine())
    missing = [fault.words for fault in saved.missing]
    if json_output:
        as_json(
            {
                "file": output,
                "events": saved.events,
                "damaged_kept": saved.damaged,
                "missing": missing,
            }
        )
    else:
        echo(f"{saved.events} events saved into {output}")
        if saved.damaged:
            echo(f"{saved.damaged} damaged records are kept in it as they were found")
        for words in missing:
            echo(f"MISSING  {words}: ask again, or merge another desk's log")
    ctx.exit(_SOME_MISSING if missing or saved.damaged else 0)
