"""`plotter log handover FILE -o OUT.html`: the page for the next shift and for the record."""

import datetime as dt
from pathlib import Path

import click

from plotter.cli.echo import echo
from plotter.cli.log.common import CLOCK, FILE, clock_utc, read
from plotter.errors import LogError

__all__ = ["command"]


@click.command("handover")
@FILE
@click.option(
    "-o", "--output", type=click.Path(path_type=Path), required=True,
    help="The page to write: .html, or .pdf for paper.",
)  # fmt: skip
@click.option("--at", "time_utc", type=CLOCK, help="As it was known at a time.")
@click.option("--paper", default="A4", show_default=True, help="A4, A3 or Letter, for a PDF.")
def command(file: str, output: Path, time_utc: dt.datetime | None, paper: str) -> None:
    """Write what the next shift must know: open questions, positions, fixes, and the whole log.

    Unconfirmed reports, doubtful bearings, how the fixes came to be and what was searched are
    listed; the communications log at the end has every entry in the order in which it was written.
    """
    from plotter.handover import handover_of, page_of
    from plotter.log.store import open_log
    from plotter.sheet.handover_sheet import handover_pdf

    if output.suffix.lower() not in {".html", ".htm", ".pdf"}:
        raise LogError(f"cannot tell what {output.name!r} is to be: end it with .html or .pdf")
    with open_log(file) as log:
        contents, state = read(log, time_utc)
        title = log.incident.title
    handover = handover_of(
        state, title=title, made_utc=clock_utc(), damage=[each.words for each in contents.damage]
    )
    if output.suffix.lower() == ".pdf":
        data = handover_pdf(handover, paper=paper)
    else:
        data = page_of(handover).encode()
    try:
        output.write_bytes(data)
    except OSError as error:
        raise LogError(f"cannot write {str(output)!r}: {error.strerror}") from error
    echo(str(output))
