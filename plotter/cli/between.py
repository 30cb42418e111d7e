"""`plotter between A B`: distance, and bearings from every north."""

import dataclasses
import datetime as dt

import click

from plotter.cli.echo import echo
from plotter.cli.options import AREA, DATE, as_json, one_position, say
from plotter.cli.words import bearing_words, length_words
from plotter.geodesy.leg import leg
from plotter.geodesy.position import Area

__all__ = ["command"]


@click.command("between", context_settings={"ignore_unknown_options": True})
@click.argument("a")
@click.argument("b")
@click.option("--date", type=DATE, help="Day for the declination; today unless given.")
@click.option("--height-m", type=float, default=0.0, help="Height of A above the ellipsoid.")
@click.option("--area", type=AREA, help="Area of operations, to complete what was left unsaid.")
@click.option("--json", "json_output", is_flag=True, help="Print JSON.")
def command(
    a: str, b: str, date: dt.date | None, height_m: float, area: Area | None, *, json_output: bool
) -> None:
    """Distance and bearings from position A to position B, each quoted as one argument."""
    start, assumed_a = one_position(a, area)
    end, assumed_b = one_position(b, area)
    day = date or dt.datetime.now(dt.UTC).date()
    way = leg(start, end, day, height_m)
    assumed = [f"A: {why}" for why in assumed_a] + [f"B: {why}" for why in assumed_b]
    if json_output:
        as_json({**dataclasses.asdict(way), "date": day.isoformat(), "assumed": assumed})
        return
    echo(f"distance       {length_words(way.distance_m)} ({way.distance_m:.1f} m)")
    echo(f"bearing        {bearing_words(way.bearing_true_deg, 'true')}")
    echo(f"               {bearing_words(way.bearing_magnetic_deg, 'magnetic')} on {day}")
    echo(f"               {bearing_words(way.bearing_grid_deg, 'grid')}")
    echo(f"back bearing   {bearing_words(way.back_bearing_true_deg, 'true')} from B")
    echo(
        f"rhumb line     {length_words(way.rhumb_distance_m)} on "
        f"{bearing_words(way.rhumb_bearing_deg, 'true')}"
    )
    for line in (*(f"Assumed {why}: read it back." for why in assumed), *way.warnings):
        say(line)
