"""Places that a command's words name: known from a report file or a log, or positions."""

from pathlib import Path

from plotter.cli.echo import echo
from plotter.cli.incident import picture_of
from plotter.cli.options import as_json, one_position, say
from plotter.cli.words import reading_data, reading_lines
from plotter.formats.result import Reading
from plotter.geodesy.position import Area
from plotter.reports.whereabouts import Origin, Whereabouts, whereabouts_of

__all__ = ["known_in", "origin_lines", "say_origin", "show_name", "the_place"]


def known_in(file: str | Path | None, area: Area | None) -> Whereabouts:
    """Everybody's whereabouts in a report file or a log, none without one."""
    if file is None:
        return Whereabouts(area)
    return whereabouts_of(picture_of(file, area, None))


def the_place(text: str, known: Whereabouts) -> Origin:
    """The one place that words name.

    Raises
    ------
    FormatError
        If they name none, or a position that can mean several.
    """
    found = known.find(text)
    if found.others and not found.named:
        one_position(text, known.area)
    return found


def origin_lines(text: str, found: Origin) -> list[str]:
    """As of when a name's place is, what a position assumes, and what to ask."""
    if not found.named:
        return [f"{text}: assumed {why}: read it back." for why in found.assumed]
    return [f"{found.as_of}.", *found.questions]


def say_origin(text: str, found: Origin) -> None:
    """Say as of when a name's place is, what a position assumes, and what to ask."""
    for line in origin_lines(text, found):
        say(line)


def show_name(given: str, found: Origin, *, json_output: bool) -> None:
    """Show where a name is, as of when, and what is to be asked about it."""
    readings = [Reading("place", square) for square in (found.square, *found.others)]
    if json_output:
        as_json(
            {
                "input": given,
                "readings": [reading_data(each) for each in readings],
                "named": found.as_of,
                "time_utc": found.time_utc.isoformat() if found.time_utc else None,
                "doubtful": found.doubtful,
                "questions": list(found.questions),
            }
        )
        return
    echo("\n".join(line for each in readings for line in reading_lines(each)))
    say_origin(given, found)
