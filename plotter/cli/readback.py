"""`plotter readback TEXT`: the words to say for a position, and how to check them."""

import dataclasses
from pathlib import Path

import click

from plotter.cli.echo import echo
from plotter.cli.incident import picture_of
from plotter.cli.options import AREA, as_json, say, text_argument
from plotter.formats.result import asks_of
from plotter.geodesy.position import Area, Square
from plotter.reports.whereabouts import named_squares, whereabouts_of
from plotter.voice.readback import readback
from plotter.voice.spoken import spoken_reading

__all__ = ["command"]


@click.command("readback", context_settings={"ignore_unknown_options": True})
@click.argument("text", nargs=-1, required=True)
@click.option("--area", type=AREA, help="Area of operations, to complete what was left unsaid.")
@click.option(
    "--places",
    type=click.Path(path_type=Path, dir_okay=False),
    help="A report file: its named places are what the position is checked against.",
)
@click.option("--itu-figures", is_flag=True, help="Say figures as Nadazero, Unaone, Bissotwo ...")
@click.option("--json", "json_output", is_flag=True, help="Print JSON.")
def command(
    text: tuple[str, ...],
    area: Area | None,
    places: Path | None,
    *,
    itu_figures: bool,
    json_output: bool,
) -> None:
    """Words to read TEXT back with, what the other side can check, and a short form.

    TEXT is a position, written or as spoken. Where it has several meanings the likeliest is read
    back, and the others are named.
    """
    given = text_argument(text)
    known, area = _known(places, area)
    found = spoken_reading(given, area)
    answer = readback(found[0], known, itu_figures=itu_figures, given=given)
    if json_output:
        as_json(dataclasses.asdict(answer))
    else:
        echo(f"say    {answer.words}")
        echo(f"check  {answer.check}")
        echo(f"short  {answer.short}")
    for ask in asks_of(found):
        say(f"{ask}.")
    for why in found[0].assumed:
        say(f"Assumed {why}: read it back.")
    for other in found[1:]:
        place = other.square.centre
        why = ", ".join(other.assumed)
        say(f"Could also mean {place.lat_deg:.5f}, {place.lon_deg:.5f} ({why}): ask which.")


def _known(path: Path | None, area: Area | None) -> tuple[list[tuple[str, Square]], Area | None]:
    """Named places of a report file, and its area unless one was given."""
    if path is None:
        return [], area
    picture = picture_of(path, area, None)
    for name in whereabouts_of(picture).doubted({"place"}):
        say(f"{name} is not checked against: where it was reported is in doubt.")
    return named_squares(picture), area or picture.area
