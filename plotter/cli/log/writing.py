"""Writing entries down for a command, and saying what was made of them."""

import datetime as dt
import time
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from plotter.cli.echo import echo
from plotter.cli.incident import SOME_UNREAD
from plotter.cli.log.common import clock_utc, random_part, read
from plotter.cli.log.entries import event_data, line_words
from plotter.cli.options import as_json, say
from plotter.errors import FormatError
from plotter.exchange.data_lines import LineReader
from plotter.exchange.follow import followed_lines
from plotter.exchange.held import Held, present_entries
from plotter.exchange.tally import Tally
from plotter.geodesy.position import Area, Square
from plotter.log.events.event import Entry, Event
from plotter.log.events.names import short_names
from plotter.log.events.state import Line, State, state_at
from plotter.log.incident import Understood, named_places, understand, with_reading
from plotter.saying import on_one_line
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
    tally: Tally | None = None,
    json_output: bool,
) -> int:
    """Read entries, write them down, and say what was made of them; the exit status.

    Of an import what was taken and what was left is said last.
    """
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
        whole = found[0] if len(found) == 1 else {"added": found}
        as_json(whole if tally is None else {**whole, **_counts(tally)})
    else:
        for data in found:
            echo("\n".join(_added_lines(data)))
    unread = sum(bool(each.problem) for each in understood)
    if unread and len(found) > 1:
        say(f"{unread} of {len(found)} were kept and not read")
    for line in tally.lines() if tally is not None else ():
        say(line)
    return SOME_UNREAD if unread else 0


def _counts(tally: Tally) -> dict[str, Any]:
    return {"taken": dict(tally.taken), "left_out": dict(tally.left)}


def write_as_it_comes(
    log: "Log",
    path: Path,
    lines: LineReader,
    *,
    desk: str,
    area: Area | None = None,
    json_output: bool,
) -> int:
    """Write down every line of something that grows, as it comes; the exit status of the worst.

    What the log already holds of this file is not written again: following goes on where it
    stopped, or where an import ended.
    """
    worst = 0
    # A device or a pipe never says again what it said.
    held = Held.of(read(log)[1].events, path.name) if path.is_file() else Held()

    def put(entries: Sequence[Entry]) -> None:
        nonlocal worst
        new = held.without(entries)
        if new:
            status = write_down(log, new, desk=desk, area=area, json_output=json_output)
            worst = max(worst, status)

    def wait() -> bool:
        put(lines.finish())  # nobody knows when the next line comes
        held.forget()  # what was there is through: from here on everything is new
        try:
            time.sleep(_PAUSE_S)
        except KeyboardInterrupt:
            return False
        return True

    present = list(present_entries(path, lines, held)) if held else []
    if held and not held.begins(present):
        say(f"{path.name} is not the file that was followed before: all of it is taken")
        held.forget()
    last = 0
    for number, text, cut in followed_lines(path, wait):
        if number <= last:
            held.forget()  # begun again
        last = number
        lines.near_utc = clock_utc()
        put(held.take(lines, number, text, cut=cut))
    put(lines.end())
    if held.passed:
        say(f"{held.passed} entries of {path.name} were in the log already")
    if json_output:
        as_json(_counts(lines.tally))
    for line in lines.tally.lines():
        say(line)
    return worst


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
    said = on_one_line(f"{data['sender']}: {data['text']}")
    lines = [f"{data['name']}  {said}"]
    if data["read"]:
        lines.append(f"  read     {on_one_line(data['understood'])}")
    else:
        lines.append(f"  not read {on_one_line(data['why_not'])}")
        lines.append(f"  kept as heard; 'plotter log correct' with {data['name']} puts it right")
    lines += [f"  assumed  {on_one_line(why)}" for why in data["assumed"]]
    lines += [f"  ask      {on_one_line(question)}" for question in data["ask"]]
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
    echo(line_words(changed, names))
