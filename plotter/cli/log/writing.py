"""Writing entries down for a command, and saying what was made of them."""

import datetime as dt
import time
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from plotter.cli.incident import SOME_UNREAD
from plotter.cli.log.common import clock_utc, random_part, read
from plotter.cli.log.entries import event_data, line_words
from plotter.cli.options import as_json, say
from plotter.errors import FormatError
from plotter.exchange.data_lines import LineReader
from plotter.exchange.follow import followed_lines
from plotter.exchange.incoming import remarks_of
from plotter.geodesy.position import Area, Square
from plotter.log.events.event import Entry, Event
from plotter.log.events.names import short_names
from plotter.log.events.state import Line, State, state_at
from plotter.log.incident import Understood, named_places, understand, with_reading
from plotter.voice.readback import readback

if TYPE_CHECKING:
    from plotter.log.store import Log

__all__ = ["follow", "write_as_it_comes", "write_down"]

_PAUSE_S: Final = 0.2


def write_down(
    log: "Log",
    entries: Sequence[Entry],
    *,
    desk: str,
    area: Area | None = None,
    reading: int | None = None,
    json_output: bool,
) -> int:
    """Read entries, write them down, and say what was made of them; the exit status."""
    _, state = read(log)
    now = clock_utc()
    _say_clock(state, desk, now)
    try:
        found_out = understand(state, entries, now, area=area)
    except Exception:
        # Ours to put right, but what was said comes first.
        log.append(entries, desk=desk, entered_utc=now, random_part=random_part)
        say("kept as heard; reading it failed:")
        raise
    understood = _chosen(found_out, reading)
    events = log.append(
        [each.entry for each in understood], desk=desk, entered_utc=now, random_part=random_part
    )
    if log.copy is not None and log.copy.problem:
        say(f"kept, but without its second copy: {log.copy.problem}")
    names = short_names((*state.events, *events))
    places = named_places(state, area) if len(entries) == 1 else None
    found = [
        _added(event, names[event.hash], each, places)
        for event, each in zip(events, understood, strict=True)
    ]
    if json_output:
        as_json(found[0] if len(found) == 1 else {"added": found})
    else:
        for data in found:
            click.echo("\n".join(_added_lines(data)))
    unread = sum(bool(each.problem) for each in understood)
    if unread and len(found) > 1:
        say(f"{unread} of {len(found)} were kept and not read")
    return SOME_UNREAD if unread else 0


def write_as_it_comes(
    log: "Log", path: Path, lines: LineReader, *, desk: str, json_output: bool
) -> int:
    """Write down every line of something that grows, as it comes; the exit status of the last."""
    status = 0

    def wait() -> bool:
        nonlocal status
        last = lines.finish()  # nobody knows when the next line comes
        if last:
            status = write_down(log, last, desk=desk, json_output=json_output) or status
        try:
            time.sleep(_PAUSE_S)
        except KeyboardInterrupt:
            return False
        return True

    for number, text, cut in followed_lines(path, wait):
        lines.near_utc = clock_utc()
        entries = lines.take(number, text, cut=cut)
        if entries:
            status = write_down(log, entries, desk=desk, json_output=json_output) or status
    for remark in remarks_of(lines):
        say(remark)
    return status


def _chosen(understood: Sequence[Understood], reading: int | None) -> Sequence[Understood]:
    """The reading that a person chose by its number, instead of the first."""
    if reading is None:
        return understood
    (only,) = understood
    found = [only.reading, *only.others] if only.reading else []
    if not 1 <= reading <= len(found):
        raise FormatError(f"there is no meaning {reading} of {only.entry.text!r}: {len(found)} fit")
    return [with_reading(only, reading - 1)]


def _say_clock(state: State, desk: str, now: dt.datetime) -> None:
    own = [event for event in state.events if event.desk == desk]
    if own and now < own[-1].entered_utc - dt.timedelta(minutes=1):
        say(
            f"This machine's clock says {now:%Y-%m-%d %H:%M}Z, before the last entry "
            f"({own[-1].entered_utc:%Y-%m-%d %H:%M}Z): set the clock. The order is kept."
        )


def _added(
    event: Event, name: str, understood: Understood, places: Sequence[tuple[str, Square]] | None
) -> dict[str, Any]:
    """A new entry as data; with its read-back where the named places are given."""
    spoken = None
    if understood.reading is not None and places is not None:
        try:
            said = readback(understood.reading, places, given=event.text)
            spoken = {"words": said.words, "check": said.check, "short": said.short}
        except FormatError:
            spoken = None  # no format can say this square: its centre is in the reading
    return {
        **event_data(event, name),
        "read": not understood.problem,
        "understood": understood.words,
        "why_not": understood.problem,
        "ask": list(understood.questions),
        "meanings": 1 + len(understood.others) if understood.reading else 0,
        "read_back": spoken,
    }


def _added_lines(data: dict[str, Any]) -> list[str]:
    lines = [f"{data['name']}  {data['sender']}: {data['text']}"]
    if data["read"]:
        lines.append(f"  read     {data['understood']}")
    else:
        lines.append(f"  not read {data['why_not']}")
        lines.append(f"  kept as heard; 'plotter log correct' with {data['name']} puts it right")
    lines += [f"  assumed  {why}" for why in data["assumed"]]
    lines += [f"  ask      {question}" for question in data["ask"]]
    if data["read_back"]:
        lines.append(f"  say back {data['read_back']['words']}")
        lines.append(f"  check    {data['read_back']['check']}")
    return lines


def follow(
    log: "Log", state: State, line: Line, entry: Entry, *, desk: str, json_output: bool
) -> None:
    """Write down what is said of a line: a confirmation or a withdrawal."""
    now = clock_utc()
    _say_clock(state, desk, now)
    (event,) = log.append([entry], desk=desk, entered_utc=now, random_part=random_part)
    if log.copy is not None and log.copy.problem:
        say(f"kept, but without its second copy: {log.copy.problem}")
    after = state_at((*state.events, event))
    names = short_names(after.events)
    if json_output:
        as_json(event_data(event, names[event.hash]))
        return
    changed = next(each for each in after.lines if each.first is line.first)
    click.echo(line_words(changed, names))
