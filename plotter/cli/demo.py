"""`plotter demo`: the invented incident, read, asked about, fixed and put on a board."""

import json
from pathlib import Path

import click

from plotter.cli.board import DEFAULT_BUDGET_MB, MEGABYTE, write_board
from plotter.cli.echo import echo
from plotter.cli.fix import fix_lines
from plotter.cli.incident import picture_of
from plotter.cli.summary import picture_lines, truth_lines
from plotter.errors import LogError
from plotter.geodesy.position import Position
from plotter.reports.evidence import fixes

__all__ = ["command", "demo_folder"]

_BOARD = Path("demo_board.html")


@click.command("demo")
@click.option("--open", "open_browser", is_flag=True, help="Show the board in a browser.")
def command(*, open_browser: bool) -> None:
    """Read the demo incident, say what was read, assumed and needs asking, and make its board.

    The incident and the island are invented. The board is written into the current folder; its path
    is the last line printed.
    """
    scenario, tiles = demo_folder("demo_scenario"), demo_folder("tiles_cache")
    picture = picture_of(scenario / "reports.csv", None, None)
    echo("\n".join(picture_lines(picture)))
    found, _ = fixes(picture)
    truth = json.loads((scenario / "truth.json").read_text(encoding="utf-8"))
    for name, fix in found:
        echo("")
        echo("\n".join(fix_lines(name, fix)))
        if name in truth:
            echo("\n".join(truth_lines(fix, Position(**truth[name]))))
    echo("")
    words = write_board(picture, found, _BOARD, tiles, int(DEFAULT_BUDGET_MB * MEGABYTE), None)
    echo("\n".join(words))
    if open_browser:
        click.launch(str(_BOARD))
    echo(str(_BOARD.resolve()))


def demo_folder(name: str) -> Path:
    """Folder of the demo: inside the installed package, or beside it in a checkout.

    Raises
    ------
    LogError
        If it is in neither place.
    """
    package = Path(__file__).resolve().parent.parent
    for folder in (package / name, package.parent / name):
        if folder.is_dir():
            return folder
    raise LogError(f"the demo's folder {name!r} is missing: install the package again")
