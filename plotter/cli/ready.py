"""`plotter ready`: is this machine fit to leave with? Green, or a list of what to do."""

import datetime as dt
from pathlib import Path

import click

from plotter.cli.echo import echo
from plotter.cli.incident import picture_of
from plotter.cli.options import AREA, DATE, TILES, as_json, say
from plotter.cli.ready_checks import area_of_archives, every_check
from plotter.geodesy.position import Area

__all__ = ["command"]


@click.command("ready", context_settings={"ignore_unknown_options": True})
@click.argument("where", required=False, metavar="[AREA | FILE]")
@click.option("--date", type=DATE, help="Last day that you expect to be away.  [default: today]")
@TILES
@click.option("--json", "json_output", is_flag=True, help="Print JSON.")
@click.pass_context
def command(
    ctx: click.Context, where: str | None, date: dt.date | None, tiles: Path, *, json_output: bool
) -> None:
    """Before you leave: map, magnetic model, disk, libraries, a board in a browser, and a sheet.

    AREA is LAT,LON,RADIUS_KM; FILE is a report file or a log, whose area it is. Without either the
    ground of the finest map in the folder is taken. Everything is tried on this machine; the
    network is not used.
    """
    area = _area(ctx, where) if where else area_of_archives(tiles)
    if not where and area is not None:
        place = f"{area.centre.lat_deg:.3f}, {area.centre.lon_deg:.3f}"
        say(f"No area given: looking at that of the finest map, {area.radius_m / 1e3:.0f} km about "
            f"{place}.")  # fmt: skip
    checks = every_check(area, date or dt.datetime.now(dt.UTC).date(), tiles)
    good = all(check.fine for check in checks)
    if json_output:
        as_json(
            {
                "ready": good,
                "checks": [{"name": c.name, "fine": c.fine, "words": c.words} for c in checks],
            }
        )
    else:
        for check in checks:
            echo(f"{'fine ' if check.fine else 'TO DO'}  {check.name}: {check.words}")
        echo("Ready." if good else "Not ready: see what is to do above.")
    ctx.exit(0 if good else 1)


def _area(ctx: click.Context, where: str) -> Area:
    if Path(where).is_file():
        area = picture_of(where, None, None).area
        if area is None:
            raise click.BadParameter(
                f"{where!r} states no area of operations: give one, as 48.85,2.35,30",
                param_hint="AREA",
            )
        return area
    found: Area = AREA.convert(where, None, ctx)
    return found
