"""`plotter sheet FILE -o OUT.pdf`: everything reported, printed true to scale."""

import datetime as dt
import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from plotter.cli.echo import echo
from plotter.cli.incident import day_of, picture_of, say_unread
from plotter.cli.named import say_origin, the_place
from plotter.cli.options import AREA, DATE, TILES, TRUST, as_json, say, stored_maps
from plotter.errors import PlotterError, SheetError
from plotter.fix import Fix
from plotter.geodesy.position import Area, Position
from plotter.reports.evidence import fixes
from plotter.reports.names import key_of
from plotter.reports.report import Picture
from plotter.reports.whereabouts import whereabouts_of
from plotter.sheet import PAPERS, Sheet, SheetPlan, build_sheet, ground_of, plan_pages

if TYPE_CHECKING:
    from plotter.board.listening_values import Listening
    from plotter.board.search_values import SearchView

__all__ = ["command", "sheet_words", "write_sheet"]


class _ScaleType(click.ParamType):  # type: ignore[type-arg]  # generic only in newer releases
    name = "25000"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        figures = re.fullmatch(r"(?:1\s*[:/])?\s*(\d[\d ]*)", str(value).strip())
        if figures is None:
            self.fail(
                f"{value!r}: expected the scale's number, as in 25000 for 1:25000", param, ctx
            )
        return float(figures[1].replace(" ", ""))


@click.command("sheet")
@click.argument("file")
@click.option(
    "-o", "--output", type=click.Path(path_type=Path), required=True, help="PDF file to write."
)
@click.option(
    "--scale",
    type=_ScaleType(),
    help="25000 for 1:25000; the largest usual scale that fits one page unless given.",
)
@click.option(
    "--paper", type=click.Choice(list(PAPERS), case_sensitive=False), default="A4",
    show_default=True, help="Paper to print on.",
)  # fmt: skip
@click.option(
    "--orientation", type=click.Choice(["portrait", "landscape"]),
    help="Whichever fits better unless given.",
)  # fmt: skip
@click.option("--at", help="Middle of one page: a name of the file, or a position in any format.")
@TILES
@click.option("--title", default="", help="Name of the incident, unless the file states it.")
@click.option("--area", type=AREA, help="Area of operations, unless the file states it.")
@click.option("--date", type=DATE, help="Day for the declination; of the last report unless given.")
@TRUST
@click.option("--json", "json_output", is_flag=True, help="Print JSON: pages, scale, bounds.")
@click.pass_context
def command(
    ctx: click.Context,
    file: str,
    output: Path,
    scale: float | None,
    paper: str,
    orientation: str | None,
    at: str | None,
    tiles: Path,
    title: str,
    area: Area | None,
    date: dt.date | None,
    *,
    json_output: bool,
    trust_errors: bool,
) -> None:
    """Print FILE as a PDF, true to scale, with the grid, a romer and everything in words.

    Print it at 100 %, and measure its bar of 100 mm. An area that needs several pages gets an
    index; pages share 10 mm with their neighbours. Across a zone boundary each grid is drawn in its
    own zone.
    """
    picture = picture_of(file, area, date, title, trust_errors=trust_errors)
    found, failed = fixes(picture)
    for name, why in failed.items():
        say(f"{name}: no fix: {why}")
    sheet, plan = write_sheet(
        picture, found, output, tiles, date=date, at=at, scale=scale, paper=paper,
        orientation=orientation,
    )  # fmt: skip
    status = say_unread(picture)
    if json_output:
        as_json(_data(output, sheet, plan))
    else:
        for line in sheet_words(sheet, plan):
            say(line)
        echo(str(output))
    ctx.exit(status)


def write_sheet(
    picture: Picture,
    found: Sequence[tuple[str, Fix]],
    output: Path,
    tiles: Path,
    *,
    date: dt.date | None,
    at: str | None = None,
    scale: float | None = None,
    paper: str = "A4",
    orientation: str | None = None,
    listening: "Listening | None" = None,
    search: "SearchView | None" = None,
) -> tuple[Sheet, SheetPlan]:
    """Build and write the sheet of a picture, its fixes and what was advised.

    Raises
    ------
    SheetError
        If the file cannot be written, or nothing has a place.
    """
    from plotter.board import scene

    shown = scene(
        picture, found, date=day_of(picture, date), now_utc=picture.last_time_utc,
        listening=listening, search=search,
    )  # fmt: skip
    middle = None if at is None else _middle(at, picture, found)
    plan = plan_pages(
        ground_of(shown, middle, picture.area),
        paper=paper,
        denominator=scale,
        orientation=orientation,  # type: ignore[arg-type]  # click offers these two only
    )
    now = dt.datetime.now(dt.UTC)
    sheet = build_sheet(shown, plan, printed_utc=now, archives=stored_maps(tiles))
    try:
        output.write_bytes(sheet.pdf)
    except OSError as error:
        raise SheetError(f"cannot write {str(output)!r}: {error.strerror}") from error
    return sheet, plan


def _middle(at: str, picture: Picture, found: Sequence[tuple[str, Fix]]) -> Position:
    """Place that --at names: the best point of a fix, else where a name or a position is."""
    wanted = key_of(at)
    for name, fix in found:
        if key_of(name) == wanted:
            return fix.best
    try:
        place = the_place(at, whereabouts_of(picture))
    except PlotterError as error:
        raise SheetError(f"--at {at!r} is no name in the file and no position: {error}") from error
    say_origin(at, place)
    return place.position


def sheet_words(sheet: Sheet, plan: SheetPlan) -> tuple[str, ...]:
    """What to know about a sheet before it is printed."""
    layout = plan.layout
    pages, words = len(sheet.pages), ", ".join(sheet.pages)
    return (
        f"1:{plan.denominator:g}, {layout.paper} {layout.orientation}, {pages} pages: {words}",
        f"grid: {plan.pages[0].frame.zone.name}",
        *sheet.sources,
        "Print at 100 %, not fitted to the page.",
    )


def _data(output: Path, sheet: Sheet, plan: SheetPlan) -> dict[str, object]:
    maps = {f"map {page.name}".strip(): page for page in plan.pages}
    pages: list[dict[str, object]] = []
    for number, kind in enumerate(sheet.pages, 1):
        row: dict[str, object] = {"page": number, "is": kind}
        if kind in maps:
            frame = maps[kind].frame
            corners = frame.latlon_of_mm(
                [frame.rect.left, frame.rect.right, frame.rect.right, frame.rect.left],
                [frame.rect.bottom, frame.rect.bottom, frame.rect.top, frame.rect.top],
            )
            row |= {
                "name": maps[kind].name,
                "grid": frame.zone.name,
                "west_m": frame.west_m,
                "south_m": frame.zone.figures(frame.south_m),
                "width_m": frame.east_m - frame.west_m,
                "height_m": frame.north_m - frame.south_m,
                "corners": [
                    {"lat_deg": lat, "lon_deg": lon}
                    for lat, lon in zip(*(axis.tolist() for axis in corners), strict=True)
                ],
            }
        pages.append(row)
    return {
        "sheet": str(output),
        "bytes": len(sheet.pdf),
        "scale": plan.denominator,
        "paper": plan.layout.paper,
        "orientation": plan.layout.orientation,
        "pages": pages,
        "map": list(sheet.sources),
    }
