"""`plotter log export FILE`: the reports that stand, as a report file."""

from pathlib import Path

import click

from plotter.cli.log.common import FILE, JSON, read
from plotter.cli.options import as_json
from plotter.exchange.reports_csv import write_reports
from plotter.log.incident import said_lines

__all__ = ["command"]


@click.command("export")
@FILE
@click.option(
    "-o", "--output", type=click.Path(path_type=Path), help="The file to write.  [default: stdout]"
)
@JSON
def command(file: str, output: Path | None, *, json_output: bool) -> None:
    """Write what stands in FILE as a report file: times, senders, subjects, reports.

    Corrected reports are written as corrected; a withdrawn one as a note that says so.
    """
    from plotter.log.store import open_log

    with open_log(file) as log:
        _, state = read(log)
    lines = said_lines(state)
    if json_output:
        as_json(
            {
                "reports": [
                    {
                        "name": said.name,
                        "time_utc": said.time_utc.isoformat() if said.time_utc else None,
                        "sender": said.sender,
                        "subject": said.subject,
                        "report": said.text,
                    }
                    for said in lines
                ]
            }
        )
        return
    text = write_reports(lines)
    if output is None:
        click.echo(text, nl=False)
    else:
        output.write_text(text, encoding="utf-8", newline="")
        click.echo(str(output))
