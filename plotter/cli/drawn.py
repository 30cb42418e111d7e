"""What was advised, drawn: on a board, or on a printed sheet where the file ends in .pdf."""

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING

from plotter.cli.board import DEFAULT_BUDGET_MB, MEGABYTE, write_board
from plotter.reports.evidence import fixes
from plotter.reports.report import Picture

if TYPE_CHECKING:
    from plotter.board.listening_values import Listening
    from plotter.board.search_values import SearchView

__all__ = ["write_drawn"]


def write_drawn(
    picture: Picture,
    output: Path,
    tiles: Path,
    date: dt.date | None,
    *,
    listening: "Listening | None" = None,
    search: "SearchView | None" = None,
) -> tuple[str, ...]:
    """Write a picture with its fixes and the advice; what to know about the file, in words.

    Raises
    ------
    BoardError, SheetError
        If the file cannot be written.
    """
    found, _ = fixes(picture)
    if output.suffix.lower() == ".pdf":
        from plotter.cli.sheet import sheet_words, write_sheet

        sheet, plan = write_sheet(
            picture, found, output, tiles, date=date, listening=listening, search=search
        )
        return sheet_words(sheet, plan)
    budget = int(DEFAULT_BUDGET_MB * MEGABYTE)
    return write_board(picture, found, output, tiles, budget, date, listening, search)
