"""Reading a report file for a command: the picture and the fixes, and what could not be read."""

import datetime as dt
from pathlib import Path

from plotter.cli.options import say
from plotter.exchange.reports_csv import read_reports
from plotter.geodesy.position import Area
from plotter.log.replay import replay
from plotter.log.report import Picture

__all__ = ["SOME_UNREAD", "picture_of", "say_unread"]

SOME_UNREAD = 3


def picture_of(path: Path, area: Area | None, date: dt.date | None, title: str = "") -> Picture:
    """Read and replay a report file."""
    file = read_reports(path)
    return replay(file.said, title=title or path.stem, area=area, date=date, unread=file.unread)


def say_unread(picture: Picture) -> int:
    """Say which lines could not be read; the exit status that goes with it."""
    for each in picture.unread:
        say(f"line {each.said.line} not read: {each.said.text!r}: {each.reason}")
    return SOME_UNREAD if picture.unread else 0
