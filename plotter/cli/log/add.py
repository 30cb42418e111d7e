"""`plotter log add FILE --from SENDER TEXT`: write down what was said, and what it was taken as."""

import datetime as dt
import sys
from pathlib import Path

import click

from plotter.cli.log.common import CLOCK, FILE, JSON, WRITER, clock_utc, desk_of, heard
from plotter.cli.log.writing import write_as_it_comes, write_down
from plotter.cli.options import AREA
from plotter.errors import LogError
from plotter.exchange.data_lines import LineReader, entries_of_lines
from plotter.exchange.follow import set_speed
from plotter.exchange.guarded import MOST_BYTES, cleaned, decoded
from plotter.exchange.incoming import completed, imported
from plotter.exchange.log_entries import entries_of_text
from plotter.exchange.messages import read_message
from plotter.exchange.tally import Tally
from plotter.formats.carried import is_data_line
from plotter.geodesy.position import Area
from plotter.log.events.event import Entry
from plotter.log.rows import kind_of

__all__ = ["command"]

_OF_THE_DESK = frozenset({"area", "place", "note", "shift"})


@click.command("add", context_settings={"ignore_unknown_options": True})
@FILE
@click.argument("text", nargs=-1)
@click.option("--from", "sender", default="", help="Who said it.")
@click.option("--about", "subject", default="", help="Whom or what it is about.")
@click.option("--time", "said_utc", type=CLOCK, help="When it was said, UTC: 14:05.")
@click.option("--reading", type=int, help="Which meaning is plotted, where several fit: 2.")
@click.option("--shift", is_flag=True, help="TEXT is a change of shift.")
@click.option("--area", type=AREA, help="Area of operations, unless the log states it.")
@click.option(
    "--file",
    "reports",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Add everything in a file instead: a report file, GPX, KML, KMZ, GeoJSON, GeoPackage, or "
    "lines of a receiver, of packets or of messages.",
)
@click.option(
    "--follow",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Add every line as it comes, from a growing file, a pipe or a serial device; stop with "
    "Ctrl-C.",
)
@click.option("--baud", type=int, default=4800, show_default=True, help="Of a serial device.")
@click.option(
    "--every", "every_s", type=float, default=0.0, help="Least seconds between a receiver's places."
)
@WRITER
@JSON
@click.pass_context
def command(
    ctx: click.Context,
    file: str,
    text: tuple[str, ...],
    sender: str,
    subject: str,
    said_utc: dt.datetime | None,
    reading: int | None,
    area: Area | None,
    reports: Path | None,
    follow: Path | None,
    baud: int,
    every_s: float,
    desk: str,
    operator: str,
    channel: str,
    *,
    shift: bool,
    json_output: bool,
) -> None:
    """Write down TEXT as it was said; without TEXT, every line on stdin.

    It is kept first of all, then: what it was read as, what that assumes, what to ask, and the
    words to read it back with. Exit status 3: kept, but it could not be read.

    Lines on stdin are those of a report file with its header, or JSON objects, one a line, with
    "sender", "text", and where known "subject", "said_utc", "channel", "operator"; or those of a
    receiver, of packets, of messages.
    """
    from plotter.log.store import open_log

    given = heard(text)
    many = reports is not None or follow is not None or not given
    if many and (given or reading is not None or shift):
        raise click.UsageError("--file, --follow and stdin go without TEXT, --reading and --shift")
    if many and reports is None and follow is None and sys.stdin.isatty():
        raise click.UsageError("say what to write down, or pipe lines in")
    with open_log(file) as log:
        writer = desk_of(log, desk)
        if follow is not None:
            lines = LineReader(
                follow.name, sender, operator, channel, clock_utc(), every_s, stream=True
            )
            set_speed(follow, baud)
            ctx.exit(
                write_as_it_comes(
                    log, follow, lines, desk=writer, area=area, json_output=json_output
                )
            )
        tally: Tally | None = None
        if reports is not None:
            found = imported(
                reports, sender=sender, operator=operator, channel=channel, near_utc=clock_utc(),
                every_s=every_s,
            )  # fmt: skip
            entries, tally = found.entries, found.tally
        elif many:
            entries, tally = _entries_of_stdin(sender, operator, channel, every_s)
        else:
            kind = "shift" if shift else kind_of(given)
            if not sender and kind not in _OF_THE_DESK:
                raise click.UsageError("say who it is from, as in --from 'Ridge team'")
            entries = [
                Entry(
                    "shift" if shift else "report",
                    given,
                    sender=sender or writer,
                    subject=subject,
                    operator=operator,
                    channel=channel,
                    said_utc=said_utc,
                )
            ]
        status = write_down(
            log, entries, desk=writer, area=area, reading=reading, tally=tally,
            json_output=json_output,
        )  # fmt: skip
    ctx.exit(status)


def _entries_of_stdin(
    sender: str, operator: str, channel: str, every_s: float
) -> tuple[list[Entry], Tally]:
    """Lines of a report file or of JSON; or those of a receiver, of packets or of messages."""
    data = _stdin()
    first, *_ = decoded(data).lstrip().split("\n", 1)
    tally = Tally()
    if not (is_data_line(first) or read_message(first, None)):
        return completed(entries_of_text(data, tally=tally), operator, channel), tally
    lines = LineReader("stdin", sender, operator, channel, clock_utc(), every_s, tally=tally)
    numbered = list(enumerate(cleaned(decoded(data)).split("\n"), 1))
    lines.look_through(numbered)
    return entries_of_lines(((n, line, False) for n, line in numbered), lines), tally


def _stdin() -> bytes:
    data = sys.stdin.buffer.read(MOST_BYTES + 1)
    if len(data) > MOST_BYTES:
        raise LogError(f"more than {MOST_BYTES / 1e6:.0f} MB came in at once: use --follow")
    return data
