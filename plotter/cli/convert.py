"""`plotter convert TEXT`: every reading of a position, in every format."""

import click

from plotter.cli.options import AREA, as_json, say, text_argument
from plotter.cli.words import reading_lines, size_words
from plotter.formats.reading import in_all_formats_of
from plotter.formats.result import Reading
from plotter.geodesy.position import Area
from plotter.voice.spoken import spoken_reading

__all__ = ["command", "reading_data"]


@click.command("convert", context_settings={"ignore_unknown_options": True})
@click.argument("text", nargs=-1, required=True)
@click.option("--area", type=AREA, help="Area of operations, to complete what was left unsaid.")
@click.option("--json", "json_output", is_flag=True, help="Print JSON.")
def command(text: tuple[str, ...], area: Area | None, *, json_output: bool) -> None:
    """Read TEXT as a position: every meaning it admits, written in every format.

    TEXT is degrees in any notation, UTM, UPS, MGRS or USNG, a Maidenhead locator, GARS, GEOREF, an
    Open Location Code, a geohash, a national grid by its name, or EPSG:nnnn with two numbers.
    """
    given = text_argument(text)
    found = spoken_reading(given, area)
    if json_output:
        as_json({"input": given, "readings": [reading_data(each) for each in found]})
        return
    for each in found:
        click.echo("\n".join(reading_lines(each)))
    if len(found) > 1:
        say(f"{len(found)} meanings fit: ask the sender which one is meant.")
    elif found[0].assumed:
        say(f"A {size_words(found[0].square.size_m)} square, with assumptions: read it back.")


def reading_data(found: Reading) -> dict[str, object]:
    """One reading as JSON data."""
    centre = found.square.centre
    return {
        "format": found.format,
        "lat_deg": centre.lat_deg,
        "lon_deg": centre.lon_deg,
        "size_m": found.square.size_m,
        "assumed": list(found.assumed),
        "as": in_all_formats_of(found),
    }
