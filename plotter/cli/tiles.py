"""`plotter tiles`: the map archives on this machine, and how much of an area they cover."""

import datetime as dt
from pathlib import Path

import click

from plotter.cli.options import AREA, as_json
from plotter.cli.words import length_words
from plotter.geodesy.position import Area
from plotter.tiles import Archive, ArchivesFound, archives_in
from plotter.tiles.coverage import LevelCoverage, level_coverage

__all__ = ["command", "level_data", "level_words"]

_MEGABYTE = 1e6
_TILES = click.option(
    "--tiles",
    type=click.Path(path_type=Path),
    default=Path("tiles_cache"),
    show_default=True,
    help="Folder of map archives.",
)
_JSON = click.option("--json", "json_output", is_flag=True, help="Print JSON.")


@click.group("tiles")
def command() -> None:
    """Map archives: which there are, and what they cover of an area."""


@command.command("list")
@_TILES
@_JSON
@click.pass_context
def list_command(ctx: click.Context, tiles: Path, *, json_output: bool) -> None:
    """Every archive of the folder: levels, ground, size, age, credit, and why one is no use."""
    found = archives_in(tiles)
    if json_output:
        as_json(_list_data(found))
    else:
        for archive in found.archives:
            click.echo("\n".join(_archive_lines(archive)))
        for refused in found.refused:
            click.echo(f"{refused.path.name}: cannot be used: {refused.reason}")
        if not (found.archives or found.refused):
            click.echo(f"no map archive in {tiles}: put .mbtiles files there before you leave")
    ctx.exit(3 if found.refused else 0)


@command.command("check", context_settings={"ignore_unknown_options": True})
@click.argument("area", type=AREA)
@_TILES
@_JSON
@click.pass_context
def check_command(ctx: click.Context, area: Area, tiles: Path, *, json_output: bool) -> None:
    """What the archives cover of AREA, level by level, and what is missing."""
    found = archives_in(tiles)
    levels = level_coverage(found.archives, area)
    if json_output:
        as_json(
            {
                "levels": [level_data(level) for level in levels],
                "refused": [{"file": r.path.name, "reason": r.reason} for r in found.refused],
            }
        )
    else:
        for level in levels:
            click.echo(level_words(level))
        for refused in found.refused:
            click.echo(f"{refused.path.name}: cannot be used: {refused.reason}")
        if not levels:
            click.echo("no archive covers anything here: only the world outline would be drawn")
    ctx.exit(0 if levels and all(level.present for level in levels) else 1)


def level_words(level: LevelCoverage) -> str:
    """One level in words."""
    missing = level.wanted - level.present
    state = "complete" if not missing else f"{missing} of {level.wanted} tiles missing"
    return (
        f"level {level.zoom:2}  {level.share:4.0%}  {state}; a pixel is "
        f"{length_words(level.metres_per_pixel)}"
    )


def level_data(level: LevelCoverage) -> dict[str, object]:
    """One level as JSON data."""
    return {
        "zoom": level.zoom,
        "wanted": level.wanted,
        "present": level.present,
        "metres_per_pixel": level.metres_per_pixel,
    }


def _changed(archive: Archive) -> dt.date:
    return dt.datetime.fromtimestamp(archive.path.stat().st_mtime, dt.UTC).date()


def _archive_lines(archive: Archive) -> list[str]:
    levels = [level.zoom for level in archive.coverage]
    count = sum(level.tiles for level in archive.coverage)
    west_south, east_north = _corners(archive)
    held = f"levels {min(levels)} to {max(levels)}, {count:,} tiles"
    size = f"{archive.path.stat().st_size / _MEGABYTE:.1f} MB"
    return [
        f"{archive.path.name}: {archive.name}",
        f"  {held}, {size}, file of {_changed(archive)}",
        f"  from {west_south} to {east_north}",
        f"  credit: {archive.attribution or 'none given: find out whose map it is'}",
    ]


def _corners(archive: Archive) -> tuple[str, str]:
    """South-west and north-east corner of the finest level."""
    box = archive.coverage[-1].box()
    return (
        f"{box.south_deg:.3f}, {box.west_deg:.3f}",
        f"{box.north_deg:.3f}, {box.east_deg:.3f}",
    )


def _list_data(found: ArchivesFound) -> dict[str, object]:
    return {
        "archives": [
            {
                "file": archive.path.name,
                "name": archive.name,
                "credit": archive.attribution,
                "bytes": archive.path.stat().st_size,
                "changed": _changed(archive).isoformat(),
                "levels": [
                    {"zoom": level.zoom, "tiles": level.tiles} for level in archive.coverage
                ],
            }
            for archive in found.archives
        ],
        "refused": [{"file": r.path.name, "reason": r.reason} for r in found.refused],
    }
