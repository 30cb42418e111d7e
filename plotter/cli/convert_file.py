"""`plotter convert --file`: a table of many positions, converted row by row."""

import dataclasses
import sys
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path
from typing import Any

import click

from plotter.cli.echo import echo
from plotter.cli.options import as_json, say
from plotter.exchange.tables import Counts, convert_table
from plotter.geodesy.position import Area

__all__ = ["convert_file"]

_STEPS = 1_000


def convert_file(
    text: tuple[str, ...],
    table: str | None,
    column: str | None,
    to: str | None,
    output: str | None,
    area: Area | None,
    layer: str | None,
    *,
    json_output: bool,
) -> int:
    """Convert a table and say what became of its rows; the exit status.

    Raises
    ------
    click.UsageError
        If the options do not make one table, one column and one output.
    """
    if table is None or column is None or output is None:
        given = {"--file": table, "--column": column, "-o": output}
        missing = ", ".join(name for name, value in given.items() if value is None)
        raise click.UsageError(f"a table needs --file, --column and -o: {missing} is missing")
    if text:
        raise click.UsageError(f"either --file or a text, not both: {' '.join(text)!r}")
    names = [name.strip().lower() for name in (to or "latlon,mgrs").split(",") if name.strip()]
    shown: AbstractContextManager[Any] = nullcontext()
    if sys.stderr.isatty():
        shown = click.progressbar(length=_STEPS, label="rows", file=sys.stderr)
    with shown as bar:

        def progress(done: float) -> None:
            if bar is not None:
                bar.update(round(done * _STEPS) - bar.pos)

        counts = convert_table(
            Path(table), column, Path(output), names, area, layer=layer, progress=progress
        )
    if json_output:
        known = {name: n for name, n in dataclasses.asdict(counts).items() if n is not None}
        as_json({"output": output, **known})
    else:
        echo(output)
    _say_counts(counts)
    return 3 if counts.unread else 0


def _say_counts(counts: Counts) -> None:
    read = counts.rows - counts.unread
    say(f"{counts.rows} rows: {read} read, {counts.assumed} with assumptions.")
    if counts.unread:
        several = f", {counts.several} of them with more than one meaning" if counts.several else ""
        say(f"{counts.unread} not read{several}: see the column problem, and ask the senders.")
    if counts.outside:
        say(
            f"{counts.outside} outside the area of operations: see the column doubt, and read back."
        )
