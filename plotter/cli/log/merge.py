"""`plotter log merge A B -o OUT`: several logs as one."""

import click

from plotter.cli.echo import echo
from plotter.cli.log.common import JSON, clock_utc, machine, read
from plotter.cli.log.entries import line_words
from plotter.cli.options import as_json
from plotter.log.events.merge import merged
from plotter.log.events.names import short_names

__all__ = ["command"]


@click.command("merge")
@click.argument("files", nargs=-1, required=True)
@click.option(
    "-o", "--output", help="The log to write, a new one.  [default: into the first of FILES]"
)
@JSON
def command(files: tuple[str, ...], output: str | None, *, json_output: bool) -> None:
    """Bring together everything that is in FILES. The order of FILES does not matter.

    Nothing is lost and nothing is decided: where two desks corrected one entry differently, both
    corrections are kept and shown until a person settles it with 'plotter log correct'.
    """
    from plotter.log.store import new_log, open_log

    with open_log(files[0]) as log:
        first, records = log.incident, [log.records()]
    for file in files[1:]:
        with open_log(file) as log:
            records.append(log.records())
    if output is None:
        into = open_log(files[0])
    else:
        into = new_log(
            output,
            title=first.title,
            made_utc=clock_utc(),
            desk=first.desk or machine(),
            machine=first.machine,
        )
    with into as log:
        added = log.add_records(merged(*records))
        _, state = read(log)
    conflicts = state.conflicts
    names = short_names(state.events) if conflicts else {}
    if json_output:
        as_json(
            {
                "file": output or files[0],
                "events": len(state.events),
                "added": added,
                "conflicts": [names[line.first.hash] for line in conflicts],
                "contradictions": [events[0].id for events in state.contradictions],
            }
        )
        return
    echo(f"{len(state.events)} events in {output or files[0]}, {added} of them new there")
    for line in conflicts:
        echo(line_words(line, names))
    for events in state.contradictions:
        echo(f"CHANGED: {len(events)} different events have the id {events[0].id}")
