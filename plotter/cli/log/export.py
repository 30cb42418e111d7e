"""`plotter log export FILE`: what stands in a log, as a file for others."""

import datetime as dt
from pathlib import Path

import click

from plotter.cli.echo import echo, echo_data
from plotter.cli.log.common import CLOCK, FILE, JSON, clock_utc, read
from plotter.cli.options import as_json, say
from plotter.errors import LogError
from plotter.exchange.features import features_of, fields_of
from plotter.exchange.outgoing import KINDS_OUT, as_bytes, kind_out, write_file
from plotter.log.incident import picture_of_state
from plotter.reports.evidence import fixes

__all__ = ["command"]


@click.command("export")
@FILE
@click.option(
    "-o", "--output", type=click.Path(path_type=Path), help="The file to write.  [default: stdout]"
)
@click.option(
    "--as", "kind", type=click.Choice(KINDS_OUT),
    help="What to write.  [default: by the file's ending; csv on stdout]",
)  # fmt: skip
@click.option("--at", "time_utc", type=CLOCK, help="As it was known at a time.")
@click.option("--without-fixes", is_flag=True, help="Reports only.")
@JSON
def command(
    file: str,
    output: Path | None,
    kind: str | None,
    time_utc: dt.datetime | None,
    *,
    without_fixes: bool,
    json_output: bool,
) -> None:
    """Write what stands in FILE: reports with their places, bearings as lines, fixes with regions.

    Corrected reports are written as corrected, a withdrawn one as a note that says so. What is
    written and added to a log again gives the same reports; a fix is computed anew.
    """
    from plotter.log.store import open_log

    kind = kind or (kind_out(output) if output else "csv")
    with open_log(file) as log:
        title = log.incident.title
        _, state = read(log, time_utc)
    found, failed = ([], {}) if without_fixes else fixes(picture_of_state(state))
    for name, why in failed.items():
        say(f"{name}: no fix: {why}")
    if json_output:
        features = features_of(state, found)
        as_json(
            {
                "reports": [fields_of(each) for each in features if not each.computed],
                "computed": [fields_of(each) for each in features if each.computed],
            }
        )
    elif output is not None:
        write_file(state, output, kind, found, title=title, written_utc=clock_utc())
        echo(str(output))
    elif kind == "gpkg":
        raise LogError("a GeoPackage needs a file: give it with -o")
    else:
        data = as_bytes(state, kind, found, title=title, written_utc=clock_utc())
        echo_data(data)
