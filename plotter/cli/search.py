"""`plotter search FILE`: the region cut into sectors, in which order, and what searches leave."""

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from plotter.cli.drawn import write_drawn
from plotter.cli.echo import echo
from plotter.cli.incident import day_of, picture_of, say_unread
from plotter.cli.options import AREA, DATE, TILES, TRUST, as_json, say
from plotter.fix.search_sectors import (
    MOST_SECTORS,
    Search,
    Searched,
    SearchPlan,
    after_searches,
    search_plan,
)
from plotter.fix.wording import area_words, percent_words
from plotter.geodesy.position import Area
from plotter.reports.evidence import Case, case_of
from plotter.reports.names import key_of
from plotter.reports.report import Picture
from plotter.reports.searched import search_said
from plotter.reports.stations import stations_of

if TYPE_CHECKING:
    from plotter.board.search_marks import Means
    from plotter.board.search_values import SearchView, SectorMark

__all__ = ["command"]


@click.command("search")
@click.argument("file")
@click.option("--subject", help="What is looked for; the one with most bearings unless given.")
@click.option(
    "--sectors",
    type=click.IntRange(1, MOST_SECTORS),
    default=6,
    show_default=True,
    help="Into how many sectors the 95 % region is cut.",
)
@click.option(
    "--equal",
    type=click.Choice(["probability", "area"]),
    default="probability",
    show_default=True,
    help="What the sectors have alike.",
)
@click.option(
    "--searched",
    multiple=True,
    metavar="TEXT",
    help="Ground searched, nothing found: 'A2 70%' or '500 m around PLACE 70%'; repeatable.",
)
@click.option("--hours", type=float, help="Time to spend; with the three below: what where.")
@click.option("--teams", type=float, help="How many teams.")
@click.option("--speed-kmh", type=float, help="Speed of a team while it searches.")
@click.option("--sweep-m", type=float, help="Effective sweep width of a team, metres.")
@click.option("--area", type=AREA, help="Area of operations, unless the file states it.")
@click.option("--date", type=DATE, help="Day for the declination; of the last report unless given.")
@TRUST
@click.option("--json", "json_output", is_flag=True, help="Print JSON.")
@click.option(
    "-o", "--output", type=click.Path(path_type=Path),
    help="Board to write with the sectors, or a sheet: OUT.pdf.",
)  # fmt: skip
@TILES
@click.pass_context
def command(
    ctx: click.Context,
    file: str,
    subject: str | None,
    sectors: int,
    equal: Literal["probability", "area"],
    searched: tuple[str, ...],
    hours: float | None,
    teams: float | None,
    speed_kmh: float | None,
    sweep_m: float | None,
    area: Area | None,
    date: dt.date | None,
    output: Path | None,
    tiles: Path,
    *,
    json_output: bool,
    trust_errors: bool,
) -> None:
    """Cut the 95 % region of FILE into sectors, and say which to search first.

    Ground that was searched without finding anything takes its probability to the other ground.
    """
    from plotter.board.search_marks import search_view

    means = _means(hours, teams, speed_kmh, sweep_m)
    picture = picture_of(file, area, date, trust_errors=trust_errors)
    case = case_of(picture, subject, "so there is no region to search")
    name, plan = case.name, _plan(picture, case, sectors, equal)
    searches = [_search(text, plan, picture) for text in searched]
    now = after_searches(plan, searches)
    reports = [report for report in picture.bearings if key_of(report.name) == key_of(name)]
    view = search_view(
        name,
        now,
        searches,
        stations_of(picture),
        equal=equal,
        bearings=len(reports),
        last_bearing_utc=max((r.said.time_utc for r in reports if r.said.time_utc), default=None),
        day=day_of(picture, date),
        means=means,
    )
    if output is not None:
        for line in write_drawn(picture, output, tiles, date, search=view):
            say(line)
    status = say_unread(picture)
    if json_output:
        as_json(_data(view, now, searches, equal, output))
    else:
        echo("\n".join(_lines(view)))
        if output is not None:
            echo(str(output))
    ctx.exit(status)


def _means(
    hours: float | None, teams: float | None, speed_kmh: float | None, sweep_m: float | None
) -> "Means | None":
    from plotter.board.search_marks import Means

    given = {"--hours": hours, "--teams": teams, "--speed-kmh": speed_kmh, "--sweep-m": sweep_m}
    missing = [option for option, value in given.items() if value is None]
    if len(missing) == len(given):
        return None
    if hours is None or teams is None or speed_kmh is None or sweep_m is None:
        raise click.UsageError(f"{', '.join(given)} go together: {', '.join(missing)} is missing")
    return Means(hours, teams, speed_kmh, sweep_m)


def _plan(
    picture: Picture, case: Case, count: int, equal: Literal["probability", "area"]
) -> SearchPlan:
    """Sectors whose letter stays: it goes by what was first reported, not by what is best known."""
    said = [(report.said.line, report.name) for report in picture.bearings]
    said += [(report.said.line, report.name) for report in picture.distances]
    said += [(report.said.line, report.name) for report in picture.watches]
    seen = list(dict.fromkeys(key_of(name) for _, name in sorted(said)))
    letter = chr(ord("A") + seen.index(key_of(case.name)) % 26)
    return search_plan(case.posterior(), count, equal=equal, letter=letter)


def _search(text: str, plan: SearchPlan, picture: Picture) -> Search:
    search, questions = search_said(text, plan, picture)
    for question in questions:
        say(question)
    return search


def _lines(view: "SearchView") -> list[str]:
    lines = [view.subject, f"  {view.words[0]}"]
    lines += [f"  {_line(rank, mark)}" for rank, mark in enumerate(view.sectors, start=1)]
    return lines + [f"  {words}" for words in (*view.words[1:], *view.cautions)]


def _line(rank: int, mark: "SectorMark") -> str:
    from plotter.board.search_data import effort_in_words, way_in_words

    chance, area = percent_words(mark.probability), area_words(mark.area_km2)
    words = [
        f"{rank:2}. {mark.name:4}{chance:>9}  {area:>8}",
        " ".join(mark.reference.groups),
    ]
    if mark.near is not None:
        words.append(f"{way_in_words(mark.near)} from {mark.near.name}")
    if mark.effort is not None:
        words.append(effort_in_words(mark.effort))
    return ", ".join(words)


def _data(
    view: "SearchView",
    now: Searched,
    searches: Sequence[Search],
    equal: str,
    output: Path | None,
) -> dict[str, object]:
    return {
        "subject": view.subject,
        "equal": equal,
        "sectors": [
            {
                "rank": rank,
                "name": each.name,
                "probability": each.probability,
                "area_km2": each.area_km2,
                "probability_per_km2": each.probability_per_km2,
                "middle": {"lat_deg": each.middle.lat_deg, "lon_deg": each.middle.lon_deg},
                "mgrs": mark.reference.text,
                "from": None
                if mark.near is None
                else {
                    "name": mark.near.name,
                    "distance_m": mark.near.distance_m,
                    "bearing_true_deg": mark.near.bearing_true_deg,
                    "bearing_magnetic_deg": mark.near.bearing_magnetic_deg,
                },
                "effort": None
                if mark.effort is None
                else {
                    "team_hours": mark.effort.team_hours,
                    "p_detection": mark.effort.p_detection,
                    "p_found": mark.effort.p_found,
                },
                "polygons": [
                    {
                        "outer": [[p.lat_deg, p.lon_deg] for p in polygon.outer],
                        "holes": [[[p.lat_deg, p.lon_deg] for p in hole] for hole in polygon.holes],
                    }
                    for polygon in each.polygons
                ],
            }
            for rank, (each, mark) in enumerate(
                zip(now.sectors, view.sectors, strict=True), start=1
            )
        ],
        "p_elsewhere": now.p_elsewhere,
        "searches": [
            {
                "ground": search.name,
                "p_detection": search.p_detection,
                "p_before": before,
                "p_left": left,
            }
            for search, before, left in zip(searches, now.p_before, now.p_left, strict=True)
        ],
        "p_found": now.p_found,
        "words": list(view.words),
        "cautions": list(view.cautions),
        "output": None if output is None else str(output),
    }
