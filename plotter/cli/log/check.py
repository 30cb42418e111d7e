"""`plotter log check FILE`: what is wrong with a log."""

import click

from plotter.cli.echo import echo
from plotter.cli.log.common import FILE, JSON
from plotter.cli.options import as_json

__all__ = ["command"]

_DAMAGED = 3


@click.command("check")
@FILE
@JSON
@click.pass_context
def command(ctx: click.Context, file: str, *, json_output: bool) -> None:
    """Look at the file, every hash and every chain of FILE, and at its second copy.

    Exit status 0: sound; 3: something is damaged, missing or contradictory, and is named.
    """
    from plotter.log.store import check, open_log

    with open_log(file) as log:
        found = check(log)
    contradictions = [
        f"{len(events)} different events have the id {events[0].id}"
        for events in found.contradictions
    ]
    wrong = [
        *found.database,
        *(each.words for each in found.damage),
        *(fault.words for fault in found.faults if fault.kind != "clock"),
        *contradictions,
    ]
    notes = [*(fault.words for fault in found.faults if fault.kind == "clock"), *found.notes]
    if json_output:
        as_json({"sound": found.sound, "events": found.events, "wrong": wrong, "notes": notes})
    else:
        echo(f"{found.events} events, each with the right hash")
        for words in wrong:
            echo(f"WRONG  {words}")
        for words in notes:
            echo(f"note   {words}")
        if found.sound:
            echo("sound")
        else:
            echo(f"To save everything that can be saved: plotter log rescue {file} -o NEW")
    ctx.exit(0 if found.sound else _DAMAGED)
