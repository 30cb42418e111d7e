"""`plotter convert TEXT`: every reading of a position, in every format."""

from typing import TYPE_CHECKING, Final

import click
from click.core import ParameterSource

from plotter.cli.echo import echo
from plotter.cli.options import AREA, PLACES, as_json, one_position, say, text_argument
from plotter.cli.words import (
    ask_lines,
    doubt_lines,
    length_words,
    picture_lines,
    reading_data,
    reading_lines,
)
from plotter.formats.result import asks_of
from plotter.geodesy.position import Area, Position
from plotter.voice.spoken import spoken_reading

if TYPE_CHECKING:
    from plotter.reports.whereabouts import Whereabouts
    from plotter.voice.doubt import Weighed

__all__ = ["command"]

# Exit status where what was said is no likely place, or no place, and something else may be meant.
_DOUBTED: Final = 3


@click.command("convert", context_settings={"ignore_unknown_options": True})
@click.argument("text", nargs=-1)
@click.option(
    "--area", type=AREA, help="Area of operations: completes, and doubts what is outside."
)
@click.option("--last", help="Where the sender was last; needs --area.")
@click.option("--minutes", type=float, default=0.0, help="Minutes since it was there.")
@click.option(
    "--top-speed-kmh", type=float, default=144.0, show_default=True, help="Its top speed."
)
@PLACES
@click.option("--file", "table", help="A table to convert instead of TEXT; see below.")
@click.option("--column", help="Its column of positions.")
@click.option("--layer", help="Its layer, where a GeoPackage has several.")
@click.option("--to", help="Formats to write into the table.  [default: latlon,mgrs]")
@click.option("-o", "--output", help="Where to write the table.")
@click.option("--json", "json_output", is_flag=True, help="Print JSON.")
@click.pass_context
def command(
    ctx: click.Context,
    text: tuple[str, ...],
    area: Area | None,
    last: str | None,
    minutes: float,
    top_speed_kmh: float,
    known_file: str | None,
    table: str | None,
    column: str | None,
    layer: str | None,
    to: str | None,
    output: str | None,
    *,
    json_output: bool,
) -> None:
    """Read TEXT as a position: every meaning it admits, written in every format.

    TEXT is degrees in any notation, UTM, UPS, MGRS or USNG, a Maidenhead locator, GARS, GEOREF, an
    Open Location Code, a geohash, a national grid by its name, or EPSG:nnnn with two numbers. With
    an area each meaning gets a plausibility; where none is plausible, what to ask is said first,
    likely mistakes are ranked, and the exit status is 3; so it is where words beside the position
    may move it. With --places TEXT
    may be a name: somebody's, or that of a place.

    A table is CSV, GeoJSON, GeoPackage or Parquet, in and out, by the end of its name. Every row
    is kept, with what its position means in new columns, and why it was not read in the column
    problem. With an area the column doubt says which places lie outside it.
    """
    if known_file and table:
        raise click.UsageError("--places belongs to one TEXT: leave it out for a table")
    known = None
    if known_file:
        from plotter.cli.named import known_in  # loaded late: it reads and replays a whole file

        known = known_in(known_file, area)
        area = known.area
    if last and (area is None or table):
        raise click.UsageError("--last, the sender's last place, needs --area and one TEXT")
    if table or column or layer or to or output:
        _refuse_travel(ctx)
        from plotter.cli.convert_file import convert_file  # loaded late: one text needs no table

        ctx.exit(
            convert_file(text, table, column, to, output, area, layer, json_output=json_output)
        )
    if not text:
        raise click.MissingParameter(ctx=ctx, param_hint="'TEXT'", param_type="argument")
    given = text_argument(text)
    if known is not None and known.knows(given):
        from plotter.cli.named import show_name

        show_name(given, known.find(given), json_output=json_output)
        return
    if area is not None:
        start = _last_place(last, area, known) if last else None
        ctx.exit(_weighed(given, area, start, minutes, top_speed_kmh, json_output=json_output))
    found = spoken_reading(given)
    if json_output:
        as_json({"input": given, "readings": [reading_data(each) for each in found]})
        ctx.exit(_DOUBTED if asks_of(found) else 0)
    for line in ask_lines(found):
        say(line)
    echo("\n".join(line for each in found for line in reading_lines(each)))
    if len(found) > 1:
        say(f"{len(found)} meanings fit: ask the sender which one is meant.")
    elif found[0].assumed:
        say(f"A {length_words(found[0].square.size_m)} square, with assumptions: read it back.")
    if asks_of(found):
        ctx.exit(_DOUBTED)


def _last_place(last: str, area: Area, known: "Whereabouts | None") -> Position:
    if known is None:
        return one_position(last, area)[0]
    from plotter.cli.named import say_origin, the_place

    found = the_place(last, known)
    say_origin(last, found)
    return found.position


def _refuse_travel(ctx: click.Context) -> None:
    """Refuse what is known of one sender's way for a table, which has many senders."""
    for name in ("minutes", "top_speed_kmh"):
        if ctx.get_parameter_source(name) is not ParameterSource.DEFAULT:
            option = f"--{name.replace('_', '-')}"
            raise click.UsageError(
                f"{option} belongs to one TEXT and the --last place of its sender: leave it out "
                "for a table"
            )


def _weighed(
    given: str,
    area: Area,
    last: Position | None,
    minutes: float,
    top_speed_kmh: float,
    *,
    json_output: bool,
) -> int:
    """Show a text with its doubts; the exit status."""
    from plotter.voice.doubt import Context, weigh  # loaded late: it is needed with an area only

    found = weigh(given, Context(area, last, minutes * 60.0, top_speed_kmh / 3.6))
    if json_output:
        as_json(_weighed_data(given, found))
    else:
        for line in ask_lines(found.readings):
            say(line)
        for line in doubt_lines(found):
            say(line)
        for each, fit in zip(found.readings, found.doubt.plausibility, strict=True):
            echo("\n".join([*reading_lines(each), f"  plausibility        {fit:.2f}"]))
        if not found.doubt.plausible:
            echo("\n".join(picture_lines(found)))
    return 0 if found.doubt.plausible and not asks_of(found.readings) else _DOUBTED


def _weighed_data(given: str, found: "Weighed") -> dict[str, object]:
    """A text with its doubts as JSON data."""
    doubts = found.doubt
    readings = zip(found.readings, doubts.plausibility, doubts.as_said, strict=True)
    return {
        "input": given,
        "plausible": doubts.plausible,
        "ask": doubts.ask,
        "why": list(doubts.against.words()) if doubts.against else [],
        "against": doubts.against.data() if doubts.against else None,
        "stake": doubts.stake,
        "error": found.error or None,
        "readings": [
            {**reading_data(each), "plausibility": fit, "probability": share}
            for each, fit, share in readings
        ],
        "alternatives": [each.data() for each in doubts.alternatives],
        "other_probability": doubts.other,
    }
