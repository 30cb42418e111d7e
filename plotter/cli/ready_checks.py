"""What `plotter ready` looks at: each promise is tried, on this machine and without a network."""

import datetime as dt
import importlib
import importlib.metadata
import io
import math
import os
import shutil
import subprocess
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from plotter.cli.tiles import COMPLETE, ends_words
from plotter.cli.words import length_words
from plotter.errors import PlotterError
from plotter.geodesy.magnetic import declination
from plotter.geodesy.position import Area, Position
from plotter.tiles import Archive, ArchivesFound, archives_in, read_tiles, tile_ids
from plotter.tiles.coverage import level_coverage

__all__ = ["Check", "area_of_archives", "every_check"]

# What a map on foot needs: a pixel of this size, over nearly all of the area.
_FINE_ENOUGH_M: Final = 10.0
_COVERED: Final = 0.98
_FREE_BYTES: Final = 500_000_000
_SAMPLES: Final = 25
_BROWSER_S: Final = 90
# What every part of the plotter needs; what only maps need, by the name that pip knows.
_NEEDED: Final = ("click", "defusedxml", "folium", "geographiclib", "numpy", "PIL", "pmtiles",
                  "pyproj", "reportlab", "shapely", "sqlalchemy")  # fmt: skip
_FOR_MAPS: Final = ("contourpy", "geopandas", "manimgx_fonts", "osmium", "pyogrio", "rasterio",
                    "skia", "uharfbuzz")  # fmt: skip
_CHROMIUMS: Final = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")
_FIREFOXES: Final = ("firefox",)


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


def every_check(area: Area | None, date: dt.date, tiles: Path) -> list[Check]:
    """Look at everything that a map table away from home rests on.

    Parameters
    ----------
    area : Area or None
        Where it will be used; None where nobody said.
    date : date
        Last day that it is used.
    tiles : Path
        Folder of map archives.
    """
    looks: list[tuple[str, Callable[[], Check]]] = [
        ("map", lambda: _map(area, tiles)),
        ("map tiles", lambda: _tiles(tiles)),
        ("magnetic model", lambda: _magnetic(area, date)),
        ("disk", lambda: _disk(Path.cwd())),
        ("package", _package),
        ("libraries", lambda: _libraries(_NEEDED, "pip install plotter again")),
        ("map libraries", lambda: _libraries(_FOR_MAPS, "pip install 'plotter[maps]'")),
        ("board", lambda: _board(tiles)),
        ("sheet", lambda: _sheet(tiles)),
    ]
    return [_tried(name, look) for name, look in looks]


def area_of_archives(tiles: Path) -> Area | None:
    """Area of the finest map in a folder; None where there is none."""
    try:
        found = archives_in(tiles).archives
    except PlotterError:
        return None
    if not found:
        return None
    level = max((a.coverage[-1] for a in found), key=lambda each: (each.zoom, each.tiles))
    box = level.box()
    middle = Position((box.south_deg + box.north_deg) / 2.0, (box.west_deg + box.east_deg) / 2.0)
    high_m = (box.north_deg - box.south_deg) * 111_000.0
    wide_m = (box.east_deg - box.west_deg) * 111_000.0 * math.cos(math.radians(middle.lat_deg))
    return Area(middle, max(min(high_m, wide_m) * 0.49, 100.0))


def _tried(name: str, look: Callable[[], Check]) -> Check:
    """A look that fails is a thing to do, never the end of the others."""
    try:
        return look()
    except ImportError as error:
        return Check(name, fine=False, words=f"{error}: pip install plotter again")
    except (PlotterError, OSError, subprocess.SubprocessError) as error:
        return Check(name, fine=False, words=str(error))


def _map(area: Area | None, tiles: Path) -> Check:
    found = archives_in(tiles)
    if area is None:
        return Check(
            "map", fine=False,
            words=f"no map archive in {tiles} and no area given: plotter tiles build",
        )  # fmt: skip
    levels = level_coverage(found.archives, area)
    fine = [
        level
        for level in levels
        if level.metres_per_pixel <= _FINE_ENOUGH_M and level.share >= _COVERED
    ]
    if fine:
        best = fine[-1]
        words = (
            f"level {best.zoom} covers {int(best.share * 100)}% of the area, a pixel is "
            f"{length_words(best.metres_per_pixel)}"
        )
        if best.share < COMPLETE:
            words += f"; {ends_words(best)}"
        if best.sea_unknown >= 1.0 - _COVERED:
            words += (
                f"; what is land and what is sea is not known over {best.sea_unknown:.0%} of it: "
                "take an extract made with complete ways"
            )
        good = not found.refused and best.sea_unknown < 1.0 - _COVERED
        return Check("map", fine=good, words=words + _refused(found))
    best_share = max((level.share for level in levels), default=0.0)
    words = (
        f"no level with pixels of {_FINE_ENOUGH_M:g} m or less covers the area (best of any "
        f"level {int(best_share * 100)}%): put a finer archive into {tiles}, see plotter tiles "
        "check"
    )
    near = [level for level in levels if level.metres_per_pixel <= _FINE_ENOUGH_M]
    if near:
        words += f"; at level {near[-1].zoom} {ends_words(near[-1])}"
    return Check("map", fine=False, words=words + _refused(found))


def _refused(found: ArchivesFound) -> str:
    if not found.refused:
        return ""
    names = ", ".join(each.path.name for each in found.refused)
    return f" ({names} cannot be used: plotter tiles list says why)"


def _tiles(tiles: Path) -> Check:
    """A sample of every archive's tiles is decoded."""
    archives = archives_in(tiles).archives
    bad, count = [], 0
    for archive in archives:
        looked_at, broken = _decoded(archive)
        count += looked_at
        if broken:
            bad.append(f"{archive.path.name}: {broken} of {looked_at} tiles cannot be drawn")
    if bad:
        return Check("map tiles", fine=False, words="; ".join(bad) + ": build or copy it again")
    words = f"{count} tiles of {len(archives)} archives were drawn"
    return Check("map tiles", fine=True, words=words)


def _decoded(archive: Archive) -> tuple[int, int]:
    """How many tiles were looked at, and how many of them are no pictures."""
    from PIL import Image

    looked_at = broken = 0
    for level in archive.coverage:
        ids = tile_ids(archive, level.box(), level.zoom)
        some = ids[:: max(len(ids) // max(_SAMPLES // len(archive.coverage), 1), 1)]
        drawn = dict(read_tiles(archive, some))
        # A raster's edge may have tiles of nothing; elsewhere every tile that is listed is there.
        looked_at += len(some)
        broken += 0 if archive.kind in {"geotiff", "vector"} else len(some) - len(drawn)
        for data in drawn.values():
            try:
                with Image.open(io.BytesIO(data)) as image:
                    image.load()
            except (OSError, ValueError, SyntaxError):
                broken += 1
    return looked_at, broken


def _magnetic(area: Area | None, date: dt.date) -> Check:
    place = area.centre if area is not None else Position(0.0, 0.0)
    found = declination(place, date)
    words = f"declination {found.declination_deg:+.1f}° ± {found.sigma_deg:.1f}° on {date}"
    return Check("magnetic model", not found.warnings, " ".join((words, *found.warnings)))


def _disk(folder: Path) -> Check:
    """Room is left, and a file can be written where boards and logs will be."""
    free = shutil.disk_usage(folder).free
    words = f"{free / 1e9:.1f} GB free in {folder}"
    if free < _FREE_BYTES:
        return Check("disk", fine=False, words=f"{words}: make room for {_FREE_BYTES / 1e9:.1f} GB")
    try:
        with tempfile.NamedTemporaryFile(dir=folder) as file:
            file.write(b"ready")
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        return Check(
            "disk", fine=False,
            words=f"nothing can be written in {folder} ({error.strerror}): work in another folder",
        )  # fmt: skip
    return Check("disk", fine=True, words=f"{words}, a file was written")


def _package() -> Check:
    """Every file that the installation lists is there."""
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


def _libraries(names: tuple[str, ...], remedy: str) -> Check:
    title = "libraries" if names is _NEEDED else "map libraries"
    failed = []
    for name in names:
        try:
            importlib.import_module(name)
        except ImportError as error:
            failed.append(f"{name} ({error})")
    if not failed:
        return Check(title, fine=True, words=f"{len(names)} of {len(names)} can be used")
    words = f"missing: {', '.join(failed)}: while there is a network, {remedy}"
    if any("libGL" in each or "libEGL" in each for each in failed):
        words += "; and of the system: apt-get install libgl1 libegl1"
    return Check(title, fine=False, words=words)


def _board(tiles: Path) -> Check:
    """Make the demo's board, as a board of the day would be made, and open it in a browser."""
    from plotter.cli.board import MEGABYTE, write_board
    from plotter.cli.demo import demo_folder
    from plotter.cli.incident import picture_of
    from plotter.reports.evidence import fixes

    picture = picture_of(demo_folder("demo_scenario") / "reports.csv", None, None)
    found, _ = fixes(picture)
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        path = Path(folder) / "board.html"
        write_board(picture, found, path, tiles, int(MEGABYTE), None)
        size = f"the demo's board was made, {path.stat().st_size / 1e6:.1f} MB"
        shown, words = _opened(path, Path(folder))
    return Check("board", fine=shown, words=f"{size}; {words}")


def _opened(path: Path, folder: Path) -> tuple[bool, str]:
    """Whether a browser of this machine draws a page, and in words."""
    names = (*_CHROMIUMS, *_FIREFOXES)
    name = next((each for each in names if shutil.which(each)), None)
    if name is None:
        import webbrowser

        try:
            webbrowser.get()
        except webbrowser.Error:
            return False, "no browser was found on this machine: install one, the board needs it"
        return True, "open one once in this machine's browser: it could not be tried from here"
    program = str(shutil.which(name))
    picture = folder / "board.png"
    if name in _FIREFOXES:
        options = ["--headless", "--profile", str(folder), "--screenshot", str(picture)]
    else:
        options = [
            "--headless", "--disable-gpu", f"--user-data-dir={folder}", "--no-first-run",
            "--virtual-time-budget=5000", f"--screenshot={picture}",
        ]  # fmt: skip
        if hasattr(os, "geteuid") and os.geteuid() == 0:
            options.append("--no-sandbox")  # as root it does not start otherwise
    done = subprocess.run(  # noqa: S603 - a browser of this machine, and our own page
        [program, *options, path.as_uri()], capture_output=True, timeout=_BROWSER_S, check=False
    )
    if done.returncode != 0 or not _drawn(picture):
        return False, f"{name} does not show it (exit status {done.returncode}): try another one"
    return True, f"{name} shows it"


def _drawn(picture: Path) -> bool:
    """Whether there is a picture of more than one colour."""
    from PIL import Image

    if not picture.is_file():
        return False
    with Image.open(picture) as image:
        return image.convert("L").getextrema()[0] != image.convert("L").getextrema()[1]


def _sheet(tiles: Path) -> Check:
    """Print the demo's sheet."""
    from plotter.cli.demo import demo_folder
    from plotter.cli.incident import picture_of
    from plotter.cli.sheet import write_sheet
    from plotter.reports.evidence import fixes

    picture = picture_of(demo_folder("demo_scenario") / "reports.csv", None, None)
    found, _ = fixes(picture)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "sheet.pdf"
        sheet, _ = write_sheet(picture, found, path, tiles, date=None)
        size = path.stat().st_size
    words = f"the demo's sheet was made, {len(sheet.pages)} pages, {size / 1e6:.1f} MB"
    return Check("sheet", fine=True, words=words)
