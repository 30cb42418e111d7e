"""What the commands of the log share: options, the clock, reading a log, naming an entry."""

import datetime as dt
import os
import platform
import re
import secrets
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Final, TypeVar

import click

from plotter.cli.options import say, text_argument
from plotter.log.events.names import event_named, short_names
from plotter.log.events.state import Line, State, state_at

if TYPE_CHECKING:
    from plotter.log.store import Contents, Log

__all__ = [
    "CLOCK",
    "FILE",
    "JSON",
    "WRITER",
    "clock_utc",
    "desk_of",
    "heard",
    "line_named",
    "machine",
    "random_part",
    "read",
    "say_damage",
]

_AHEAD: Final = dt.timedelta(hours=1)
_Command = TypeVar("_Command", bound=Callable[..., Any])

FILE = click.argument("file")
JSON = click.option("--json", "json_output", is_flag=True, help="Print JSON.")


def WRITER(command: _Command) -> _Command:  # noqa: N802 - used like the other options
    """Options of every command that writes: who writes, at which desk, on which channel."""
    for option in (
        click.option("--channel", envvar="PLOTTER_CHANNEL", default="", help="How it came in."),
        click.option("--operator", envvar="PLOTTER_OPERATOR", default="", help="Who writes."),
        click.option(
            "--desk",
            envvar="PLOTTER_DESK",
            default="",
            help="The desk that writes.  [default: the one that made the log; on another "
            "machine, that machine's name]",
        ),
    ):
        command = option(command)
    return command


class _ClockType(click.ParamType):  # type: ignore[type-arg]  # generic only in newer releases
    name = "HH:MM"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> dt.datetime:
        if isinstance(value, dt.datetime):
            return value
        text = str(value).strip()
        now = clock_utc()
        if match := re.fullmatch(r"(\d{1,2}):?(\d{2})(?::?(\d{2}))?\s*[zZ]?", text):
            try:
                clock = dt.time(int(match[1]), int(match[2]), int(match[3] or 0), tzinfo=dt.UTC)
            except ValueError:
                self.fail(f"{text!r} is no time of day: expected UTC such as 14:05", param, ctx)
            time = dt.datetime.combine(now.date(), clock)
            # Five to midnight, written down shortly after it, was yesterday.
            return time if time <= now + _AHEAD else time - dt.timedelta(days=1)
        try:
            time = dt.datetime.fromisoformat(text)
        except ValueError:
            self.fail(
                f"{text!r}: expected a UTC time such as 14:05 or 2026-03-14T14:05Z", param, ctx
            )
        if time.tzinfo is None:
            self.fail(f"{text!r} does not say its zone: put Z after it if it is UTC", param, ctx)
        return time.astimezone(dt.UTC)


CLOCK = _ClockType()


def clock_utc() -> dt.datetime:
    """Now. The only place where the log's commands read the clock."""
    return dt.datetime.now(dt.UTC)


def random_part() -> str:
    """Figures and letters that are never given twice, for ids."""
    return secrets.token_hex(6)


def machine() -> str:
    """Name of the machine, as a desk's."""
    return platform.node().partition(".")[0][:40] or "desk"


def desk_of(log: "Log", desk: str) -> str:
    """The desk that writes: as stated, else the one that made the log, on its own machine.

    On another machine the file is a copy. Were it written on in the same desk's name, two different
    events would have one number.
    """
    made_here = log.incident.machine == machine()
    return desk or (log.incident.desk if made_here else "") or machine()


def heard(words: tuple[str, ...]) -> str:
    """What was said, out of the arguments that a shell split it into.

    A minus sign may begin a position; two are an option that was mistyped, and no word of a report.
    """
    for word in words:
        if word.startswith("--"):
            raise click.NoSuchOption(word)
    text = text_argument(words)
    try:
        text.encode()
    except UnicodeEncodeError:  # typed on a terminal that writes no UTF-8
        text = os.fsencode(text).decode("cp1252", errors="replace")
    return text


def read(log: "Log", time_utc: dt.datetime | None = None) -> tuple["Contents", State]:
    """Contents and state of a log; damage is said."""
    contents = log.read()
    say_damage(contents)
    return contents, state_at(contents.events, time_utc)


def say_damage(contents: "Contents") -> None:
    """Say what is damaged, on stderr."""
    for each in contents.damage:
        say(f"damaged: {each.words}")
    if contents.damage:
        say("See 'plotter log check'; 'plotter log rescue' makes a sound file.")
    if contents.newer:
        say(f"{len(contents.newer)} entries are of a newer version of the plotter: not shown.")


def line_named(state: State, text: str) -> Line:
    """The line of an entry, by the name that was typed."""
    event = event_named(state.events, text, short_names(state.events))
    for line in state.lines:
        if any(event is each for each in (line.first, *line.versions, *line.confirmations)):
            return line
    raise AssertionError(event.id)  # every event is on a line
