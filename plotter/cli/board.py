"""`plotter board FILE -o OUT.html`: everything reported, on one offline map."""

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from plotter.cli.echo import echo
from plotter.cli.incident import day_of, picture_of, say_unread
from plotter.cli.options import AREA, DATE, TILES, TRUST, as_json, say, stored_maps
from plotter.errors import BoardError
from plotter.fix import Fix
from plotter.geodesy.position import Area
from plotter.reports.evidence import fixes, fixes_before
from plotter.reports.report import Picture

if TYPE_CHECKING:
    from plotter.board.listening_values import Listening
    from plotter.board.search_values import SearchView

__all__ = ["DEFAULT_BUDGET_MB", "MEGABYTE", "command", "write_board"]

DEFAULT_BUDGET_MB = 6.0
MEGABYTE = 1_000_000
# Of the first view, on each side.
_HEIGHT_MARGIN = 0.25
_DRAWN_MARGIN = 0.25


@click.command("board")
@click.argument("file")
@click.option(
    "-o", "--output", type=click.Path(path_type=Path), required=True, help="HTML file to write."
)
@TILES
@click.option(
    "--map-budget-mb",
    type=float,
    default=DEFAULT_BUDGET_MB,
    show_default=True,
    help="Most that maps may add.",
)
@click.option(
    "--base",
    type=click.Path(path_type=Path),
    multiple=True,
    help="Map layers or an OpenStreetMap extract that the board draws by itself; may be repeated.",
)
@click.option(
    "--heights",
    type=click.Path(path_type=Path),
    help="Elevation model (GeoTIFF, SRTM, DTED) for heights on the readout.",
)
@click.option("--title", default="", help="Name of the incident, unless the file states it.")
@click.option("--area", type=AREA, help="Area of operations, unless the file states it.")
@click.option("--date", type=DATE, help="Day for the declination; of the last report unless given.")
@TRUST
@click.option("--json", "json_output", is_flag=True, help="Print JSON.")
@click.pass_context
def command(
    ctx: click.Context,
    file: str,
    output: Path,
    tiles: Path,
    map_budget_mb: float,
    base: tuple[Path, ...],
    heights: Path | None,
    title: str,
    area: Area | None,
    date: dt.date | None,
    *,
    json_output: bool,
    trust_errors: bool,
) -> None:
    """Make the offline map board of FILE."""
    picture = picture_of(file, area, date, title, trust_errors=trust_errors)
    found, failed = fixes(picture)
    for name, why in failed.items():
        say(f"{name}: no fix: {why}")
    budget_bytes = int(map_budget_mb * MEGABYTE)
    words = write_board(
        picture, found, output, tiles, budget_bytes, date, heights=heights, base=base
    )
    status = say_unread(picture)
    if json_output:
        as_json({"board": str(output), "bytes": output.stat().st_size, "map": list(words)})
    else:
        for line in words:
            say(line)
        echo(str(output))
    ctx.exit(status)


def write_board(
    picture: Picture,
    found: Sequence[tuple[str, Fix]],
    output: Path,
    tiles: Path,
    budget_bytes: int,
    date: dt.date | None,
    listening: "Listening | None" = None,
    search: "SearchView | None" = None,
    heights: Path | None = None,
    base: Sequence[Path] = (),
) -> tuple[str, ...]:
    """Build and write the board of a picture and its fixes; what was embedded of the map, in words.

    Raises
    ------
    BoardError
        If the file cannot be written.
    """
    from plotter.board import build_board, scene
    from plotter.board.drawn_map import drawn_map
    from plotter.board.heights import heights_of

    archives = stored_maps(tiles)
    shown = scene(
        picture,
        found,
        date=day_of(picture, date),
        now_utc=picture.last_time_utc,
        listening=listening,
        search=search,
        over_time=fixes_before(picture, found),
    )
    ground = None if heights is None else heights_of(heights, shown.view.grown(_HEIGHT_MARGIN))
    drawn = drawn_map(base, shown.view.grown(_DRAWN_MARGIN)) if base else None
    board = build_board(
        shown,
        heights=ground,
        drawn=drawn,
        archives=archives,
        tile_budget_bytes=budget_bytes,
    )
    try:
        output.write_text(board.html, encoding="utf-8", newline="\n")
    except OSError as error:
        raise BoardError(f"cannot write {str(output)!r}: {error.strerror}") from error
    words = board.report.in_words() or (
        f"No map archive in {str(tiles)!r} covers the area: land outline only.",
    )
    return (*words, *(each.in_words() for each in (ground, drawn) if each is not None))
