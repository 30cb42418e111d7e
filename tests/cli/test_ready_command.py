"""`plotter tiles` and `plotter ready`, as somebody who packs would use them."""

import importlib.metadata
import json
from pathlib import Path

import pytest

from plotter.cli import main


@pytest.fixture
def run(capsys, monkeypatch, repository):
    monkeypatch.chdir(repository)

    def call(*arguments):
        with pytest.raises(SystemExit) as caught:
            main(list(arguments))
        out, err = capsys.readouterr()
        return caught.value.code, out, err

    return call


def test_the_archives_are_listed_with_what_matters(run, tmp_path):
    (tmp_path / "broken.mbtiles").write_bytes(b"no map")
    status, out, _ = run("tiles", "list")
    assert status == 0
    assert "levels 8 to 15" in out
    assert "CC0" in out
    status, out, _ = run("tiles", "list", "--tiles", str(tmp_path))
    assert status == 3
    assert "broken.mbtiles: cannot be used" in out


@pytest.mark.parametrize("area", ["-38.42,-22.35,5", "38.42S,22.35W,5"])
def test_an_area_is_checked_level_by_level(run, area):
    status, out, _ = run("tiles", "check", area, "--json")
    levels = json.loads(out)["levels"]
    assert status == 0
    assert levels[-1]["zoom"] == 15
    assert all(level["present"] == level["wanted"] for level in levels)
    status, out, _ = run("tiles", "check", "10,10,5")
    assert status == 1


def test_an_area_that_is_none_says_what_was_expected(run):
    status, _, err = run("tiles", "check", "somewhere")
    assert status == 2
    assert "'somewhere'" in err
    assert "48.85,2.35,30" in err


def test_ready_where_everything_is(run):
    status, out, _ = run("ready", "38.42S,22.35W,5", "--date", "2026-03-31", "--json")
    data = json.loads(out)
    try:
        installed = bool(importlib.metadata.version("plotter"))
    except importlib.metadata.PackageNotFoundError:
        installed = False  # tests run from the bare folder, and ready has to notice
    assert {check["name"]: check["fine"] for check in data["checks"]} == {
        "map": True, "map tiles": True, "magnetic model": True, "disk": True,
        "package": installed, "libraries": True, "map libraries": True, "board": True,
        "sheet": True,
    }  # fmt: skip
    assert data["ready"] == installed
    assert status == (0 if installed else 1)


def test_not_ready_says_what_to_do(run, tmp_path):
    status, out, _ = run("ready", "10,10,5", "--date", "2031-01-01", "--tiles", str(tmp_path))
    assert status == 1
    assert "TO DO  map: no level" in out
    assert "TO DO  magnetic model" in out
    assert "newer model" in out
    assert out.splitlines()[-1].startswith("Not ready")


def test_an_archive_is_built_from_an_extract(run, tmp_path):
    pyogrio = pytest.importorskip("pyogrio", reason="the extra 'maps' is not installed")
    extract = Path(pyogrio.__file__).parent / "tests" / "fixtures" / "sample.osm.pbf"
    archive = tmp_path / "streets.mbtiles"
    words = ("tiles", "build", "51.7645,-0.2310,0.3", "--from", str(extract), "-o", str(archive))
    status, _, err = run(*words, "--zooms", "14-15", "--estimate")
    assert status == 0
    assert "tiles, about" in err
    assert not archive.exists()
    status, out, _ = run(*words, "--zooms", "14-15")
    assert (status, out.strip()) == (0, str(archive))
    status, out, _ = run("tiles", "list", "--tiles", str(tmp_path))
    assert "OpenStreetMap contributors" in out
    status, _, err = run(*words, "--zooms", "15-14")
    assert status == 2
    assert "levels such as 8-15" in err
