"""Reading a report file for a command: the picture and the fixes, and what could not be read."""

import datetime as dt
from pathlib import Path

from plotter.cli.options import say
from plotter.exchange.reports_csv import read_reports
from plotter.geodesy.position import Area
from plotter.log.where import is_log
from plotter.reports.evidence import trusting
from plotter.reports.replay import replay
from plotter.reports.report import Picture

__all__ = ["SOME_UNREAD", "day_of", "picture_of", "say_unread"]

SOME_UNREAD = 3


def picture_of(
    file: str | Path,
    area: Area | None,
    date: dt.date | None,
    title: str = "",
    *,
    trust_errors: bool = False,
) -> Picture:
    """Read and replay a report file or a log, told apart by what is in them.

    With `trust_errors` every stated error of a bearing is taken at its word.
    """
    found = _of_log(file, area, date, title) if is_log(file) else _of_file(file, area, date, title)
    return trusting(found) if trust_errors else found


def _of_file(file: str | Path, area: Area | None, date: dt.date | None, title: str) -> Picture:
    path = Path(file)
    read = read_reports(path)
    return replay(read.said, title=title or path.stem, area=area, date=date, unread=read.unread)


def _of_log(where: str | Path, area: Area | None, date: dt.date | None, title: str) -> Picture:
    from plotter.cli.log.common import read as read_log  # loaded late, and the database with it
    from plotter.log.incident import picture_of_state
    from plotter.log.store import open_log

    with open_log(where) as log:
        _, state = read_log(log)
        name = title or log.incident.title
    return picture_of_state(state, title=name, area=area, date=date)


def day_of(picture: Picture, date: dt.date | None) -> dt.date:
    """Day of the declination: the one given, that of the last report, or today."""
    last = picture.last_time_utc
    return date or (last.date() if last else dt.datetime.now(dt.UTC).date())


def say_unread(picture: Picture) -> int:
    """Say which lines could not be read; the exit status that goes with it."""
    for each in picture.unread:
        say(f"{each.said.called} not read: {each.said.text!r}: {each.reason}")
    return SOME_UNREAD if picture.unread else 0
