"""`plotter log show FILE ENTRY`: one entry with all that was said of it later."""

import click

from plotter.cli.echo import echo
from plotter.cli.log.common import FILE, JSON, line_named, read
from plotter.cli.log.entries import event_data, line_data, unread_of
from plotter.cli.options import as_json
from plotter.log.events.event import Event
from plotter.log.events.names import short_names
from plotter.saying import on_one_line

__all__ = ["command"]


@click.command("show")
@FILE
@click.argument("entry")
@JSON
def command(file: str, entry: str, *, json_output: bool) -> None:
    """Show ENTRY: as heard, as read, every correction, confirmation and withdrawal, and hashes."""
    from plotter.log.store import open_log

    with open_log(file) as log:
        _, state = read(log)
    names = short_names(state.events)
    line = line_named(state, entry)
    every = (line.first, *sorted((*line.versions, *line.confirmations), key=state.events.index))
    if json_output:
        data = line_data(line, names, unread_of(state))
        as_json({**data, "events": [event_data(event, names[event.hash]) for event in every]})
        return
    by_id = {event.id: names[event.hash] for event in state.events}
    for event in every:
        echo("\n".join(_lines(event, names, by_id)))
    if line.conflict:
        echo(f"CONFLICT: these stand beside each other: {_heads(line.heads, names)}")


def _heads(heads: tuple[Event, ...], names: dict[str, str]) -> str:
    return ", ".join(names[head.hash] for head in heads)


def _lines(event: Event, names: dict[str, str], by_id: dict[str, str]) -> list[str]:
    about = f" about {event.subject}" if event.subject else ""
    lines = [
        f"{names[event.hash]}  {event.kind}  "
        + on_one_line(f"{event.sender}{about}: {event.text}"),
        f"  said {_time(event.said_utc)}, received {_time(event.received_utc)}, entered "
        f"{_time(event.entered_utc)} at {event.desk}"
        + (f" by {event.operator}" if event.operator else "")
        + (f", on {event.channel}" if event.channel else ""),
    ]
    if event.refers_to:
        lines.append(f"  of {', '.join(by_id.get(each, each) for each in event.refers_to)}")
    if event.reading:
        reading = event.reading
        lines.append(
            f"  read as {reading.format} {reading.text}: {reading.lat_deg:.5f}, "
            f"{reading.lon_deg:.5f}, {reading.size_m:.0f} m"
        )
    lines += [f"  assumed {why}" for why in event.assumed]
    if event.problem:
        lines.append(f"  not used: {event.problem}")
    if event.source:
        lines.append(f"  from {event.source.file}, line {event.source.line}")
    return [*lines, f"  id {event.id}, hash {event.hash[:16]}"]


def _time(value: object) -> str:
    return f"{value:%Y-%m-%d %H:%M:%S}Z" if value else "at a time not stated"
