"""`plotter next FILE`: the best places to take the next bearing from, among those within reach."""

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING

import click

from plotter.cli.drawn import write_drawn
from plotter.cli.echo import echo
from plotter.cli.incident import day_of, picture_of, say_unread
from plotter.cli.listeners import Ways, candidates_of, origins_of, start_of
from plotter.cli.options import AREA, DATE, TILES, TRUST, as_json, say
from plotter.fix.next_place import Advice, next_places
from plotter.formats.reading import in_all_formats
from plotter.geodesy.position import Area
from plotter.reports.evidence import case_of

if TYPE_CHECKING:
    from plotter.board.listening_values import Listening, ListeningPlace

__all__ = ["command"]

_NO_FIRST = "and without a first one no place is better than another"


@click.command("next")
@click.argument("file")
@click.option("--subject", help="What is looked for; the one with most bearings unless given.")
@click.option("--area", type=AREA, help="Area of operations, unless the file states it.")
@click.option("--date", type=DATE, help="Day for the declination; of the last report unless given.")
@click.option("--from", "start", help="Where the listener is: a name of the file or a position.")
@click.option("--minutes", type=float, help="How long the way may take.")
@click.option("--speed-kmh", type=float, help="How fast the listener gets on, as the crow flies.")
@click.option("--within", type=click.Path(path_type=Path), help="GeoJSON or GeoPackage of an area.")
@click.option("--places", help="Names and positions, separated by semicolons.")
@click.option(
    "--roads",
    type=click.Path(path_type=Path),
    help="GeoJSON or GeoPackage of lines, or an extract.",
)
@click.option(
    "--sigma", type=float, default=6.0, show_default=True, help="Error of the next bearing, ± DEG."
)
@click.option("--range-km", type=float, help="Where every second call is heard; all if not given.")
@click.option("--seed", type=int, default=0, show_default=True, help="Start of the chance numbers.")
@TRUST
@click.option("--json", "json_output", is_flag=True, help="Print JSON.")
@click.option(
    "-o", "--output", type=click.Path(path_type=Path),
    help="Board to write with the places on it, or a sheet: OUT.pdf.",
)  # fmt: skip
@TILES
@click.pass_context
def command(
    ctx: click.Context,
    file: str,
    subject: str | None,
    area: Area | None,
    date: dt.date | None,
    start: str | None,
    minutes: float | None,
    speed_kmh: float | None,
    within: Path | None,
    places: str | None,
    roads: Path | None,
    sigma: float,
    range_km: float | None,
    seed: int,
    output: Path | None,
    tiles: Path,
    *,
    json_output: bool,
    trust_errors: bool,
) -> None:
    """Best places to take the next bearing from, with the 95 % area to be expected after it.

    Without --from, --within, --places or --roads the named places and stations of FILE are weighed.
    """
    import numpy as np

    from plotter.board.listening import listening_of

    ways = Ways(start, minutes, speed_kmh, within, roads, places)
    picture = picture_of(file, area, date, trust_errors=trust_errors)
    case = case_of(picture, subject, _NO_FIRST)
    name, after = case.name, case.posterior()
    begin = start_of(ways, picture)
    candidates, weighed, told = candidates_of(ways, picture, begin, name, after)
    for line in told:
        say(line)
    advice = next_places(
        after,
        candidates,
        rng=np.random.default_rng(seed),
        sigma_deg=sigma,
        hearing_range_m=None if range_km is None else 1000.0 * range_km,
    )
    listening = listening_of(
        name,
        advice,
        [(begin[0], begin[1].position)] if begin else list(origins_of(picture).items()),
        weighed=f"{weighed}; the next bearing ± {sigma:g}°",
        day=day_of(picture, date),
    )
    if output is not None:
        for line in write_drawn(picture, output, tiles, date, listening=listening):
            say(line)
    status = say_unread(picture)
    if json_output:
        as_json(_data(advice, listening, output))
    else:
        echo("\n".join(_lines(listening)))
        if output is not None:
            echo(str(output))
    ctx.exit(status)


def _lines(listening: "Listening") -> list[str]:
    lines = [listening.subject, *(f"  {finding}" for finding in listening.findings)]
    lines += [f"  {each.rank}. {_where(each)}: {each.outcome}" for each in listening.places]
    return lines + [f"  {caution}" for caution in listening.cautions]


def _where(place: "ListeningPlace") -> str:
    from plotter.board.search_data import way_in_words

    words = [place.name, " ".join(place.reference.groups)]
    if place.sight is not None:
        words.append(f"{way_in_words(place.sight)} from {place.sight.name}")
    return ", ".join(word for word in words if word)


def _data(advice: Advice, listening: "Listening", output: Path | None) -> dict[str, object]:
    return {
        "subject": listening.subject,
        "present_area_km2": advice.present_area_km2,
        "places": [
            {
                "rank": shown.rank,
                "name": each.name,
                "lat_deg": each.position.lat_deg,
                "lon_deg": each.position.lon_deg,
                "as": in_all_formats(each.position),
                "information_bits": each.information_bits,
                "p_heard": each.p_heard,
                "expected_area_km2": each.expected_area_km2,
                "median_area_km2": each.median_area_km2,
                "from": None
                if shown.sight is None
                else {
                    "name": shown.sight.name,
                    "distance_m": shown.sight.distance_m,
                    "bearing_true_deg": shown.sight.bearing_true_deg,
                    "bearing_magnetic_deg": shown.sight.bearing_magnetic_deg,
                },
            }
            for shown, each in zip(listening.places, advice.places, strict=True)
        ],
        "reason": advice.reason,
        "findings": list(listening.findings),
        "cautions": list(listening.cautions),
        "output": None if output is None else str(output),
    }
