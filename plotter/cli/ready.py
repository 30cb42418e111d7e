"""`plotter ready AREA`: is this machine fit to leave with? Green, or a list of what to do."""

import datetime as dt
import importlib.metadata
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import click

from plotter.cli.echo import echo
from plotter.cli.options import AREA, DATE, TILES, as_json
from plotter.cli.words import length_words
from plotter.errors import PlotterError
from plotter.geodesy.magnetic import declination
from plotter.geodesy.position import Area
from plotter.tiles import archives_in
from plotter.tiles.coverage import level_coverage

__all__ = ["Check", "command"]

# What a map on foot needs: a pixel of this size, over nearly all of the area.
_FINE_ENOUGH_M: Final = 10.0
_COVERED: Final = 0.98
_FREE_BYTES: Final = 500_000_000


@dataclass(frozen=True, slots=True)
class Check:
    """One thing looked at.

    Parameters
    ----------
    name : str
        What.
    fine : bool
        Whether it is as it should be.
    words : str
        What was found, and if it is not fine what to do.
    """

    name: str
    fine: bool
    words: str


@click.command("ready", context_settings={"ignore_unknown_options": True})
@click.argument("area", type=AREA)
@click.option("--date", type=DATE, required=True, help="Last day that you expect to be away.")
@TILES
@click.option("--json", "json_output", is_flag=True, help="Print JSON.")
@click.pass_context
def command(
    ctx: click.Context, area: Area, date: dt.date, tiles: Path, *, json_output: bool
) -> None:
    """Before you leave: map of AREA, magnetic model on the date, disk, package, and a board.

    AREA is LAT,LON,RADIUS_KM. Everything is looked at on this machine; the network is not used.
    """
    checks = [
        _tried("map", lambda: _map(area, tiles)),
        _tried("magnetic model", lambda: _magnetic(area, date)),
        _tried("disk", lambda: _disk(Path.cwd())),
        _tried("package", _package),
        _tried("board", lambda: _board(tiles)),
    ]
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


def _tried(name: str, look: Callable[[], Check]) -> Check:
    """A look that fails is a thing to do, never the end of the others."""
    try:
        return look()
    except (PlotterError, OSError) as error:
        return Check(name, fine=False, words=str(error))


def _map(area: Area, tiles: Path) -> Check:
    found = archives_in(tiles)
    levels = level_coverage(found.archives, area)
    fine = [
        level
        for level in levels
        if level.metres_per_pixel <= _FINE_ENOUGH_M and level.share >= _COVERED
    ]
    bad = f" ({len(found.refused)} archives cannot be used: plotter tiles list)" * bool(
        found.refused
    )
    if fine:
        best = fine[-1]
        return Check(
            "map",
            fine=not found.refused,
            words=f"level {best.zoom} covers {best.share:.0%} of the area, a pixel is "
            f"{length_words(best.metres_per_pixel)}{bad}",
        )
    best_share = max((level.share for level in levels), default=0.0)
    return Check(
        "map",
        fine=False,
        words=f"no level with pixels of {_FINE_ENOUGH_M:g} m or less covers the area (best of any "
        f"level {best_share:.0%}): put a finer archive into {tiles}, see plotter tiles check{bad}",
    )


def _magnetic(area: Area, date: dt.date) -> Check:
    found = declination(area.centre, date)
    words = f"declination {found.declination_deg:+.1f}° ± {found.sigma_deg:.1f}° on {date}"
    return Check("magnetic model", not found.warnings, " ".join((words, *found.warnings)))


def _disk(folder: Path) -> Check:
    free = shutil.disk_usage(folder).free
    words = f"{free / 1e9:.1f} GB free"
    if free < _FREE_BYTES:
        return Check("disk", fine=False, words=f"{words}: make room for {_FREE_BYTES / 1e9:.1f} GB")
    return Check("disk", fine=True, words=words)


def _package() -> Check:
    """Every file that the installation lists is there, and what it needs can be imported."""
    try:
        distribution = importlib.metadata.distribution("plotter")
    except importlib.metadata.PackageNotFoundError:
        return Check("package", fine=False, words="not installed: pip install it on this machine")
    missing = [
        str(file)
        for file in distribution.files or ()
        if file.suffix != ".pyc" and not Path(str(file.locate())).exists()
    ]
    if missing:
        return Check(
            "package",
            fine=False,
            words=f"{len(missing)} files are missing, such as {missing[0]}: install it again",
        )
    return Check("package", fine=True, words=f"version {distribution.version}, complete")


def _board(tiles: Path) -> Check:
    """Make the demo's board, as a board of the day would be made."""
    import tempfile

    from plotter.cli.board import MEGABYTE, write_board
    from plotter.cli.demo import demo_folder
    from plotter.cli.incident import picture_of
    from plotter.reports.evidence import fixes

    picture = picture_of(demo_folder("demo_scenario") / "reports.csv", None, None)
    found, _ = fixes(picture)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "board.html"
        write_board(picture, found, path, tiles, int(MEGABYTE), None)
        size = path.stat().st_size
    browsers = ("chromium", "chromium-browser", "google-chrome", "firefox", "msedge", "safari")
    browser = next((name for name in browsers if shutil.which(name)), None)
    shown = f"open it once in {browser}" if browser else "open one once in this machine's browser"
    return Check(
        "board", fine=True, words=f"the demo's board was made, {size / 1e6:.1f} MB; {shown}"
    )
