"""The wheel, built and looked into: everything needed is inside, nothing else is."""

import subprocess
import sys
import tomllib
import zipfile

import pytest


@pytest.fixture(scope="module")
def wheel(repository, tmp_path_factory):
    """A wheel built from the checkout; the build backend is installed, so no network is needed."""
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--no-isolation", "-o", str(folder)],
        cwd=repository, check=True, capture_output=True,
    )  # fmt: skip
    (path,) = folder.glob("*.whl")
    return path


def test_wheel_holds_every_module_and_data_file(wheel, repository):
    names = set(zipfile.ZipFile(wheel).namelist())
    for path in (repository / "plotter").rglob("*"):
        inside = str(path.relative_to(repository))
        if path.is_dir() or "__pycache__" in inside or path.name.startswith("make_"):
            continue
        assert inside in names, inside
    for name in (
        "plotter/py.typed",
        "plotter/geodesy/data/WMM2025.COF",
        "plotter/demo_scenario/reports.csv",
        "plotter/demo_scenario/truth.json",
        "plotter/tiles_cache/demo.mbtiles",
    ):
        assert name in names


def test_wheel_holds_nothing_else(wheel):
    for name in zipfile.ZipFile(wheel).namelist():
        assert name.startswith(("plotter/", "plotter-")), name
        assert "__pycache__" not in name
        assert not name.rsplit("/", 1)[-1].startswith("make_"), name


def test_demo_runs_from_the_unpacked_wheel(wheel, tmp_path):
    """The package alone, in a folder of its own: nothing is taken from the checkout."""
    zipfile.ZipFile(wheel).extractall(tmp_path / "site")
    work = tmp_path / "work"
    work.mkdir()
    result = subprocess.run(
        [sys.executable, "-c", "from plotter.cli import main; main(['demo'])"],
        cwd=work, env={"PYTHONPATH": str(tmp_path / "site"), "PATH": "/usr/bin"},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert result.stdout.splitlines()[-1] == str(work / "demo_board.html")
    assert (work / "demo_board.html").exists()


def test_metadata_says_what_is_needed(repository):
    project = tomllib.loads((repository / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert project["requires-python"] == ">=3.11,<3.14"
    for requirement in project["dependencies"]:
        assert ">=" in requirement, f"{requirement} has no range"
    assert {"test", "scenario"} <= set(project["optional-dependencies"])


def test_top_level_is_as_agreed(repository):
    tracked = subprocess.run(
        ["git", "ls-files"], cwd=repository, check=True, capture_output=True, text=True
    ).stdout.splitlines()
    assert {path.split("/")[0] for path in tracked} == {
        ".ci", ".gitignore", "DEVELOPERS.md", "LICENSE", "README.md", "demo_scenario", "plotter",
        "pyproject.toml", "shared", "tests", "tiles_cache",
    }  # fmt: skip
