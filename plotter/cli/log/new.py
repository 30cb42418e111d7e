"""`plotter log new FILE`: make the log of an incident."""

from pathlib import Path

import click

from plotter.cli.echo import echo
from plotter.cli.log.common import FILE, JSON, clock_utc, machine
from plotter.cli.options import as_json, say

__all__ = ["command"]


@click.command("new")
@FILE
@click.option("--title", help="What the incident is called.  [default: the file's name]")
@click.option("--desk", envvar="PLOTTER_DESK", help="This desk's name.  [default: the machine's]")
@JSON
def command(file: str, title: str | None, desk: str | None, *, json_output: bool) -> None:
    """Make the log of an incident in FILE, which must not exist.

    FILE is the whole log: copy it, send it, merge it. FILE.copy beside it is a second copy of every
    entry as text; it serves when FILE is damaged. On a server, FILE is
    postgresql://host/database?incident=NAME.
    """
    from plotter.log.store import new_log

    name = title or Path(file.partition("?")[0]).stem
    with new_log(
        file, title=name, made_utc=clock_utc(), desk=desk or machine(), machine=machine()
    ) as log:
        made = log.incident
    if json_output:
        as_json({"file": file, "title": made.title, "desk": made.desk})
    else:
        echo(file)
        say(f"The log of {made.title!r}, written by {made.desk!r}. Next, for example:")
        say(f"  plotter log add {file} --from 'Ridge team' 27H UT 81370 48420")
