"""The command line: one file a command, loaded only when it is called.

Data goes to stdout, talk to stderr. Exit status: 0 done; 1 could not be done; 2 called wrongly;
3 done, but some lines of the report file could not be read.
"""

import io
import sys
from collections.abc import Sequence
from typing import Final

import click

from plotter.cli.echo import echo, say
from plotter.cli.late import LateGroup
from plotter.errors import PlotterError

__all__ = ["main"]

_COMMANDS: Final = {
    "convert": "Read a position and write it in every format.",
    "readback": "The words to read a position back with, a check, and a short form.",
    "between": "Distance and bearings from one position to another.",
    "north": "Declination and grid convergence at a position.",
    "log": "Keep an incident's log: write down, correct, confirm, look back, merge, rescue.",
    "fix": "Compute fixes from the bearings in a report file.",
    "next": "The best places to take the next bearing from.",
    "search": "Cut the region into sectors and say which to search first.",
    "board": "Make the offline map board from a report file.",
    "sheet": "Print a report file true to scale, with grid, romer and everything in words.",
    "tiles": "Map archives: list them, check an area, build one from map layers.",
    "ready": "Before you leave: is this machine fit for an area and a date?",
    "demo": "Read the invented demo incident and make its board.",
}


@click.group(
    cls=LateGroup,
    package="plotter.cli",
    late=_COMMANDS,
    context_settings={"help_option_names": ["-h", "--help"]},
)
@click.version_option(package_name="plotter")
def _group() -> None:
    """Offline position and bearing plotter for coordinating a rescue by radio.

    An aid to planning: positions are as reported. Read back before committing people. Not for
    navigation. Local rules and the authority in charge come first.
    """


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line; errors of the plotter become one line on stderr and exit status 1."""
    for stream in (sys.stdout, sys.stderr):
        # What was said may hold characters that this terminal cannot show.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    try:
        status = _group.main(args=arguments, prog_name="plotter", standalone_mode=False)
    except PlotterError as error:
        echo(f"plotter: {error}", err=True)
        sys.exit(1)
    except click.ClickException as error:
        shown = io.StringIO()
        error.show(shown)
        say(shown.getvalue().rstrip("\n"))
        sys.exit(error.exit_code)
    except click.Abort:
        echo("plotter: stopped", err=True)
        sys.exit(1)
    sys.exit(status if isinstance(status, int) else 0)
