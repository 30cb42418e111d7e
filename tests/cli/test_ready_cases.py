"""`plotter ready` tries what it promises: each broken case is not ready, and says what to do."""

import builtins
import datetime as dt
import importlib
import shutil
from pathlib import Path

import pytest
from archive_examples import png, write_mbtiles
from browser_support import chromium_path

from plotter.cli import main, ready_checks
from plotter.cli.ready_checks import every_check
from plotter.geodesy.position import Area, Position
from plotter.tiles import open_archive, tiles_in
from plotter.tiles.area_box import box_of_area

AREA = Area(Position(-38.42, -22.35), 5_000.0)
DAY = dt.date(2026, 3, 31)


@pytest.fixture
def folder(repository, tmp_path):
    shutil.copy(repository / "tiles_cache" / "demo.mbtiles", tmp_path)
    return tmp_path


@pytest.fixture(autouse=True)
def no_browser_started(monkeypatch):
    monkeypatch.setattr(ready_checks, "_opened", lambda *_: (True, "not tried"))


def checks(folder, area=AREA):
    return {check.name: check for check in every_check(area, DAY, folder)}


def test_tiles_that_do_not_decode(folder):
    tiles = [(t, png()[:40]) for t in tiles_in(box_of_area(AREA), 14)]
    write_mbtiles(folder / "bad.mbtiles", tiles)
    found = checks(folder)["map tiles"]
    assert not found.fine
    assert "bad.mbtiles" in found.words
    assert "cannot be drawn" in found.words


@pytest.mark.parametrize(
    ("library", "check"),
    [
        ("reportlab", "libraries"), ("PIL", "libraries"), ("osmium", "map libraries"),
        ("skia", "map libraries"), ("rasterio", "map libraries"),
    ],
)  # fmt: skip
def test_a_library_that_is_missing(folder, monkeypatch, library, check):
    real = importlib.import_module

    def refuse(name, *rest):
        if name == library:
            raise ImportError(f"No module named {name!r}")
        return real(name, *rest)

    monkeypatch.setattr(ready_checks.importlib, "import_module", refuse)
    found = checks(folder)[check]
    assert not found.fine
    assert library in found.words
    assert "pip install" in found.words


def test_a_library_of_the_system_that_is_missing(folder, monkeypatch):
    def refuse(_name):
        raise ImportError("libGL.so.1: cannot open shared object file")

    monkeypatch.setattr(ready_checks.importlib, "import_module", refuse)
    assert "apt-get install libgl1 libegl1" in checks(folder)["map libraries"].words


def test_the_sheet_without_its_library(folder, monkeypatch):
    real = builtins.__import__

    def refuse(name, *rest):
        if name.startswith("plotter.cli.sheet"):
            raise ImportError("No module named 'reportlab'")
        return real(name, *rest)

    monkeypatch.setattr(builtins, "__import__", refuse)
    assert not checks(folder)["sheet"].fine


def test_a_folder_in_which_nothing_can_be_written(folder, monkeypatch):
    def refuse(**_):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(ready_checks.tempfile, "NamedTemporaryFile", refuse)
    found = checks(folder)["disk"]
    assert not found.fine
    assert "nothing can be written" in found.words


def test_no_browser(monkeypatch, tmp_path):
    monkeypatch.undo()
    monkeypatch.setattr(ready_checks.shutil, "which", lambda _: None)
    import webbrowser

    def none():
        raise webbrowser.Error("no browser")

    monkeypatch.setattr(webbrowser, "get", none)
    shown, words = ready_checks._opened(tmp_path / "x.html", tmp_path)
    assert not shown
    assert "no browser" in words


@pytest.mark.browser
def test_a_browser_that_shows_the_board_and_one_that_does_not(monkeypatch, tmp_path):
    monkeypatch.undo()
    chromium_path()  # skips, but not in CI
    page = tmp_path / "page.html"
    page.write_text("<h1>A page</h1>")
    shown, words = ready_checks._opened(page, tmp_path)
    assert shown, words
    page.write_text("<style>body { background: white }</style>")
    assert not ready_checks._opened(page, tmp_path)[0]


def test_ground_beyond_the_data_is_not_covered(folder):
    """Tiles are there over all of the area, but their data ends in the middle of it."""
    tiles = [(t, png()) for z in (13, 14, 15) for t in tiles_in(box_of_area(AREA), z)]
    whole = write_mbtiles(folder / "whole.mbtiles", tiles)
    (folder / "demo.mbtiles").unlink()
    assert checks(folder)["map"].fine
    Path(whole).unlink()
    west = (
        '{"type": "Polygon", "coordinates": [[[-23, -39], [-22.35, -39], [-22.35, -38], '
        "[-23, -38], [-23, -39]]]}"
    )
    half = write_mbtiles(folder / "half.mbtiles", tiles, {"known_ground": west})
    assert open_archive(half).known is not None
    found = checks(folder)["map"]
    assert not found.fine
    assert "the data ends within the area" in found.words
    assert "east" in found.words
    assert "north-west" not in found.words


def test_ready_runs_bare(repository, monkeypatch, capsys):
    monkeypatch.chdir(repository)
    with pytest.raises(SystemExit):
        main(["ready"])
    out, err = capsys.readouterr()
    assert "that of the finest map" in err
    assert "map: level 15 covers" in out
    with pytest.raises(SystemExit):
        main(["ready", "demo_scenario/reports.csv"])
    assert "covers the area (best of any level" in capsys.readouterr().out
