"""`plotter tiles`: the map archives on this machine, and how much of an area they cover."""

import datetime as dt
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from plotter.cli.echo import echo
from plotter.cli.options import AREA, TILES, as_json, say
from plotter.cli.words import length_words
from plotter.geodesy.position import Area
from plotter.tiles import Archive, ArchivesFound, archives_in
from plotter.tiles.area_box import box_of_area
from plotter.tiles.coverage import LevelCoverage, level_coverage

if TYPE_CHECKING:
    from plotter.tiles.build import Estimate, Rasters

__all__ = ["COMPLETE", "command", "ends_words", "level_data", "level_words"]

COMPLETE = 0.999
"""Share of an area from which on it is called covered: an edge of a pixel is no gap."""

_MEGABYTE = 1e6
_JSON = click.option("--json", "json_output", is_flag=True, help="Print JSON.")


@click.group("tiles")
def command() -> None:
    """Map archives: which there are, what they cover of an area, and how to make one."""


@command.command("list")
@TILES
@_JSON
@click.pass_context
def list_command(ctx: click.Context, tiles: Path, *, json_output: bool) -> None:
    """Every archive of the folder: levels, ground, size, age, credit, and why one is no use."""
    found = archives_in(tiles)
    if json_output:
        as_json(_list_data(found))
    else:
        for archive in found.archives:
            echo("\n".join(_archive_lines(archive)))
        for refused in found.refused:
            echo(f"{refused.path.name}: cannot be used: {refused.reason}")
        if not (found.archives or found.refused):
            echo(f"no map archive in {tiles}: put .mbtiles files there before you leave")
    ctx.exit(3 if found.refused else 0)


@command.command("check", context_settings={"ignore_unknown_options": True})
@click.argument("area", type=AREA)
@TILES
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
            echo(level_words(level))
        for refused in found.refused:
            echo(f"{refused.path.name}: cannot be used: {refused.reason}")
        if not levels:
            echo("no archive covers anything here: only the world outline would be drawn")
    ctx.exit(0 if levels and all(level.share >= COMPLETE for level in levels) else 1)


@command.command("build", context_settings={"ignore_unknown_options": True})
@click.argument("area", type=AREA)
@click.option(
    "--from",
    "layers",
    type=click.Path(path_type=Path),
    multiple=True,
    required=True,
    help="An .osm.pbf extract, GeoPackage, GeoJSON, Shapefile, scanned map or heights (GeoTIFF); "
    "may be repeated.",
)
@click.option("-o", "--output", type=click.Path(path_type=Path), required=True, help="The archive.")
@click.option("--zooms", default="8-15", show_default=True, help="Levels, coarsest to finest.")
@click.option("--name", help="What the map is called.  [default: the archive's own file name]")
@click.option("--credit", help="Whose data it is; known by itself for an extract.")
@click.option("--estimate", "only_estimate", is_flag=True, help="Say how large it would be, only.")
@click.option("--again", is_flag=True, help="Draw it anew, whatever the file holds.")
@_JSON
def build_command(
    area: Area,
    layers: tuple[Path, ...],
    output: Path,
    zooms: str,
    name: str | None,
    credit: str | None,
    *,
    only_estimate: bool,
    again: bool,
    json_output: bool,
) -> None:
    """Draw a map archive of AREA from map layers that lie on this machine.

    It is estimated first, shows how far it is, and goes on where it stopped when it is called
    again; a file made of something else is refused, or drawn anew with --again. Layers need the
    tags of OpenStreetMap, or a column 'kind' (road, path, water, wood, village ...). An extract is
    read once, into an index beside it. A GeoTIFF of colours is a scanned map and becomes the
    ground; one band of heights becomes hill shading and contours. Ground of which the layers say
    nothing is left see-through.
    """
    from plotter.tiles import build

    levels = _levels(zooms)
    vector = [path for path in layers if not build.is_raster(path)]
    source = build.MapSource(build.NO_FEATURES)
    if vector:
        source = build.open_layers(vector, box_of_area(area), say)
    under = build.read_rasters([path for path in layers if build.is_raster(path)])
    with _bar("estimating") as told:
        expected = build.estimate_archive(source, area, levels, under=under, progress=told)
    for note in source.reading.notes:
        say(f"{note}.")
    say(_expected_words(expected, under))
    data = {
        "tiles": expected.tiles,
        "tiles_beyond_the_data": expected.beyond,
        "about_bytes": round(expected.size_bytes),
        "notes": list(source.reading.notes),
    }
    if only_estimate:
        if json_output:
            as_json(data)
        return
    with _bar("drawing") as told:
        built = build.build_archive(
            source,
            area,
            levels,
            output,
            name=name or output.stem,
            credit=credit or "; ".join(filter(None, (source.credit, under.credit))),
            under=under,
            progress=told,
            workers=os.cpu_count() or 1,
            again=again,
        )
    missing = {script.title(): count for script, count in sorted(built.missing.items())}
    for script, count in missing.items():
        say(f"no font has the letters of {count} names ({script}): they are not written.")
    if json_output:
        as_json({**data, "written": built.written, "archive": str(output), "no_font": missing})
    else:
        say(f"{built.written:,} tiles drawn; the rest was there already.")
        echo(str(output))


def _expected_words(expected: "Estimate", under: "Rasters") -> str:
    words = f"{expected.tiles:,} tiles, about {expected.size_bytes / _MEGABYTE:.1f} MB."
    if under.scans or under.elevations:
        words = (
            f"{len(under.scans)} scanned maps, {len(under.elevations)} files of heights; {words}"
        )
    if expected.beyond:
        words += (
            f" The data ends within this area: {expected.beyond:,} more tiles would show nothing "
            "and are left out."
        )
    return words


@contextmanager
def _bar(label: str) -> Iterator[Callable[[float], None]]:
    """A bar on a terminal, and what tells it how far it is."""
    if not sys.stderr.isatty():
        yield lambda _: None
        return
    with click.progressbar(length=1_000, label=label, file=sys.stderr) as bar:
        yield lambda done: bar.update(round(done * 1_000) - bar.pos)


@command.command("roads")
@click.argument("extract", type=click.Path(path_type=Path))
@click.option("-o", "--output", type=click.Path(path_type=Path), required=True)
def roads_command(extract: Path, output: Path) -> None:
    """The roads, tracks and paths of an OpenStreetMap extract as a GeoPackage of lines."""
    from plotter.tiles import build

    count = build.write_roads(extract, output)
    say(f"{count:,} lines with kind, name and number.")
    echo(str(output))


def _levels(text: str) -> range:
    first, _, last = text.partition("-")
    try:
        levels = range(int(first), int(last or first) + 1)
    except ValueError:
        levels = range(0)
    if not levels or levels.start < 0 or levels.stop > 19:
        raise click.BadParameter(
            f"{text!r}: expected levels such as 8-15, between 0 and 18", param_hint="--zooms"
        )
    return levels


def level_words(level: LevelCoverage) -> str:
    """One level in words."""
    missing = level.wanted - level.present
    state = "complete"
    if level.share < COMPLETE:
        state = f"{missing} of {level.wanted} tiles missing" if missing else "every tile is there"
        state += f"; {ends_words(level)}"
    if level.sea_unknown >= 1.0 - COMPLETE:
        state += f"; what is land and what is sea is not known over {level.sea_unknown:.0%}"
    return (
        f"level {level.zoom:2}  {_percent(level.share)}  {state}; a pixel is "
        f"{length_words(level.metres_per_pixel)}"
    )


def ends_words(level: LevelCoverage) -> str:
    """Where the data of a level ends within the area."""
    where = f"to the {', '.join(level.missing)}" if level.missing else "at its edge"
    return f"the data ends within the area: nothing is known {where}"


def _percent(share: float) -> str:
    """Whole percents, rounded down: 99.6 is not all."""
    return f"{int(share * 100.0):3}%"


def level_data(level: LevelCoverage) -> dict[str, object]:
    """One level as JSON data."""
    return {
        "zoom": level.zoom,
        "wanted": level.wanted,
        "present": level.present,
        "share": round(level.share, 4),
        "missing_to_the": list(level.missing),
        "sea_unknown": round(level.sea_unknown, 4),
        "metres_per_pixel": level.metres_per_pixel,
    }


def _changed(archive: Archive) -> dt.date:
    return dt.datetime.fromtimestamp(archive.path.stat().st_mtime, dt.UTC).date()


def _archive_lines(archive: Archive) -> list[str]:
    levels = [level.zoom for level in archive.coverage]
    count = sum(level.tiles for level in archive.coverage)
    west_south, east_north = _corners(archive)
    held = f"levels {min(levels)} to {max(levels)}, {count:,} tiles"
    size = f"{archive.size_bytes / _MEGABYTE:.1f} MB"
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
                "bytes": archive.size_bytes,
                "changed": _changed(archive).isoformat(),
                "levels": [
                    {"zoom": level.zoom, "tiles": level.tiles} for level in archive.coverage
                ],
            }
            for archive in found.archives
        ],
        "refused": [{"file": r.path.name, "reason": r.reason} for r in found.refused],
    }
